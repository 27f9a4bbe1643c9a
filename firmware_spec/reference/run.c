#include "run.h"

#include "clock.h"
#include "lines.h"
#include "protocol.h"
#include "queue.h"
#include "scan.h"
#include "watch.h"

static uint8_t state = TW_RUN_STATE_IDLE;
static bool watching;
static uint16_t period;
static uint16_t scan_began; /* low half of the clock: scans are far shorter than its 65 ms */
static bool length_due;     /* the length of the last scan is still to be noted */
static uint32_t scans;
static uint16_t worst_us;
static uint32_t heard;

bool run_scanning(void)
{
    return state == TW_RUN_STATE_SCANNING;
}

bool run_watching(void)
{
    return watching;
}

uint8_t run_state(void)
{
    return state;
}

void run_start(uint16_t period_us)
{
    period = period_us;
    scans = 0;
    worst_us = 0;
    length_due = false;
    queue_clear();
    scan_begin();
    state = TW_RUN_STATE_SCANNING;
}

void run_start_watch(void)
{
    queue_clear();
    scans = 0;
    worst_us = 0;
    watching = true;
    watch_begin();
    state = TW_RUN_STATE_SCANNING;
}

void run_stop(uint8_t why)
{
    if (watching)
        watch_end();
    watching = false;
    lines_safe();
    state = why;
}

void run_heard(void)
{
    heard = clock_us();
}

void run_tick(uint32_t now)
{
    if (run_scanning() && (uint32_t)(now - heard) >= TW_HOST_SILENCE_MS * 1000ul)
        run_stop(TW_RUN_STATE_HOST_SILENT);
}

bool run_turn(uint32_t now)
{
    if (!run_scanning() || watching)
        return false;
    uint16_t length = (uint16_t)((uint16_t)now - scan_began);
    if (length_due) {
        /* What was done after the scan counts, as it delays the next one just the same. */
        length_due = false;
        if (length > worst_us)
            worst_us = length;
    }
    if (length < period && scans != 0u)
        return false;
    scan_began = (uint16_t)now;
    scan_once();
    length_due = true;
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
