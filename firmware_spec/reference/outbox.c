/* Two frame buffers: one on its way out, one being coded. A message is its header part, copied here, and a body that stays
 * where it is. The length stands first, so it is filled in when the body is known.
 */
#include "outbox.h"

#include "frame.h"
#include "uart.h"

#define BLOCK_BYTES 4u /* while they are coded, the port sends about one */

uint8_t outbox_stage = OUTBOX_EMPTY;
static uint8_t frames[2][OUTBOX_FRAME_BYTES] __attribute__((aligned(256))); /* within a page */
static uint8_t *frame = frames[0];
static uint8_t frame_length;

static uint8_t head[OUTBOX_HEAD_BYTES];
uint8_t *outbox_head_next;
static uint16_t number;

static const uint8_t *source;
static uint8_t source_left;
static const uint8_t *body;
static uint8_t body_left;

void outbox_begin(uint8_t type)
{
    head[1] = type;
    head[2] = (uint8_t)number;
    head[3] = (uint8_t)(number >> 8);
    outbox_head_next = head + TW_HEADER_BYTES;
    number++;
}

void outbox_send(const uint8_t *bytes, uint8_t length)
{
    uint8_t head_length = (uint8_t)(outbox_head_next - head);
    head[0] = (uint8_t)(head_length + length + TW_CRC_BYTES);
    body = bytes;
    body_left = length;
    frame = frame == frames[0] ? frames[1] : frames[0];
    frame_begin(frame);
    source = head;
    source_left = head_length;
    outbox_stage = OUTBOX_HEAD;
}

static __attribute__((noinline)) void next_stage(void)
{
    if (outbox_stage == OUTBOX_HEAD) {
        source = body;
        source_left = body_left;
        outbox_stage = OUTBOX_BODY;
    } else if (outbox_stage == OUTBOX_BODY) {
        frame_length = (uint8_t)(frame_end() - frame);
        outbox_stage = OUTBOX_CODED;
    } else if (!uart_sending()) {
        uart_send(frame, frame_length);
        outbox_stage = OUTBOX_EMPTY;
    }
}

__attribute__((noinline)) void outbox_slice(void)
{
    if (source_left == 0u) {
        next_stage();
        return;
    }
    source_left--;
    frame_put(*source++);
}

void outbox_block(void)
{
    if (source_left == 0u) {
        next_stage();
        return;
    }
    uint8_t count = source_left < BLOCK_BYTES ? source_left : BLOCK_BYTES;
    frame_put_block(source, count);
    source += count;
    source_left = (uint8_t)(source_left - count);
}

void outbox_wait(void)
{
    while (outbox_wants_slice()) {
        uart_pump();
        outbox_slice();
    }
}
