/* Two frame buffers: one on its way out, one being coded. A message is its header part, copied here, and a body that stays
 * where it is. The length stands first, so it is filled in when the body is known.
 */
#include "outbox.h"

#include "uart.h"

struct encoder *outbox_frame;
const uint8_t *outbox_source;
uint8_t outbox_source_left;

static enum { EMPTY, HEAD, BODY, CODED } stage;
static struct encoder frames[2];
static uint8_t frame_length;

static uint8_t head[OUTBOX_HEAD_BYTES];
uint8_t *outbox_head_next;
static uint16_t number;

static const uint8_t *body;
static uint8_t body_left;

bool outbox_free(void)
{
    return stage == EMPTY;
}

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
    outbox_frame = outbox_frame == &frames[0] ? &frames[1] : &frames[0];
    encoder_begin(outbox_frame);
    outbox_source = head;
    outbox_source_left = head_length;
    stage = HEAD;
}

void outbox_turn(void)
{
    if (outbox_source_left != 0u)
        return;
    if (stage == HEAD) {
        outbox_source = body;
        outbox_source_left = body_left;
        stage = BODY;
    } else if (stage == BODY) {
        frame_length = (uint8_t)encoder_end(outbox_frame);
        stage = CODED;
    }
    if (stage == CODED && !uart_sending()) {
        uart_send(outbox_frame->wire, frame_length);
        stage = EMPTY;
    }
}

void outbox_wait(void)
{
    while (!outbox_free()) {
        uart_pump();
        outbox_slice();
        outbox_turn();
    }
}
