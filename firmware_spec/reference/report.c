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
#include "report_watch.h"
#include "run.h"
#include "scan.h"
#include "uart.h"

#define STATE_PERIOD_US 19000u /* and up to a millisecond more: that is how often it is asked */
#define STATE_LATEST_US 26000u
#define HEARTBEAT_PERIOD_US (TW_HEARTBEAT_PERIOD_MS * 1000ul)
#define ENTRIES_A_FRAME 16u /* 77 bytes on the wire, 1.5 ms */
#define ENTRY_BYTES 4u
#define CLOSED 0x80u

static uint8_t kept[BOARD_LINES * BOARD_LINE_BYTES]; /* the matrix for the next STATE */
static uint8_t kept_length;
static uint32_t kept_clock;
static uint32_t kept_dropped;
static uint8_t kept_before; /* changes still to be sent before it */
static bool keeping;
static bool state_due;
static bool state_overdue;
static uint16_t state_period;
static uint16_t state_last; /* low half of the clock */

static uint8_t entries[ENTRIES_A_FRAME * ENTRY_BYTES];
static uint8_t *entry_next = entries;
static bool timed; /* the time of the first entry is known */
static uint16_t first_ticks;
static uint32_t first_clock;
static uint8_t lowest_bit_of[256];

static uint32_t heartbeat_last;
static bool heartbeat_due;

void report_start(void)
{
    for (uint16_t byte = 1; byte < 256u; byte++)
        while (!(byte & (1u << lowest_bit_of[byte])))
            lowest_bit_of[byte]++;
}

void report_booted(uint8_t cause)
{
    outbox_begin(TW_BOOTED);
    outbox_u8(cause);
    outbox_send(0, 0);
}

void report_begin(uint16_t scan_period_us)
{
    /* A STATE follows a scan: with slow scans it must not wait for the one after the next. */
    state_period = scan_period_us < STATE_PERIOD_US ? STATE_PERIOD_US - scan_period_us : 0u;
    keeping = false;
    state_due = true;
    state_overdue = true;
    entry_next = entries;
    timed = false;
}

void report_heartbeat_from_now(void)
{
    heartbeat_last = clock_us();
}

void report_tick(uint32_t now)
{
    if ((uint16_t)((uint16_t)now - state_last) >= state_period)
        state_due = true;
    if ((uint16_t)((uint16_t)now - state_last) >= STATE_LATEST_US)
        state_overdue = true;
    if (run_watching() && state_due) {
        state_due = false;
        state_last = (uint16_t)now;
        report_watch_due();
    }
    if (commands_greeted() && (uint32_t)(now - heartbeat_last) >= HEARTBEAT_PERIOD_US) {
        heartbeat_last += HEARTBEAT_PERIOD_US;
        heartbeat_due = true;
    }
    if (!run_scanning())
        keeping = false;
}

/* A STATE takes 2 ms of coding and sending, and later transitions wait for it: better while nothing else is on its way. */
static bool good_moment(void)
{
    return state_overdue || (outbox_free() && !uart_sending() && queue_changes == 0u);
}

bool report_after_scan(void)
{
    if (keeping || !state_due || !good_moment())
        return false;
    kept_clock = clock_us();
    kept_length = scan_copy_matrix(kept);
    kept_dropped = queue_dropped;
    kept_before = queue_changes;
    keeping = true;
    state_due = false;
    state_overdue = false;
    state_last = (uint16_t)kept_clock;
    return true;
}

static __attribute__((noinline)) void send_state(void)
{
    outbox_begin(TW_STATE);
    outbox_u32(kept_clock);
    outbox_u32(kept_dropped);
    outbox_u8(kept_length);
    outbox_send(kept, kept_length);
    keeping = false;
}

static __attribute__((noinline)) void send_entries(void)
{
    uint8_t length = (uint8_t)(entry_next - entries);
    outbox_begin(TW_TRANSITIONS);
    outbox_u32(first_clock);
    outbox_u8(length / ENTRY_BYTES);
    outbox_send(entries, length);
    entry_next = entries;
    timed = false;
}

static inline uint8_t take_lowest(uint8_t *set, uint8_t low, uint8_t first_line)
{
    uint8_t rest = (uint8_t)(*set & (*set - 1u));
    uint8_t bit = *set ^ rest;
    uint8_t line = (uint8_t)(first_line + lowest_bit_of[bit]);
    *set = rest;
    return (low & bit) ? (uint8_t)(line | CLOSED) : line;
}

/* The lowest changed line of a change, with its new reading; taken out of the change. */
static inline uint8_t take_line(struct change *change)
{
    if (change->changed.f)
        return take_lowest(&change->changed.f, change->low.f, 0u);
    if (change->changed.k)
        return take_lowest(&change->changed.k, change->low.k, 8u);
    return take_lowest(&change->changed.a, change->low.a, 16u);
}

/* Changes that belong before the next STATE. */
static inline uint8_t changes_ready(void)
{
    return keeping ? kept_before : queue_changes;
}

static inline bool entries_full(void)
{
    return entry_next == entries + sizeof entries;
}

static __attribute__((noinline)) void note_time(const struct change *first)
{
    first_ticks = first->ticks;
    first_clock = clock_at(first_ticks);
    timed = true;
}

static inline void add_entry(struct change *change)
{
    uint16_t delta = (uint16_t)(change->ticks - first_ticks) / CLOCK_TICKS_PER_US;
    uint8_t *entry = entry_next;
    entry[0] = (uint8_t)delta;
    entry[1] = (uint8_t)(delta >> 8);
    entry[2] = change->driven;
    entry[3] = take_line(change);
    entry_next = entry + ENTRY_BYTES;
    if ((change->changed.f | change->changed.k | change->changed.a) == 0u) {
        queue_remove_oldest();
        kept_before--;
    }
}

__attribute__((noinline)) void report_slice(void)
{
    if (changes_ready() == 0u || entries_full())
        return;
    if (timed)
        add_entry(queue_oldest);
    else
        note_time(queue_oldest);
}

static __attribute__((noinline)) void send_heartbeat(void)
{
    heartbeat_due = false;
    outbox_begin(TW_HEARTBEAT);
    outbox_u32(clock_us());
    outbox_u8(run_state());
    outbox_u32(queue_dropped);
    outbox_u16(commands_bad_frames());
    outbox_u16(uart_overruns());
    outbox_u32(run_scans());
    outbox_u16(run_worst_scan_us());
    outbox_u32(scan_overloads());
    outbox_send(0, 0);
}

/* A message of transitions is whole: it is full, or nothing waits that could be added. */
static inline bool entries_whole(void)
{
    return entries_full() || (entry_next != entries && changes_ready() == 0u);
}

void report_turn(void)
{
    if (heartbeat_due)
        send_heartbeat();
    else if (run_watching())
        report_watch_turn();
    else if (entries_whole())
        send_entries();
    else if (keeping && kept_before == 0u)
        send_state();
}

void report_rest(void)
{
    keeping = false;
    while (queue_changes != 0u || entry_next != entries) {
        outbox_wait();
        report_slice();
        if (entries_whole())
            send_entries();
    }
    outbox_wait();
}
