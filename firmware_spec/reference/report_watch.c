#include "report_watch.h"

#include <string.h>

#include "clock.h"
#include "openings.h"
#include "outbox.h"
#include "protocol.h"
#include "uart.h"
#include "watch.h"

#define ENTRY_BYTES 9u
#define ENTRIES_A_FRAME 12u
_Static_assert(sizeof(struct opening) == ENTRY_BYTES, "the compiler pads");

static bool watched_due;
static uint8_t entries[ENTRIES_A_FRAME * ENTRY_BYTES];

void report_watch_begin(void)
{
    watched_due = true;
}

void report_watch_due(void)
{
    watched_due = true;
}

static void send_watched(void)
{
    watched_due = false;
    outbox_begin(TW_WATCHED);
    outbox_u32(clock_us());
    outbox_u8(openings_closed());
    for (uint8_t pair = 0; pair < WATCH_PAIRS; pair++) {
        struct openings_count count = openings_of(pair);
        outbox_u32(count.openings);
        outbox_u32(count.open_us);
        uart_pump();
    }
    outbox_u32(openings_blind_us());
    outbox_u32(openings_dropped());
    outbox_u32(WATCH_SHORTEST_NS);
    outbox_send(0, 0);
}

static void send_openings(void)
{
    const struct opening *opening;
    uint8_t *next = entries;
    while (next != entries + sizeof entries && (opening = openings_first()) != 0) {
        memcpy(next, opening, ENTRY_BYTES);
        next += ENTRY_BYTES;
        openings_remove_first();
        uart_pump();
    }
    outbox_begin(TW_OPENINGS);
    outbox_u8((uint8_t)((uint8_t)(next - entries) / ENTRY_BYTES));
    outbox_send(entries, (uint8_t)(next - entries));
}

void report_watch_turn(void)
{
    if (watched_due)
        send_watched();
    else if (openings_first())
        send_openings();
}

void report_watch_rest(void)
{
    openings_finish();
    while (openings_first()) {
        outbox_wait();
        send_openings();
    }
    outbox_wait();
    send_watched();
}
