/* A ring of 256 changes with places that are bytes and wrap by themselves. At most 255 transitions are held and each
 * change has at least one, so the ring never fills up.
 */
#include "queue.h"

struct change queue_ring[256];
uint8_t queue_head;
uint8_t queue_tail;
uint8_t queue_waiting;
uint32_t queue_lost;
uint8_t bits_in[256];

void queue_start(void)
{
    for (uint16_t byte = 1; byte < 256u; byte++)
        bits_in[byte] = (uint8_t)(bits_in[byte >> 1] + (byte & 1u));
}

void queue_clear(void)
{
    queue_head = 0;
    queue_tail = 0;
    queue_waiting = 0;
    queue_lost = 0;
}

void queue_remove_first(void)
{
    queue_tail++;
}

void queue_took(void)
{
    queue_waiting--;
}

uint8_t queue_place(void)
{
    return queue_head;
}

bool queue_reached(uint8_t place)
{
    return queue_tail == place;
}

uint32_t queue_dropped(void)
{
    return queue_lost;
}
