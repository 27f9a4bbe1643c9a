/* tailwise firmware for the reference harness: ATmega2560, 16 MHz.
 *
 * One loop. A turn is a scan where one is due, then at most one piece of other work: a command or a message. Bytes are
 * coded and decoded one at a time while lines settle, so nothing holds up the scan for long.
 */
#include <avr/io.h>
#include <stdbool.h>

#include "clock.h"
#include "commands.h"
#include "edges.h"
#include "frame.h"
#include "lines.h"
#include "openings.h"
#include "outbox.h"
#include "protocol.h"
#include "queue.h"
#include "report.h"
#include "run.h"
#include "uart.h"

static uint8_t reset_cause(void)
{
    uint8_t flags = MCUSR;
    MCUSR = 0;
    if (flags & _BV(WDRF))
        return TW_RESET_CAUSE_WATCHDOG;
    if (flags & _BV(PORF))
        return TW_RESET_CAUSE_POWER;
    if (flags & _BV(BORF))
        return TW_RESET_CAUSE_BROWN_OUT;
    if (flags & _BV(EXTRF))
        return TW_RESET_CAUSE_EXTERNAL;
    return TW_RESET_CAUSE_UNKNOWN; /* a boot loader may have cleared the flags */
}

#define TICK_US 1000u
#define SLICES_AT_ONCE 8u
#define EDGES_AT_ONCE 4u
#define EDGES_WHEN_BEHIND 24u /* counts come before the list */

/* Enough at once that the loop around it does not cost more than the work. */
static void work_without_scan(void)
{
    if (run_watching())
        openings_idle();
    for (uint8_t left = SLICES_AT_ONCE; left != 0u; left--) {
        uart_pump();
        uint8_t edges_left = edges_waiting() > EDGES_MANY ? EDGES_WHEN_BEHIND : EDGES_AT_ONCE;
        for (; edges_left != 0u && edges_wait(); edges_left--) {
            openings_slice();
            uart_pump();
        }
        if (commands_want_byte())
            commands_take_byte();
        if (!outbox_wants_slice())
            report_slice();
        else if (!outbox_waits())
            outbox_block();
    }
}

int main(void)
{
    uint8_t cause = reset_cause();
    uint16_t ticked = 0;
    bool commands_first = true;
    lines_safe();
    frame_start();
    queue_start();
    report_start();
    clock_start();
    uart_start();
    commands_start();
    report_booted(cause);
    for (;;) {
        uint32_t now = clock_us();
        uart_pump();
        if ((uint16_t)((uint16_t)now - ticked) >= TICK_US) {
            ticked = (uint16_t)now;
            run_tick(now);
            report_tick(now);
        }
        if (run_turn(now)) {
            uart_pump();
            commands_catch_up();
            if (report_after_scan())
                continue; /* work enough for one turn */
        } else {
            work_without_scan();
        }
        if (!outbox_free())
            continue;
        uart_pump();
        /* Taking turns: a flood of commands cannot keep the reports back. */
        if (commands_waiting && commands_first)
            commands_obey();
        else
            report_turn();
        commands_first = !commands_first;
    }
}
