/* Timer 1 counts half microseconds in 16 bits; every question adds what has passed since the one before, so no interrupt
 * is needed and nothing can be torn. Compare times by their difference: (uint32_t)(later - earlier).
 */
#include "clock.h"

volatile uint32_t clock_now_us;
uint16_t clock_counted;

void clock_start(void)
{
    TCCR1A = 0;
    TCCR1B = _BV(CS11); /* 16 MHz / 8 */
}
