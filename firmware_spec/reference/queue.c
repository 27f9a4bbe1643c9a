/* A ring of 256 changes with places that are bytes and wrap by themselves. At most 255 transitions are held and each
 * change has at least one, so the ring never fills up.
 */
#include "queue.h"

static struct change ring[256];
static uint8_t head;
static uint8_t tail;
static uint8_t waiting;
static uint32_t dropped;
static uint8_t bits_in[256];

void queue_start(void)
{
    for (uint16_t byte = 1; byte < 256u; byte++)
        bits_in[byte] = (uint8_t)(bits_in[byte >> 1] + (byte & 1u));
}

void queue_clear(void)
{
    head = 0;
    tail = 0;
    waiting = 0;
    dropped = 0;
}

uint8_t count_lines(struct line_set lines)
{
    return (uint8_t)(bits_in[lines.f] + bits_in[lines.k] + bits_in[lines.a]);
}

void queue_put(const struct change *change)
{
    uint8_t transitions = count_lines(change->changed);
    if ((uint16_t)transitions + waiting > QUEUE_TRANSITIONS) {
        dropped += transitions;
        return;
    }
    waiting = (uint8_t)(waiting + transitions);
    ring[head++] = *change;
}

struct change *queue_first(void)
{
    return head == tail ? 0 : &ring[tail];
}

void queue_remove_first(void)
{
    tail++;
}

void queue_took(void)
{
    waiting--;
}

uint8_t queue_place(void)
{
    return head;
}

bool queue_reached(uint8_t place)
{
    return tail == place;
}

uint32_t queue_dropped(void)
{
    return dropped;
}
