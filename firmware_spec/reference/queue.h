/* Readings that changed and have not been sent yet. */
#ifndef TAILWISE_QUEUE_H
#define TAILWISE_QUEUE_H

#include <stdbool.h>
#include <stdint.h>

#include "lines.h"

#define QUEUE_TRANSITIONS 255u

/* All that changed in one drive pulse. */
struct change {
    uint32_t clock;
    uint8_t driven;
    struct line_set changed;
    struct line_set low;
};

void queue_start(void);
void queue_clear(void);

/* Removes the oldest change. */
void queue_remove_first(void);

/* One transition of the oldest change is on its way. */
void queue_took(void);

/* Place after the newest change, and whether everything before such a place has been removed. */
uint8_t queue_place(void);
bool queue_reached(uint8_t place);

/* Transitions dropped since queue_clear(). */
uint32_t queue_dropped(void);

extern struct change queue_ring[256];
extern uint8_t queue_head;
extern uint8_t queue_tail;
extern uint8_t queue_waiting;
extern uint32_t queue_lost;
extern uint8_t bits_in[256];

/* Room for a change of so many transitions, to be filled in by the caller; or null, and they are counted as dropped. */
static inline struct change *queue_room(uint8_t transitions)
{
    uint8_t room = (uint8_t)(QUEUE_TRANSITIONS - queue_waiting);
    if (transitions > room) {
        queue_lost += transitions;
        return 0;
    }
    queue_waiting = (uint8_t)(queue_waiting + transitions);
    return &queue_ring[queue_head++];
}

/* The oldest change, or null. */
static inline struct change *queue_first(void)
{
    return queue_head == queue_tail ? 0 : &queue_ring[queue_tail];
}

/* How many of these lines are set. */
static inline uint8_t count_lines(struct line_set lines)
{
    return (uint8_t)(bits_in[lines.f] + bits_in[lines.k] + bits_in[lines.a]);
}

#endif
