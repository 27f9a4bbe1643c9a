#include "run.h"

#include "clock.h"
#include "lines.h"
#include "protocol.h"
#include "queue.h"
#include "scan.h"

static uint8_t state = TW_RUN_STATE_IDLE;
static uint32_t period;
static uint32_t scan_began;
static uint32_t scan_ended;
static bool scanned; /* a scan has begun at scan_began, and its length is still to be noted */
static uint32_t scans;
static uint16_t worst_us;
static uint32_t heard;

bool run_scanning(void)
{
    return state == TW_RUN_STATE_SCANNING;
}

uint8_t run_state(void)
{
    return state;
}

void run_start(uint32_t period_us)
{
    period = period_us;
    scans = 0;
    worst_us = 0;
    scanned = false;
    queue_clear();
    scan_begin();
    state = TW_RUN_STATE_SCANNING;
}

void run_stop(uint8_t why)
{
    lines_safe();
    state = why;
}

void run_heard(void)
{
    heard = clock_us();
}

/* The length of a scan includes what was done after it, as that delays the next one just the same. */
static void note_length(uint32_t now)
{
    uint32_t length = now - scan_began;
    if (length > UINT16_MAX)
        length = UINT16_MAX;
    if (length > worst_us)
        worst_us = (uint16_t)length;
    scanned = false;
}

bool run_turn(void)
{
    uint32_t now = clock_us();
    if (!run_scanning())
        return false;
    if ((uint32_t)(now - heard) >= TW_HOST_SILENCE_MS * 1000ul) {
        run_stop(TW_RUN_STATE_HOST_SILENT);
        return false;
    }
    if (scanned)
        note_length(now);
    if (scans != 0u && (uint32_t)(now - scan_began) < period)
        return false;
    scan_began = now;
    scan_once();
    scan_ended = clock_us();
    scanned = true;
    scans++;
    return true;
}

uint32_t run_scans(void)
{
    return scans;
}

uint16_t run_worst_scan_us(void)
{
    return worst_us;
}

uint32_t run_scan_clock(void)
{
    return scan_ended;
}
