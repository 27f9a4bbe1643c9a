/* Theory. Under its pull-up of 20 to 50 kohm a line of 150 pF takes 50k * 150p * ln(1 / 0.4) = 6.9 us to 0.6 Vcc, so a line
 * pulled low through a contact would still read low under the next driven line. Nothing waits for that here: after
 * each pulse all lines are driven high together for a few microseconds, each through its own 220 ohm (33 ns for 150 pF).
 * All drivers have the same level at that time, and none is low unless all others are undriven: no two ever oppose.
 *
 * The settle time then only has to let a line fall. Through a contact of 10 kohm, 150 pF under 20 to 50 kohm reach 0.3 Vcc
 * in 2.3 to 2.7 us; the default of 5 us is about twice that. Coding and decoding of frames is done meanwhile.
 *
 * There are no interrupts, so no pulse is longer than the settle time and the work of one byte each way, about 10 us
 * at the default and under 25 us at the longest settle time.
 */
#include "scan.h"

#include <avr/io.h>

#include "clock.h"
#include "commands.h"
#include "drives.h"
#include "lines.h"
#include "outbox.h"
#include "protocol.h"
#include "queue.h"
#include "report.h"
#include "uart.h"

#define OVERLOAD_LINES 4u
#define PULSE_CYCLES 6u /* between the last write and the first reading of a pulse besides the wait, at least */
#define STEP_CYCLES 112u /* of a step, besides the wait, with a busy link's work; without that work 90 */
#define STEP_CYCLES_WITH_A 170u /* the same where port A is in use; without that work 128 */
#define SLOW_RISE_US 12u /* 6.9 us and room for pull-ups and lines somewhat slower */

static uint16_t settle_cycles;
static bool first_scan;
static uint32_t overloads;

void scan_set_settle(uint32_t settle_ns)
{
    uint16_t cycles = (uint16_t)((settle_ns * 2u + 124u) / 125u); /* 62.5 ns a cycle, rounded up */
    settle_cycles = cycles > PULSE_CYCLES ? (uint16_t)(cycles - PULSE_CYCLES) : 0u;
}

void scan_begin(void)
{
    TCCR4A = 0;
    TCCR4B = _BV(CS40); /* every cycle */
    drives_begin((uint16_t)(settle_cycles + (drives_used.a ? STEP_CYCLES_WITH_A : STEP_CYCLES)));
    first_scan = true;
    overloads = 0;
    lines_release();
    lines_pull(drives_used, true);
}

/* One byte or one transition of work, which about fits into the settle time; bytes from and to the host take turns. Not inline:
 * the scan's own loop stays short.
 */
static __attribute__((noinline)) void work_while_settling(void)
{
    static bool listened;
    if (commands_want_byte() && !(listened && outbox_wants_slice())) {
        listened = true;
        commands_take_byte();
        return;
    }
    listened = false;
    if (outbox_wants_slice())
        outbox_slice();
    else
        report_slice();
}

/* Lines that may not be driven have only their pull-ups to rise by: wait for them, but not for one that is held low. */
static void await_rise(struct line_set sensed)
{
    uint32_t began = clock_us();
    lines_release();
    while (((PINF & sensed.f) != sensed.f || (PINK & sensed.k) != sensed.k || (PINA & sensed.a) != sensed.a)
           && (uint32_t)(clock_us() - began) < SLOW_RISE_US)
        uart_pump();
}

static __attribute__((noinline)) void note(struct drive *drive, struct line_set low)
{
    struct line_set changed = {low.f ^ drive->low.f, low.k ^ drive->low.k, low.a ^ drive->low.a};
    uint8_t count = count_lines(low), care = drive->care;
    drive->low = low;
    drive->care = (care & SLOW_RISE) | count;
    queue_put(clock_ticks(), drive->line, changed, low, (uint8_t)(count + (care & (uint8_t)~SLOW_RISE)));
}

static __attribute__((noinline)) void take_care(const struct drive *drive)
{
    uint8_t care = drive->care;
    if ((care & (uint8_t)~SLOW_RISE) > OVERLOAD_LINES)
        overloads++;
    if (care & SLOW_RISE)
        await_rise(drive->sensed);
}

/* The loop itself, made twice: without port A where no line is on it, which saves a tenth. */
static inline __attribute__((always_inline)) void scan_ports(const bool with_a)
{
    const struct line_set pulled_between = drives_used, driven_between = drives_driven, nothing = {0, 0, 0};
    const uint16_t wait = settle_cycles, scan_began = TCNT4;
    for (struct drive *drive = drives; drive != drives_end; drive++) {
        struct line_set low = {0, 0, 0};
        lines_drive(nothing, with_a);
        lines_pull(drive->pulled, with_a);
        lines_drive(drive->mask, with_a);
        uint16_t began = TCNT4;
        uart_receive();
        uart_transmit();
        if ((uint16_t)(began - scan_began) <= drive->pace)
            work_while_settling();
        while ((uint16_t)(TCNT4 - began) < wait) {
        }
        low.f = PINF;
        low.k = PINK;
        if (with_a)
            low.a = PINA;
        lines_drive(nothing, with_a);
        lines_pull(pulled_between, with_a);
        lines_drive(driven_between, with_a); /* high, all of them */
        uart_receive();
        low.f = (uint8_t)~low.f & drive->sensed.f;
        low.k = (uint8_t)~low.k & drive->sensed.k;
        if (with_a)
            low.a = (uint8_t)~low.a & drive->sensed.a;
        if (low.f != drive->low.f || low.k != drive->low.k || (with_a && low.a != drive->low.a))
            note(drive, low);
        if (drive->care > OVERLOAD_LINES)
            take_care(drive);
    }
}

static __attribute__((noinline)) void scan_lower(void)
{
    scan_ports(false);
}

static __attribute__((noinline)) void scan_all(void)
{
    scan_ports(true);
}

void scan_once(void)
{
    if (drives_used.a)
        scan_all();
    else
        scan_lower();
    lines_release();
    if (first_scan) {
        first_scan = false;
        queue_clear();
    }
}

uint8_t scan_copy_matrix(uint8_t *copy)
{
    uint8_t *next = copy;
    for (const struct drive *drive = drives; drive != drives_end; drive++) {
        uart_receive();
        *next++ = drive->low.f;
        *next++ = drive->low.k;
        *next++ = drive->low.a;
    }
    return (uint8_t)(next - copy);
}

uint32_t scan_overloads(void)
{
    return overloads;
}
