/* Theory. Timer 3 interrupts every 40 cycles (2.5 us). The interrupt compares the sensed lines of both ports with the last sample
 * and takes a received byte; it keeps everything in registers that the compiler leaves alone, so that it takes 26 cycles
 * and the main program keeps the rest. When something changed, the lines are sampled in a close loop of 1 us until
 * they have been quiet, so that both ends of a short opening are timed well. An edge lies, on average, half a period before the
 * sample that saw it. The longest time between two samples is 58 cycles (3.6 us), where the close loop begins or ends.
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

#define PERIOD_CYCLES 40u
#define ENTRY_TICKS 10u     /* from the middle of a period to the first look at the clock after it: 20 and 60 cycles */
#define EARLY_END_TICKS 1u  /* an end seen at the handler's first look lies 0 to 3.5 us before it; most of 4 us and more lie late */
#define QUIET_TICKS 16u     /* 8 us: the close loop ends when all pairs are closed so long */
#define CLOSE_TICKS 400u    /* or 200 us after an edge: from there on 1 % of the length is more than a period */
#define HOG_TICKS 800u      /* the close loop leaves the processor to the main program after 400 us */
#define FIRST_LOOK_US 15.0  /* a line of 150 pF under 50 kohm has risen after 7 us */
#define LATE_TICKS 3u       /* half of the way to one of the looks on the way out */
#define OLD_TICKS 4000
#define LOOKS 4u            /* of the close loop between two looks at the time and the receiver */

struct edge edges[256];
volatile uint8_t edges_head;
volatile uint8_t edges_tail;

static struct watch_pair watched[WATCH_PAIRS];
static uint8_t watched_count;
static bool by_switched;
static uint16_t hogged_until;
static uint16_t paused_at;
static volatile bool paused;

/* r2, r4: sample of both ports; r3: status; r5, r6: sample before. Lines that are not sensed read 0 here: DIDR sees to it.
 * A received byte goes into uart_received, which is aligned to 256 bytes; where that is full the byte is lost and bit 0 of
 * GPIOR0 says so. After it the lines are sampled again, as that took as long as a period.
 */
ISR(TIMER3_COMPA_vect, ISR_NAKED)
{
    __asm__ volatile(
        "in r3, %[status]\n"
        "0: in r2, %[pinf]\n"
        "lds r4, %[pink]\n"
        "cpse r2, r5\n"
        "rjmp 4f\n"
        "cpse r4, r6\n"
        "rjmp 4f\n"
        "lds r2, %[uart]\n"
        "sbrc r2, 7\n"
        "rjmp 1f\n"
        "out %[status], r3\n"
        "reti\n"
        "1: push r30\n"
        "push r31\n"
        "lds r2, %[byte]\n"
        "lds r30, uart_head\n"
        "ldi r31, hi8(uart_received)\n"
        "st Z, r2\n"
        "inc r30\n"
        "lds r2, uart_tail\n"
        "cp r30, r2\n"
        "breq 2f\n"
        "sts uart_head, r30\n"
        "rjmp 3f\n"
        "2: sbi %[lost], 0\n"
        "3: pop r31\n"
        "pop r30\n"
        "rjmp 0b\n"
        "4: out %[status], r3\n"
        "jmp __vector_watch_changed\n"
        :
        : [status] "I"(_SFR_IO_ADDR(SREG)), [pinf] "I"(_SFR_IO_ADDR(PINF)), [pink] "n"(_SFR_MEM_ADDR(PINK)),
          [uart] "n"(_SFR_MEM_ADDR(UCSR0A)), [byte] "n"(_SFR_MEM_ADDR(UDR0)), [lost] "I"(_SFR_IO_ADDR(GPIOR0)));
}

static inline void note_edge(uint16_t ticks, uint8_t f, uint8_t k)
{
    struct edge *edge = &edges[edges_head];
    edge->ticks = ticks;
    edge->f = f;
    edge->k = k;
    edges_head++;
}

/* The main program cannot keep up: better blind for a known time than edges lost. */
static void pause_sampling(void)
{
    TIMSK3 = 0;
    uart_by_interrupt = false;
    paused_at = TCNT1;
    paused = true;
}

/* The close loop has a limit: room for edges, and time that the main program needs. */
static inline bool may_stay(uint16_t now, uint16_t entered)
{
    return !edges_nearly_full() && (uint16_t)(now - entered) < HOG_TICKS && (int16_t)(hogged_until - entered) <= 0;
}

/* Something happened not long ago. */
static inline bool is_lively(uint16_t now, uint16_t edge, bool open)
{
    return (uint16_t)(now - edge) < (open ? CLOSE_TICKS : QUIET_TICKS);
}

/* One look of the close loop, so many ticks after the middle of the time since the last one. The edge before is kept back until
 * now, as noting it takes time.
 */
#define LOOK(half_gap_ticks)                                \
    do {                                                    \
        uint8_t new_f = PINF, new_k = PINK;                 \
        if (new_f != f || new_k != k) {                     \
            uint16_t seen = TCNT1;                          \
            note_edge(edge, f, k);                          \
            f = new_f;                                      \
            k = new_k;                                      \
            edge = (uint16_t)(seen - (half_gap_ticks));     \
        }                                                   \
    } while (0)

/* As uart_receive(), without a call, for which the handler would have to save twice as many registers. */
static inline void take_byte(void)
{
    if (!(UCSR0A & _BV(RXC0)))
        return;
    uint8_t head = uart_head;
    uart_received[head++] = UDR0;
    if (head == uart_tail)
        GPIOR0 |= 1u;
    else
        uart_head = head;
}

static inline void leave(uint8_t f, uint8_t k, uint16_t entered, uint16_t now)
{
    if ((uint16_t)(now - entered) >= HOG_TICKS)
        hogged_until = (uint16_t)(now + HOG_TICKS);
    if (edges_nearly_full())
        pause_sampling();
    __asm__ volatile("mov r5, %0\n mov r6, %1\n" : : "r"(f), "r"(k));
}

void __vector_watch_changed(void) __attribute__((signal, used, externally_visible));
void __vector_watch_changed(void)
{
    uint8_t f, k;
    __asm__ volatile("mov %0, r2\n mov %1, r4\n" : "=r"(f), "=r"(k));
    uint8_t new_f = PINF, new_k = PINK;
    const uint16_t entered = TCNT1;
    uint16_t edge = (uint16_t)(entered - ENTRY_TICKS);
    if (new_f != f || new_k != k) {
        note_edge(edge, f, k);
        f = new_f;
        k = new_k;
        edge = (uint16_t)(entered - EARLY_END_TICKS);
    }
    uint16_t now = entered;
    do {
        bool go_on;
        do {
            for (uint8_t left = LOOKS; left != 0u; left--)
                LOOK(2u);
            take_byte();
            LOOK(2u);
            now = TCNT1;
            go_on = may_stay(now, entered);
            LOOK(3u);
            go_on = go_on && is_lively(now, edge, f | k);
            LOOK(3u);
        } while (go_on);
        note_edge(edge, f, k);
        /* Two more looks, as the way out is long. */
        new_f = PINF;
        new_k = PINK;
        if (new_f == f && new_k == k) {
            leave(f, k, entered, now);
            new_f = PINF;
            new_k = PINK;
            if (new_f == f && new_k == k)
                break;
        }
        edge = (uint16_t)(TCNT1 - LATE_TICKS);
        f = new_f;
        k = new_k;
    } while (!paused);
}

/* So that an old time never seems to lie ahead when 16 bits have wrapped. */
static void forget_hogging(void)
{
    uint16_t now = clock_ticks();
    if ((int16_t)(hogged_until - now) < -OLD_TICKS) {
        cli();
        hogged_until = now;
        sei();
    }
}

uint16_t watch_resume(void)
{
    if (!paused) {
        forget_hogging();
        return 0;
    }
    uint16_t blind = (uint16_t)(clock_ticks() - paused_at);
    paused = false;
    uart_by_interrupt = true;
    TIFR3 = _BV(OCF3A);
    TIMSK3 = _BV(OCIE3A);
    return blind / CLOCK_TICKS_PER_US;
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
    _delay_us(FIRST_LOOK_US);
    uint8_t f = PINF, k = PINK;
    __asm__ volatile("mov r5, %0\n mov r6, %1\n" : : "r"(f), "r"(k));
    openings_begin(watched_count, f, k);
    uart_by_interrupt = true;
    paused = false;
    hogged_until = clock_ticks();
    TCCR3A = 0;
    TCCR3B = 0;
    TCNT3 = 0;
    OCR3A = PERIOD_CYCLES - 1u;
    TIFR3 = _BV(OCF3A);
    TIMSK3 = _BV(OCIE3A);
    TCCR3B = _BV(WGM32) | _BV(CS30);
    sei();
}

void watch_end(void)
{
    cli();
    TIMSK3 = 0;
    TCCR3B = 0;
    paused = false;
    uart_by_interrupt = false;
    DIDR0 = 0;
    DIDR2 = 0;
    lines_safe();
    DDRC = 0;
    DDRL = 0;
    PORTC = 0;
    PORTL = 0;
}
