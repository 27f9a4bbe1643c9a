/* An opening begins at an edge to open after the pair was closed and ends at the edge to closed. Times of edges wrap after 16 ms:
 * while a pair stays open its age is carried over long before. An opening reads too short by the line's rise, so the rise of a
 * whole line is added to it.
 */
#include "openings.h"

#include "clock.h"
#include "edges.h"
#include "uart.h"

#define KEPT 128u /* a power of two */
/* A line of 150 pF from the 0.2 V of a closed contact to 0.6 Vcc, less the fall at the end: on 10 kohm, and on an input's own 35 kohm,
 * the middle of the data sheet's 20 to 50.
 */
#define RISE_CYCLES 19u
#define RISE_CYCLES_OWN 72u
#define CARRY_CYCLES 64000u /* 4 ms */
#define HALF_US (EDGES_CYCLES_PER_US / 2u)

static struct pair {
    uint8_t f, k;        /* its bit in one of the ports */
    bool open;
    bool counts;         /* it was closed before it opened */
    edge_time since;     /* of the last edge or carry */
    uint32_t carried_us; /* before that */
    struct openings_count count;
} pairs[WATCH_PAIRS];
static struct pair *pairs_end = pairs;

static struct opening kept[KEPT];
static uint8_t kept_head, kept_tail;
static uint8_t rise_cycles;
static uint32_t dropped;
static uint32_t blind_us;
static edge_time reached; /* no edge before it waits */
static edge_time counted; /* up to which counted_us is the clock; whole microseconds */
static uint32_t counted_us;

void openings_pair(uint8_t pair, uint8_t sensed_line)
{
    uint8_t bit = (uint8_t)(1u << (sensed_line & 7u));
    pairs[pair].f = sensed_line < 8u ? bit : 0u;
    pairs[pair].k = sensed_line < 8u ? 0u : bit;
}

void openings_begin(uint8_t count, bool switched, uint8_t f, uint8_t k)
{
    rise_cycles = switched ? RISE_CYCLES : RISE_CYCLES_OWN;
    pairs_end = pairs + count;
    kept_head = kept_tail = 0;
    dropped = 0;
    blind_us = 0;
    for (uint8_t place = 0; place < WATCH_PAIRS; place++) {
        struct pair *pair = &pairs[place];
        pair->open = true; /* until the first look says otherwise: such an opening does not count */
        pair->counts = false;
        pair->carried_us = 0;
        pair->since = edges_now();
        pair->count = (struct openings_count){0, 0};
    }
    reached = edges_now();
    counted = reached & ~(edge_time)(EDGES_CYCLES_PER_US - 1u);
    counted_us = clock_us();
    uint16_t cycles = TCNT5;
    edges.cycles_low[0] = (uint8_t)cycles;
    edges.cycles_high[0] = (uint8_t)(cycles >> 8);
    edges.coarse[0] = TCNT4L;
    edges.f[0] = f;
    edges.k[0] = k;
    edges_tail = 0;
    edges_head = 1;
}

/* The clock up to a time. */
static void count_clock(edge_time time)
{
    edge_time whole = time & ~(edge_time)(EDGES_CYCLES_PER_US - 1u);
    counted_us += (uint16_t)(edges_between(counted, whole) / EDGES_CYCLES_PER_US);
    counted = whole;
}

static inline void keep(uint8_t place, uint32_t length)
{
    if ((uint8_t)(kept_head - kept_tail) == KEPT) {
        dropped++;
        return;
    }
    count_clock(reached);
    struct opening *opening = &kept[kept_head % KEPT];
    opening->pair = place;
    opening->length = length;
    opening->start = counted_us - length;
    kept_head++;
}

static __attribute__((noinline)) void end_opening(struct pair *pair)
{
    edge_time passed = edges_between(pair->since, reached) + rise_cycles + HALF_US;
    uint32_t length = pair->carried_us + (uint16_t)(passed / EDGES_CYCLES_PER_US);
    pair->count.openings++;
    pair->count.open_us += length;
    uart_pump();
    keep(pair == pairs ? 0u : 1u, length);
}

static inline void begin_opening(struct pair *pair)
{
    pair->since = reached;
    pair->carried_us = 0;
    pair->counts = true;
}

void openings_slice(void)
{
    uint8_t edge = edges_tail, f = edges.f[edge], k = edges.k[edge];
    reached = edges_time_of(edge);
    edges_tail = (uint8_t)(edge + 1u);
    for (struct pair *pair = pairs; pair != pairs_end; pair++) {
        bool open = ((f & pair->f) | (k & pair->k)) != 0u;
        if (open == pair->open)
            continue;
        pair->open = open;
        if (open)
            begin_opening(pair);
        else if (pair->counts)
            end_opening(pair);
    }
}

static inline void carry_over(struct pair *pair)
{
    while (pair->open && edges_between(pair->since, reached) > CARRY_CYCLES) {
        pair->since = (pair->since + CARRY_CYCLES / 2u) & (edge_time)EDGES_WRAP;
        pair->carried_us += CARRY_CYCLES / 2u / EDGES_CYCLES_PER_US;
    }
}

void openings_idle(void)
{
    watch_tick();
    edge_time now = edges_now();
    bool all_taken = !edges_wait();
    /* Not quite up to now: an edge that has yet to be noted may be a little older. */
    if (all_taken && edges_between(reached, now) > CARRY_CYCLES)
        reached = (now - CARRY_CYCLES / 2u) & (edge_time)EDGES_WRAP;
    for (struct pair *pair = pairs; pair != pairs_end; pair++)
        carry_over(pair);
    if (edges_between(counted, reached) > CARRY_CYCLES)
        count_clock(reached);
    if (all_taken)
        blind_us += watch_resume();
}

void openings_finish(void)
{
    while (edges_wait()) {
        openings_slice();
        uart_pump();
    }
}

const struct opening *openings_first(void)
{
    return kept_head == kept_tail ? 0 : &kept[kept_tail % KEPT];
}

void openings_remove_first(void)
{
    kept_tail++;
}

struct openings_count openings_of(uint8_t pair)
{
    return pairs[pair].count;
}

uint8_t openings_closed(void)
{
    uint8_t closed = 0;
    for (uint8_t place = 0; place < (uint8_t)(pairs_end - pairs); place++)
        if (!pairs[place].open)
            closed |= (uint8_t)(1u << place);
    return closed;
}

uint32_t openings_dropped(void)
{
    return dropped;
}

uint32_t openings_blind_us(void)
{
    return blind_us;
}
