/* Theory. The interrupts of sample.S look at the sensed lines and note their edges; the main program has the time between.
 *
 * Only this module enables interrupts, and only while watching.
 */
#include "watch.h"

#include <avr/interrupt.h>
#include <avr/io.h>
#include <util/delay.h>

#include "board.h"
#include "clock.h"
#include "edges.h"
#include "lines.h"
#include "openings.h"
#include "protocol.h"
#include "uart.h"

#define PERIOD_CYCLES 26u   /* of both ports */
#define PERIOD_CYCLES_OF_ONE 24u
#define PERIOD_CYCLES_BEHIND 44u /* where many edges wait */
#define MOST_ROUNDS 114u    /* 400 us */
#define REST_COARSE 6u      /* 384 us */
#define FIRST_LOOK_US 15.0  /* a line of 150 pF under 50 kohm has risen after 7 us */

struct edges edges __attribute__((aligned(256)));
volatile uint8_t edges_head;
volatile uint8_t edges_tail;
uint16_t edges_began;

/* Of sample.S: rounds that its close loop may go on, 1 when it went on so long and must leave the processor to the main program, and
 * when that was (coarse counter).
 */
volatile uint8_t sample_rounds;
volatile uint8_t sample_tired_at;
volatile uint16_t sample_paused_cycles;
volatile uint8_t sample_paused_coarse;
volatile bool sample_paused;

static struct watch_pair watched[WATCH_PAIRS];
static uint8_t watched_count;
static bool by_switched;
static uint8_t period;  /* cycles from one look to the next */
static uint8_t sampled; /* which interrupt of the timer: both ports, the first, the second */

static void sample_by_interrupt(bool on)
{
    TIFR3 = _BV(OCF3A) | _BV(OCF3B) | _BV(OCF3C);
    TIMSK3 = on ? sampled : 0u;
    uart_interrupts(on);
}

void watch_tick(void)
{
    if (sample_rounds == 1u && (uint8_t)(TCNT4L - sample_tired_at) >= REST_COARSE)
        sample_rounds = MOST_ROUNDS;
    OCR3A = edges_waiting() > EDGES_MANY ? PERIOD_CYCLES_BEHIND - 1u : period - 1u;
}

uint16_t watch_resume(void)
{
    if (!sample_paused)
        return 0;
    edge_time blind = edges_between(edges_time(sample_paused_cycles, sample_paused_coarse), edges_now());
    sample_paused = false;
    cli();
    sample_by_interrupt(true);
    sei();
    return (uint16_t)(blind / EDGES_CYCLES_PER_US);
}

void watch_set(const struct watch_pair *pairs, uint8_t count, bool switched)
{
    watched_count = count;
    by_switched = switched;
    for (uint8_t pair = 0; pair < count; pair++)
        watched[pair] = pairs[pair];
}

bool watch_is_set(void)
{
    return watched_count != 0u;
}

void watch_roles(uint8_t *roles)
{
    for (uint8_t line = 0; line < BOARD_LINES; line++)
        roles[line] = TW_LINE_ROLE_UNUSED;
    for (uint8_t pair = 0; pair < watched_count; pair++) {
        roles[watched[pair].sensed] = TW_LINE_ROLE_SENSED;
        roles[watched[pair].driven] = TW_LINE_ROLE_DRIVEN;
    }
}

static void add_line(struct line_set *set, uint8_t line)
{
    uint8_t bit = (uint8_t)(1u << (line & 7u));
    if (line < 8u)
        set->f |= bit;
    else if (line < 16u)
        set->k |= bit;
    else
        set->a |= bit;
}

/* Pull-ups first, then the drivers. */
static void set_pins(struct line_set sensed, struct line_set driven)
{
    lines_safe();
    if (by_switched) {
        PORTC = sensed.f;
        PORTL = sensed.k;
        DDRC = sensed.f;
        DDRL = sensed.k;
    } else {
        lines_pull(sensed, true);
    }
    lines_drive(driven, true);
}

void watch_begin(void)
{
    struct line_set sensed = {0, 0, 0}, driven = {0, 0, 0};
    for (uint8_t pair = 0; pair < watched_count; pair++) {
        add_line(&sensed, watched[pair].sensed);
        add_line(&driven, watched[pair].driven);
        openings_pair(pair, watched[pair].sensed);
    }
    set_pins(sensed, driven);
    DIDR0 = (uint8_t)~sensed.f;
    DIDR2 = (uint8_t)~sensed.k;
    edges_clock_start();
    _delay_us(FIRST_LOOK_US);
    uint8_t f = PINF, k = PINK;
    __asm__ volatile("mov r2, %0\n mov r4, %1\n mov r5, %0\n mov r6, %1\n" : : "r"(f), "r"(k));
    openings_begin(watched_count, by_switched, f, k);
    sample_paused = false;
    sample_rounds = MOST_ROUNDS;
    TCCR3A = 0;
    TCCR3B = 0;
    TCNT3 = 0;
    sampled = sensed.k == 0u ? _BV(OCIE3B) : sensed.f == 0u ? _BV(OCIE3C) : _BV(OCIE3A);
    period = sampled == _BV(OCIE3A) ? PERIOD_CYCLES : PERIOD_CYCLES_OF_ONE;
    OCR3A = OCR3B = OCR3C = period - 1u;
    sample_by_interrupt(true);
    /* Up to OCR3A, which takes a new value only when the timer begins anew: it never runs past it. */
    TCCR3A = _BV(WGM31) | _BV(WGM30);
    TCCR3B = _BV(WGM33) | _BV(WGM32) | _BV(CS30);
    sei();
}

void watch_end(void)
{
    cli();
    sample_by_interrupt(false);
    TCCR3A = 0;
    TCCR3B = 0;
    edges_clock_stop();
    sample_paused = false;
    DIDR0 = 0;
    DIDR2 = 0;
    lines_safe();
    DDRC = 0;
    DDRL = 0;
    PORTC = 0;
    PORTL = 0;
}
