/* The board's clock: microseconds since reset in 32 bits, wrapping to 0 after 4294967295 (71.6 minutes). */
#ifndef TAILWISE_CLOCK_H
#define TAILWISE_CLOCK_H

#include <avr/io.h>
#include <stdint.h>

#define CLOCK_TICKS_PER_US 2u

extern uint32_t clock_now_us;
extern uint16_t clock_counted;

void clock_start(void);

/* Now. Must be asked at least every 32 ms. */
static inline uint32_t clock_us(void)
{
    uint16_t passed = (uint16_t)(TCNT1 - clock_counted) / CLOCK_TICKS_PER_US;
    clock_counted = (uint16_t)(clock_counted + passed * CLOCK_TICKS_PER_US);
    clock_now_us += passed;
    return clock_now_us;
}

#endif
