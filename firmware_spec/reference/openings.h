/* Openings of the watched pairs: counted whole, and kept one by one until they are sent. */
#ifndef TAILWISE_OPENINGS_H
#define TAILWISE_OPENINGS_H

#include <stdbool.h>
#include <stdint.h>

#include "watch.h"

/* As on the wire: bytes, low ones first. */
struct opening {
    uint8_t pair;
    uint32_t start;  /* clock */
    uint32_t length; /* us */
};

struct openings_count {
    uint32_t openings; /* that have ended, since START */
    uint32_t open_us;  /* their length together */
};

/* Which line a pair senses; before openings_begin(). */
void openings_pair(uint8_t pair, uint8_t sensed_line);
/* switched: on the 10 kohm; f, k: how the ports read at the beginning. */
void openings_begin(uint8_t pairs, bool switched, uint8_t f, uint8_t k);

/* Takes the oldest edge. */
void openings_slice(void);

/* What has to be done now and then while watching, at least every 4 ms. */
void openings_idle(void);

/* Takes all edges that wait; after watch_end(). */
void openings_finish(void);

/* The oldest opening that has not been sent, or null. */
const struct opening *openings_first(void);
void openings_remove_first(void);

struct openings_count openings_of(uint8_t pair);
uint8_t openings_closed(void); /* bit i: pair i reads closed */
uint32_t openings_dropped(void);
uint32_t openings_blind_us(void);

#endif
