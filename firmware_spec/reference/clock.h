/* The board's clock: microseconds since reset in 32 bits, wrapping to 0 after 4294967295 (71.6 minutes). */
#ifndef TAILWISE_CLOCK_H
#define TAILWISE_CLOCK_H

#include <stdint.h>

void clock_start(void);

/* Now. Must be asked at least every 32 ms; from the main program only. */
uint32_t clock_us(void);

#endif
