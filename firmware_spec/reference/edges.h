/* Edges of the watched lines, from the sampling to the main program.
 *
 * Theory. A cycle counter of 16 bits times an edge to 62.5 ns and wraps every 4.1 ms, longer than which an edge may wait. A coarse
 * counter of 8 bits and 64 us, started with it, tells which wrap it was: times are cycles since the watch began, modulo 16.4 ms. The
 * counters are the watch's own, so that its interrupts do not come between the halves of the clock's.
 */
#ifndef TAILWISE_EDGES_H
#define TAILWISE_EDGES_H

#include <avr/io.h>
#include <stdbool.h>
#include <stdint.h>

#define EDGES_CYCLES_PER_US 16u
#define EDGES_WRAP 0x3FFFFul /* cycles */
#define EDGES_MANY 100u /* waiting: more than a burst of 50 openings */
#define CLOSE_LOOP_LEAST 135u /* cycles */

/* Cycles since the watch began. */
typedef __uint24 edge_time;

/* A ring: one page of 256 bytes for each field, so that sampling finds a field by its page alone. */
struct edges {
    uint8_t cycles_low[256], cycles_high[256]; /* of the cycle counter */
    uint8_t coarse[256];                       /* of the coarse one */
    uint8_t f[256], k[256]; /* both ports as they read from then on, sensed lines only: a bit set is an open pair */
};

extern struct edges edges;
extern volatile uint8_t edges_head;
extern volatile uint8_t edges_tail;
extern uint16_t edges_began; /* what the cycle counter was at the beginning */

static inline bool edges_wait(void)
{
    return edges_tail != edges_head;
}

static inline uint8_t edges_waiting(void)
{
    return (uint8_t)(edges_head - edges_tail);
}

/* Starts the counters. */
static inline void edges_clock_start(void)
{
    TCCR5A = 0;
    TCCR5B = _BV(CS50); /* every cycle */
    TCCR4A = 0;
    TCCR4B = _BV(CS42) | _BV(CS40); /* every 1024 cycles */
    TCNT4 = 0;
    edges_began = TCNT5;
}

static inline void edges_clock_stop(void)
{
    TCCR4B = 0;
    TCCR5B = 0;
}

/* Time when the counters stood so. */
static inline edge_time edges_time(uint16_t cycles, uint8_t coarse)
{
    uint16_t since = (uint16_t)(cycles - edges_began);
    uint8_t wraps = (uint8_t)(coarse >> 6);
    int8_t off = (int8_t)((uint8_t)(since >> 10) - (coarse & 63u));
    if (off > 32)
        wraps--;
    else if (off < -32)
        wraps++;
    return ((edge_time)(wraps & 3u) << 16) | since;
}

static inline edge_time edges_time_of(uint8_t place)
{
    return edges_time((uint16_t)(edges.cycles_low[place] | (uint16_t)edges.cycles_high[place] << 8), edges.coarse[place]);
}

/* From one time to a later one. */
static inline edge_time edges_between(edge_time from, edge_time to)
{
    return (to - from) & (edge_time)EDGES_WRAP;
}

/* Time now. The sampling may come between the halves of the counter, which it reads, too: then its close loop keeps two readings apart. */
static inline edge_time edges_now(void)
{
    for (;;) {
        uint16_t before = TCNT5, cycles = TCNT5;
        uint8_t coarse = TCNT4L;
        if ((uint16_t)(cycles - before) < CLOSE_LOOP_LEAST)
            return edges_time(cycles, coarse);
    }
}

#endif
