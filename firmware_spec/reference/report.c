/* Order. A STATE must contain every transition numbered before it and none numbered after it. So the matrix is kept together
 * with the place in the queue it belongs to, what was queued before that place is sent first, and what was queued
 * after it waits for the STATE.
 */
#include "report.h"

#include <stdbool.h>

#include "clock.h"
#include "commands.h"
#include "outbox.h"
#include "protocol.h"
#include "queue.h"
#include "run.h"
#include "scan.h"
#include "uart.h"

#define STATE_PERIOD_US 19000u /* and up to one more: it is asked once a millisecond */
#define HEARTBEAT_PERIOD_US (TW_HEARTBEAT_PERIOD_MS * 1000ul)
#define ENTRIES_A_FRAME 16u /* 77 bytes on the wire, 1.5 ms */
#define ENTRIES_A_TURN 4u   /* so that a turn stays short */
#define ENTRY_BYTES 4u
#define CLOSED 0x80u

static uint8_t kept[BOARD_LINES * BOARD_LINE_BYTES]; /* the matrix for the next STATE */
static uint8_t kept_length;
static uint32_t kept_clock;
static uint32_t kept_dropped;
static uint8_t kept_place;
static bool keeping;
static bool just_kept; /* copying was work enough for one turn */
static bool state_due;
static uint16_t state_last; /* low half of the clock */

static uint8_t entries[ENTRIES_A_FRAME * ENTRY_BYTES];
static uint8_t entry_count;
static uint32_t first_clock;

static uint32_t heartbeat_last;
static bool heartbeat_due;

void report_booted(uint8_t cause)
{
    outbox_begin(TW_BOOTED);
    outbox_u8(cause);
    outbox_send(0, 0);
}

void report_begin(void)
{
    keeping = false;
    state_due = true;
    entry_count = 0;
}

void report_heartbeat_from_now(void)
{
    heartbeat_last = clock_us();
}

void report_tick(uint32_t now)
{
    if ((uint16_t)((uint16_t)now - state_last) >= STATE_PERIOD_US)
        state_due = true;
    if (commands_greeted() && (uint32_t)(now - heartbeat_last) >= HEARTBEAT_PERIOD_US) {
        heartbeat_last += HEARTBEAT_PERIOD_US;
        heartbeat_due = true;
    }
    if (!run_scanning())
        keeping = false;
}

void report_after_scan(void)
{
    if (keeping || !state_due)
        return;
    kept_clock = clock_us();
    kept_length = scan_copy_matrix(kept);
    kept_dropped = queue_dropped();
    kept_place = queue_place();
    keeping = true;
    just_kept = true;
    state_due = false;
    state_last = (uint16_t)kept_clock;
}

static void send_state(void)
{
    outbox_begin(TW_STATE);
    outbox_u32(kept_clock);
    outbox_u32(kept_dropped);
    outbox_u8(kept_length);
    outbox_send(kept, kept_length);
    keeping = false;
}

static void send_entries(void)
{
    outbox_begin(TW_TRANSITIONS);
    outbox_u32(first_clock);
    outbox_u8(entry_count);
    outbox_send(entries, (uint8_t)(entry_count * ENTRY_BYTES));
    entry_count = 0;
}

/* The lowest changed line of a change, taken out of it. */
static uint8_t take_line(struct change *change, bool *closed)
{
    uint8_t *changed = &change->changed.f;
    const uint8_t *low = &change->low.f;
    uint8_t line = 0;
    while (*changed == 0u) {
        changed++;
        low++;
        line = (uint8_t)(line + 8u);
    }
    uint8_t bit = 1;
    while (!(*changed & bit)) {
        bit = (uint8_t)(bit << 1);
        line++;
    }
    *changed &= (uint8_t)~bit;
    *closed = (*low & bit) != 0u;
    return line;
}

static bool empty(const struct change *change)
{
    return (change->changed.f | change->changed.k | change->changed.a) == 0u;
}

static struct change *next_change(void)
{
    return keeping && queue_reached(kept_place) ? 0 : queue_first();
}

static void put_entry(struct change *change)
{
    bool closed;
    if (entry_count == 0u)
        first_clock = change->clock;
    uint16_t delta = (uint16_t)(change->clock - first_clock);
    uint8_t *entry = entries + entry_count * ENTRY_BYTES;
    uint8_t line = take_line(change, &closed);
    entry[0] = (uint8_t)delta;
    entry[1] = (uint8_t)(delta >> 8);
    entry[2] = change->driven;
    entry[3] = closed ? (uint8_t)(line | CLOSED) : line;
    entry_count++;
    queue_took();
    if (empty(change))
        queue_remove_first();
}

/* True where it began a message. */
static bool turn_transitions(void)
{
    struct change *change = next_change();
    for (uint8_t left = ENTRIES_A_TURN; change && left != 0u && entry_count < ENTRIES_A_FRAME; left--) {
        put_entry(change);
        change = next_change();
    }
    if (entry_count == 0u || (change && entry_count < ENTRIES_A_FRAME))
        return false;
    send_entries();
    return true;
}

static void send_heartbeat(void)
{
    heartbeat_due = false;
    outbox_begin(TW_HEARTBEAT);
    outbox_u32(clock_us());
    outbox_u8(run_state());
    outbox_u32(queue_dropped());
    outbox_u16(commands_bad_frames());
    outbox_u16(uart_overruns());
    outbox_u32(run_scans());
    outbox_u16(run_worst_scan_us());
    outbox_u32(scan_overloads());
    outbox_send(0, 0);
}

void report_turn(void)
{
    if (just_kept)
        just_kept = false;
    else if (heartbeat_due)
        send_heartbeat();
    else if (!turn_transitions() && keeping && queue_reached(kept_place) && entry_count == 0u)
        send_state();
}

void report_rest(void)
{
    keeping = false;
    while (queue_first() || entry_count != 0u) {
        outbox_wait();
        turn_transitions();
    }
}
