/* Theory. Under its pull-up of 20 to 50 kohm a line of 150 pF takes 50k * 150p * ln(1 / 0.4) = 6.9 us to 0.6 Vcc, so a line
 * pulled low through a contact would still read low under the next driven line. Nothing waits for that here: after
 * each pulse all lines are driven high together for a few microseconds, each through its own 220 ohm (33 ns for 150 pF).
 * All drivers have the same level at that time, and none is low unless all others are undriven: no two ever oppose.
 *
 * The settle time then only has to let a line fall. Through a contact of 10 kohm, 150 pF under 20 to 50 kohm reach 0.3 Vcc
 * in 2.3 to 2.7 us; the default of 5 us is about twice that. Coding and decoding of frames is done meanwhile.
 *
 * Interrupts are off only while a line is low, so no pulse is longer than the settle time and a few instructions
 * (under 25 us at the longest settle time). A received byte takes 20 us and the receiver holds two.
 */
#include "scan.h"

#include <avr/interrupt.h>
#include <avr/io.h>

#include "clock.h"
#include "commands.h"
#include "lines.h"
#include "outbox.h"
#include "protocol.h"
#include "queue.h"

#define OVERLOAD_LINES 4u
#define SLOW_RISE_US 12u /* 6.9 us and room for pull-ups and lines somewhat slower */

struct drive {
    struct line_set mask;
    uint8_t line;
    bool overloaded;
};

static struct drive drives[BOARD_LINES];
static struct line_set matrix[BOARD_LINES];
static uint8_t drive_count;
static struct line_set used;    /* pulled up between pulses */
static struct line_set driven;  /* driven high between pulses */
static struct line_set sensed;
static bool some_only_sensed;
static uint16_t settle_cycles;
static bool first_scan;
static uint32_t overloads;

static struct line_set one_line(uint8_t line)
{
    uint8_t bit = (uint8_t)(1u << (line & 7u));
    struct line_set set = {0, 0, 0};
    if (line < 8u)
        set.f = bit;
    else if (line < 16u)
        set.k = bit;
    else
        set.a = bit;
    return set;
}

static void add(struct line_set *set, struct line_set more)
{
    set->f |= more.f;
    set->k |= more.k;
    set->a |= more.a;
}

bool scan_set_lines(const uint8_t *roles)
{
    uint8_t sensed_count = 0;
    used = driven = sensed = (struct line_set){0, 0, 0};
    drive_count = 0;
    some_only_sensed = false;
    for (uint8_t line = 0; line < BOARD_LINES; line++) {
        struct line_set mask = one_line(line);
        uint8_t role = roles[line];
        if (role != TW_LINE_ROLE_UNUSED)
            add(&used, mask);
        if (role == TW_LINE_ROLE_SENSED)
            some_only_sensed = true;
        if (role == TW_LINE_ROLE_SENSED || role == TW_LINE_ROLE_BOTH) {
            add(&sensed, mask);
            sensed_count++;
        }
        if (role == TW_LINE_ROLE_DRIVEN || role == TW_LINE_ROLE_BOTH) {
            add(&driven, mask);
            drives[drive_count++] = (struct drive){mask, line, false};
        }
    }
    if (drive_count == 0u || sensed_count == 0u)
        return false;
    return drive_count > 1u || sensed_count > 1u || roles[drives[0].line] != TW_LINE_ROLE_BOTH;
}

void scan_set_settle(uint32_t settle_ns)
{
    settle_cycles = (uint16_t)((settle_ns * 2u + 124u) / 125u); /* 62.5 ns a cycle, rounded up */
}

void scan_begin(void)
{
    TCCR4A = 0;
    TCCR4B = _BV(CS40); /* every cycle */
    first_scan = true;
    overloads = 0;
    lines_release();
    lines_pull(used);
}

static inline void work_while_settling(void)
{
    if (!commands_slice())
        outbox_slice();
}

/* The lines that were low while these were driven low. Between pulses all driven lines are high. */
static inline struct line_set pulse(struct line_set mask)
{
    struct line_set read;
    cli();
    lines_release();
    lines_pull((struct line_set){used.f & (uint8_t)~mask.f, used.k & (uint8_t)~mask.k, used.a & (uint8_t)~mask.a});
    lines_drive(mask);
    uint16_t began = TCNT4;
    work_while_settling();
    while ((uint16_t)(TCNT4 - began) < settle_cycles) {
    }
    read.f = PINF;
    read.k = PINK;
    read.a = PINA;
    lines_release();
    lines_pull(used);
    lines_drive(driven);
    sei();
    read.f = (uint8_t)~read.f & sensed.f & (uint8_t)~mask.f;
    read.k = (uint8_t)~read.k & sensed.k & (uint8_t)~mask.k;
    read.a = (uint8_t)~read.a & sensed.a & (uint8_t)~mask.a;
    return read;
}

/* Lines that may not be driven have only their pull-ups to rise by: wait for them, but not for one that is held low. */
static void await_rise(void)
{
    uint32_t began = clock_us();
    lines_release();
    while (((PINF & sensed.f) != sensed.f || (PINK & sensed.k) != sensed.k || (PINA & sensed.a) != sensed.a)
           && (uint32_t)(clock_us() - began) < SLOW_RISE_US) {
    }
}

static void note(struct drive *drive, struct line_set *last, struct line_set low, struct line_set changed)
{
    *last = low;
    drive->overloaded = count_lines(low) > OVERLOAD_LINES;
    if (!first_scan) {
        struct change change = {clock_us(), drive->line, changed, low};
        queue_put(&change);
    }
}

void scan_once(void)
{
    struct line_set *last = matrix;
    struct drive *drive = drives;
    if (first_scan) {
        for (uint8_t place = 0; place < drive_count; place++) {
            matrix[place] = (struct line_set){0, 0, 0};
            drives[place].overloaded = false;
        }
    }
    for (uint8_t left = drive_count; left != 0u; left--, drive++, last++) {
        struct line_set low = pulse(drive->mask);
        struct line_set changed = {low.f ^ last->f, low.k ^ last->k, low.a ^ last->a};
        if (changed.f | changed.k | changed.a)
            note(drive, last, low, changed);
        if (drive->overloaded)
            overloads++;
        if (some_only_sensed)
            await_rise();
    }
    lines_release();
    first_scan = false;
}

const uint8_t *scan_matrix(void)
{
    return (const uint8_t *)matrix;
}

uint8_t scan_matrix_bytes(void)
{
    return (uint8_t)(drive_count * sizeof *matrix);
}

uint32_t scan_overloads(void)
{
    return overloads;
}
