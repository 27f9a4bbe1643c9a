/* An opening begins at an edge to open after the pair was closed and ends at the edge to closed. Edges come as 16 bits of half
 * microseconds, which wrap after 32 ms: while a pair stays open its age is carried over long before. An opening reads too short by
 * the line's rise, so the rise of the usual line is added to it.
 */
#include "openings.h"

#include "clock.h"
#include "edges.h"
#include "uart.h"

#define KEPT 128u /* a power of two */
#define RISE_TICKS 3u          /* 1.4 us: 10 kohm on 150 pF to 0.6 Vcc */
#define CARRY_TICKS 16000u     /* 8 ms */

static struct pair {
    uint8_t f, k;      /* its bit in one of the ports */
    bool open;
    bool counts;       /* it was closed before it opened */
    uint16_t since;    /* ticks of the last edge or carry */
    uint32_t carried;  /* ticks before that */
    struct openings_count count;
} pairs[WATCH_PAIRS];
static uint8_t pair_count;

static struct opening kept[KEPT];
static uint8_t kept_head, kept_tail;
static uint32_t dropped;
static uint32_t blind_us;

void openings_pair(uint8_t pair, uint8_t sensed_line)
{
    uint8_t bit = (uint8_t)(1u << (sensed_line & 7u));
    pairs[pair].f = sensed_line < 8u ? bit : 0u;
    pairs[pair].k = sensed_line < 8u ? 0u : bit;
}

void openings_begin(uint8_t count, uint8_t f, uint8_t k)
{
    pair_count = count;
    kept_head = kept_tail = 0;
    dropped = 0;
    blind_us = 0;
    for (uint8_t place = 0; place < WATCH_PAIRS; place++) {
        struct pair *pair = &pairs[place];
        pair->open = true; /* until the first look says otherwise: such an opening does not count */
        pair->counts = false;
        pair->carried = 0;
        pair->since = clock_ticks();
        pair->count = (struct openings_count){0, 0};
    }
    edges[0] = (struct edge){clock_ticks(), f, k};
    edges_tail = 0;
    edges_head = 1;
}

static void end_opening(uint8_t place, struct pair *pair, uint16_t ticks)
{
    uint32_t length = (pair->carried + (uint16_t)(ticks - pair->since) + RISE_TICKS) / CLOCK_TICKS_PER_US;
    pair->count.openings++;
    pair->count.open_us += length;
    if ((uint8_t)(kept_head - kept_tail) == KEPT) {
        dropped++;
        return;
    }
    struct opening *opening = &kept[kept_head % KEPT];
    opening->pair = place;
    opening->length = length;
    opening->start = clock_at(ticks) - length;
    kept_head++;
}

static void take(const struct edge *edge)
{
    for (uint8_t place = 0; place < pair_count; place++) {
        struct pair *pair = &pairs[place];
        bool open = (edge->f & pair->f) || (edge->k & pair->k);
        if (open == pair->open)
            continue;
        if (!open && pair->counts)
            end_opening(place, pair, edge->ticks);
        pair->open = open;
        pair->counts = true;
        pair->since = edge->ticks;
        pair->carried = 0;
    }
}

/* Only when no edge waits, so that nothing is carried past an edge. */
static void carry_over(void)
{
    uint16_t now = clock_ticks();
    for (uint8_t place = 0; place < pair_count; place++) {
        struct pair *pair = &pairs[place];
        if (pair->open && (uint16_t)(now - pair->since) > CARRY_TICKS) {
            pair->since = (uint16_t)(pair->since + CARRY_TICKS / 2u);
            pair->carried += CARRY_TICKS / 2u;
        }
    }
}

void openings_slice(void)
{
    take(&edges[edges_tail]);
    edges_tail++;
}

void openings_idle(void)
{
    if (edges_wait())
        return;
    carry_over();
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
    for (uint8_t place = 0; place < pair_count; place++)
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
