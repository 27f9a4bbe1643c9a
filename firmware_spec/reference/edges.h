/* Edges of the watched lines, from the sampling interrupt to the main program. */
#ifndef TAILWISE_EDGES_H
#define TAILWISE_EDGES_H

#include <stdbool.h>
#include <stdint.h>

/* Both ports as they read from `ticks` on, sensed lines only: a bit set is an open pair. */
struct edge {
    uint16_t ticks; /* of the clock */
    uint8_t f, k;
};

extern struct edge edges[256];
extern volatile uint8_t edges_head;
extern volatile uint8_t edges_tail;

static inline bool edges_wait(void)
{
    return edges_tail != edges_head;
}

/* Time to stop sampling until some have been taken. */
static inline bool edges_nearly_full(void)
{
    return (uint8_t)(edges_head - edges_tail) > 224u;
}

#endif
