/* Readings that changed and have not been sent yet. */
#ifndef TAILWISE_QUEUE_H
#define TAILWISE_QUEUE_H

#include <stdbool.h>
#include <stdint.h>

#include "lines.h"

#define QUEUE_TRANSITIONS 96u /* a STATE waits for them, and the ticks below must not wrap (32 ms) before they are read */

/* All that changed in one drive pulse; at least one transition. */
struct change {
    uint16_t ticks; /* of the clock */
    uint8_t driven;
    struct line_set changed;
    struct line_set low;
    uint8_t weight; /* at least the number of transitions */
};

extern struct change queue_ring[QUEUE_TRANSITIONS];
extern struct change *queue_free;
extern struct change *queue_oldest;
extern uint8_t queue_changes;     /* in the ring */
extern uint8_t queue_weight;      /* of those changes */
extern uint32_t queue_dropped;    /* transitions since queue_clear() */
extern uint8_t bits_in[256];

void queue_start(void);
void queue_clear(void);

static inline struct change *queue_after(struct change *change)
{
    return change == queue_ring + QUEUE_TRANSITIONS - 1u ? queue_ring : change + 1;
}

/* How many of these lines are set. */
static inline uint8_t count_lines(struct line_set lines)
{
    return (uint8_t)(bits_in[lines.f] + bits_in[lines.k] + bits_in[lines.a]);
}

/* Puts a change into the ring, or counts its transitions as dropped where there is no room for so many. */
static inline void queue_put(uint16_t ticks, uint8_t driven, struct line_set changed, struct line_set low, uint8_t weight)
{
    struct change *change = queue_free;
    uint8_t weights = (uint8_t)(queue_weight + weight);
    if (weights > QUEUE_TRANSITIONS) {
        queue_dropped += count_lines(changed);
        return;
    }
    queue_weight = weights;
    queue_changes++;
    queue_free = queue_after(change);
    change->ticks = ticks;
    change->driven = driven;
    change->changed = changed;
    change->low = low;
    change->weight = weight;
}

static inline void queue_remove_oldest(void)
{
    queue_weight = (uint8_t)(queue_weight - queue_oldest->weight);
    queue_changes--;
    queue_oldest = queue_after(queue_oldest);
}

#endif
