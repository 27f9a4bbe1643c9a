/* Watching one or two pairs of lines without pause: the driven lines low all the time, the sensed ones sampled. */
#ifndef TAILWISE_WATCH_H
#define TAILWISE_WATCH_H

#include <stdbool.h>
#include <stdint.h>

#define WATCH_PAIRS 2u

/* The longest time between two looks, 58 cycles; sample.S says why. */
#define WATCH_SHORTEST_NS 3700ul

struct watch_pair {
    uint8_t sensed, driven;
};

/* First converter line after those that can be watched. */
#define WATCH_LINES 16u

/* Takes what is to be watched; the lines must have been checked to fit. */
void watch_set(const struct watch_pair *pairs, uint8_t count, bool switched);

bool watch_is_set(void);

/* Fills a role for each line: those of the pairs are used. */
void watch_roles(uint8_t *roles);

void watch_begin(void);
void watch_end(void);

/* Now and then while watching, at least every 30 ms. */
void watch_tick(void);

/* Where sampling had to stop because edges came too fast, and none waits any more: goes on. Gives the blind us. */
uint16_t watch_resume(void);

#endif
