/* Is a line held from outside? Asked before anything is driven. */
#ifndef TAILWISE_CHECK_H
#define TAILWISE_CHECK_H

#include <stdint.h>

#define NO_LINE 255u

/* Fills one line_status for each line; gives the first held line or NO_LINE. Takes up to 60 ms; lines end undriven. */
uint8_t check_lines(const uint8_t *roles, uint8_t *statuses);

#endif
