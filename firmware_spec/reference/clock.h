/* The board's clock: microseconds since reset in 32 bits, wrapping to 0 after 4294967295 (71.6 minutes). */
#ifndef TAILWISE_CLOCK_H
#define TAILWISE_CLOCK_H

#include <avr/io.h>
#include <stdint.h>

#define CLOCK_TICKS_PER_US 2u

extern volatile uint32_t clock_now_us; /* volatile: a debugger may set it, as the test of its wrap does */
extern uint16_t clock_counted;

void clock_start(void);

/* Half microseconds, wrapping after 32 ms; clock_at() tells what time that was. */
static inline uint16_t clock_ticks(void)
{
    return TCNT1; /* no interrupt reads it, so both halves belong together */
}

/* Now. Must be asked at least every 32 ms. */
static inline uint32_t clock_us(void)
{
    uint16_t passed = (uint16_t)(clock_ticks() - clock_counted) / CLOCK_TICKS_PER_US;
    clock_counted = (uint16_t)(clock_counted + passed * CLOCK_TICKS_PER_US);
    uint32_t now = clock_now_us + passed;
    clock_now_us = now;
    return now;
}

/* When clock_ticks() gave these ticks, less than 32 ms ago. */
static inline uint32_t clock_at(uint16_t ticks)
{
    uint32_t now = clock_us();
    return now - (uint16_t)(clock_counted - ticks) / CLOCK_TICKS_PER_US;
}

#endif
