/* The line pins as three ports. A set of lines is three bytes: PORTF, PORTK, PORTA; with_a is false where nothing of port A is
 * in use, and saves its instructions.
 */
#ifndef TAILWISE_LINES_H
#define TAILWISE_LINES_H

#include <avr/io.h>
#include <stdbool.h>
#include <stdint.h>

#include "board.h"

struct line_set {
    uint8_t f, k, a;
};

/* Undriven: level by what hangs on the lines. */
static inline void lines_release(void)
{
    DDRF = 0;
    DDRK = 0;
    DDRA = 0;
}

/* Pull-ups of undriven lines; high level of driven ones. */
static inline void lines_pull(struct line_set pulled, bool with_a)
{
    PORTF = pulled.f;
    PORTK = pulled.k;
    if (with_a)
        PORTA = pulled.a;
}

static inline void lines_drive(struct line_set driven, bool with_a)
{
    DDRF = driven.f;
    DDRK = driven.k;
    if (with_a)
        DDRA = driven.a;
}

/* High impedance everywhere: the safe state. */
static inline void lines_safe(void)
{
    lines_release();
    lines_pull((struct line_set){0, 0, 0}, true);
}

#endif
