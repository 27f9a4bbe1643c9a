/* What a scan drives and senses, made ready from the roles of the lines. */
#ifndef TAILWISE_DRIVES_H
#define TAILWISE_DRIVES_H

#include <stdbool.h>
#include <stdint.h>

#include "lines.h"

#define SLOW_RISE 0x80u /* in `care`: a line rises by its pull-up alone */

/* One drive pulse. */
struct drive {
    struct line_set mask;   /* the driven line */
    struct line_set pulled; /* pull-ups during the pulse */
    struct line_set sensed; /* lines read */
    struct line_set low;    /* what read low last time */
    uint8_t line;
    uint8_t care;           /* how many read low last time, and SLOW_RISE */
    uint16_t pace;          /* cycles after the start of the scan up to which there is time for other work */
};

extern struct drive drives[BOARD_LINES];
extern struct drive *drives_end;
extern struct line_set drives_used;   /* pulled up between pulses */
extern struct line_set drives_driven; /* driven high between pulses */

/* Takes one role for each line of the board; true where there is a line to drive and another to sense. */
bool drives_set(const uint8_t *roles);

/* Forgets all readings; a step is allowed so many cycles. */
void drives_begin(uint16_t step_cycles);

#endif
