/* Timer 1 counts half microseconds in 16 bits; every question adds what has passed since the one before, so no interrupt
 * is needed and nothing can be torn. Compare times by their difference: (uint32_t)(later - earlier).
 */
#include "clock.h"

#include <avr/io.h>

#define HALF_US_PER_US 2u

static uint32_t clock_now_us;
static uint16_t counted;

void clock_start(void)
{
    TCCR1A = 0;
    TCCR1B = _BV(CS11); /* 16 MHz / 8 */
}

uint32_t clock_us(void)
{
    uint16_t passed = (uint16_t)(TCNT1 - counted) / HALF_US_PER_US;
    counted = (uint16_t)(counted + passed * HALF_US_PER_US);
    clock_now_us += passed;
    return clock_now_us;
}
