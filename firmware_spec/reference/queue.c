/* A ring. At most 96 transitions are held and each change has at least one, so the ring never fills up. The weight of a
 * change is the number of lines low before and after, which is quicker to know than the number that changed.
 */
#include "queue.h"

struct change queue_ring[QUEUE_TRANSITIONS];
struct change *queue_free = queue_ring;
struct change *queue_oldest = queue_ring;
uint8_t queue_changes;
uint8_t queue_weight;
uint32_t queue_dropped;
uint8_t bits_in[256];

void queue_start(void)
{
    for (uint16_t byte = 1; byte < 256u; byte++)
        bits_in[byte] = (uint8_t)(bits_in[byte >> 1] + (byte & 1u));
}

void queue_clear(void)
{
    queue_oldest = queue_free;
    queue_changes = 0;
    queue_weight = 0;
    queue_dropped = 0;
}
