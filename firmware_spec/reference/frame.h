/* Frames on the wire: COBS(length | type | number | payload | crc) 00, coded and decoded one byte at a time. */
#ifndef TAILWISE_FRAME_H
#define TAILWISE_FRAME_H

#include <stdbool.h>
#include <stdint.h>

#include "protocol.h"

#define FRAME_MAX_WIRE (TW_MAX_DECODED_BYTES + 2u)
#define FRAME_LEAST (TW_HEADER_BYTES + TW_CRC_BYTES)

/* Fills the checksum's table; once, before anything else here. */
void frame_start(void);

extern uint16_t frame_crc_table[256];

static inline uint16_t frame_crc_add(uint16_t crc, uint8_t byte)
{
    return (uint16_t)((crc >> 8) ^ frame_crc_table[(uint8_t)((uint8_t)crc ^ byte)]);
}

/* The one frame being coded. Plain variables: this is where the processor's time goes. */
extern uint8_t *frame_next; /* next free place */
extern uint8_t *frame_code; /* place of the open COBS code */
extern uint16_t frame_crc;

/* Begins a frame in `wire`, which has room for FRAME_MAX_WIRE bytes or as many as will be needed. */
void frame_begin(uint8_t *wire);

/* One byte into COBS, past the checksum. */
static inline void frame_stuff(uint8_t byte)
{
    uint8_t *next = frame_next;
    *next = byte;
    if (byte == 0u) {
        *frame_code = (uint8_t)(next - frame_code);
        frame_code = next;
    }
    frame_next = next + 1;
}

static inline void frame_put(uint8_t byte)
{
    frame_crc = frame_crc_add(frame_crc, byte);
    frame_stuff(byte);
}

/* Several bytes at once, in a third of the time. */
void frame_put_block(const uint8_t *bytes, uint8_t count);

/* Adds the checksum and the closing 00; gives the place after it. */
uint8_t *frame_end(void);

enum decoded {
    DECODED_NOTHING,
    DECODED_FRAME, /* good: it is in `data` until the next byte */
    DECODED_BAD,
};

/* The longest frame that is taken; a longer one counts as bad. */
#ifndef DECODER_BYTES
#define DECODER_BYTES TW_MIN_COMMAND_BYTES
#endif

struct decoder {
    uint8_t data[DECODER_BYTES];
    uint8_t length; /* decoded bytes so far; of a good frame all of them, checksum included */
    uint8_t left;   /* bytes to come in the open COBS block */
    bool started;
    bool zero_due; /* the open block stands for a 00 at its end, unless the frame ends there */
    bool broken;
    uint16_t crc;
};

void decoder_begin(struct decoder *decoder);
enum decoded decoder_take(struct decoder *decoder, uint8_t byte);

#endif
