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

/* Takes a change, or counts its transitions as dropped where there is no room for all of them. */
void queue_put(const struct change *change);

/* The oldest change, or null. */
struct change *queue_first(void);

/* Removes the oldest change. */
void queue_remove_first(void);

/* One transition of the oldest change is on its way. */
void queue_took(void);

/* Place after the newest change, and whether everything before such a place has been removed. */
uint8_t queue_place(void);
bool queue_reached(uint8_t place);

/* Transitions dropped since queue_clear(). */
uint32_t queue_dropped(void);

/* How many of these lines are set. */
uint8_t count_lines(struct line_set lines);

#endif
