/* Two frame buffers: one on its way out, one being coded. A message is its header part, copied here, and a body that stays
 * where it is. The length stands first, so it is filled in when the body is known.
 */
#include "outbox.h"

#include "frame.h"
#include "uart.h"

#define HEAD_BYTES 96u

static enum { EMPTY, CODING, CODED } stage;
static struct encoder frames[2];
static struct encoder *frame = &frames[0];
static uint16_t frame_length;

static uint8_t head[HEAD_BYTES];
static uint8_t head_length;
static uint16_t number;

static const uint8_t *source;
static uint8_t source_left;
static const uint8_t *body;
static uint8_t body_left;

bool outbox_free(void)
{
    return stage == EMPTY;
}

bool outbox_idle(void)
{
    return stage == EMPTY && !uart_sending();
}

void outbox_u8(uint8_t value)
{
    if (head_length < HEAD_BYTES)
        head[head_length++] = value;
}

void outbox_u16(uint16_t value)
{
    outbox_u8((uint8_t)value);
    outbox_u8((uint8_t)(value >> 8));
}

void outbox_u32(uint32_t value)
{
    outbox_u16((uint16_t)value);
    outbox_u16((uint16_t)(value >> 16));
}

void outbox_begin(uint8_t type)
{
    head_length = 0;
    outbox_u8(0);
    outbox_u8(type);
    outbox_u16(number++);
}

void outbox_send(const uint8_t *bytes, uint8_t length)
{
    head[0] = (uint8_t)(head_length + length + TW_CRC_BYTES);
    source = head;
    source_left = head_length;
    body = bytes;
    body_left = length;
    encoder_begin(frame);
    stage = CODING;
}

static void end_frame(void)
{
    frame_length = encoder_end(frame);
    stage = CODED;
}

static void hand_over(void)
{
    uart_send(frame->wire, frame_length);
    frame = frame == &frames[0] ? &frames[1] : &frames[0];
    stage = EMPTY;
}

void outbox_slice(void)
{
    if (stage == CODING) {
        if (source_left != 0u) {
            source_left--;
            encoder_put(frame, *source++);
        } else if (body_left != 0u) {
            source = body;
            source_left = body_left;
            body_left = 0;
        } else {
            end_frame();
        }
    } else if (stage == CODED && !uart_sending()) {
        hand_over();
    }
}

void outbox_wait(void)
{
    while (!outbox_free())
        outbox_slice();
}
