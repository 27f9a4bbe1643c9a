/* Frames on the wire: COBS(length | type | number | payload | crc) 00, coded and decoded one byte at a time. */
#ifndef TAILWISE_FRAME_H
#define TAILWISE_FRAME_H

#include <stdbool.h>
#include <stdint.h>

#include "protocol.h"

#define FRAME_MAX_WIRE (TW_MAX_DECODED_BYTES + 2u)
#define FRAME_LEAST (TW_HEADER_BYTES + TW_CRC_BYTES)

struct encoder {
    uint8_t at;      /* next free place */
    uint8_t code_at; /* place of the open COBS code */
    uint16_t crc;
    uint8_t wire[FRAME_MAX_WIRE];
};

/* Fills the checksum's table; once, before anything else here. */
void frame_start(void);

void encoder_begin(struct encoder *encoder);

extern uint16_t crc_table[256];

static inline uint16_t crc_add(uint16_t crc, uint8_t byte)
{
    return (uint16_t)((crc >> 8) ^ crc_table[(uint8_t)((uint8_t)crc ^ byte)]);
}

/* One byte into COBS, past the checksum. */
static inline void encoder_stuff(struct encoder *encoder, uint8_t byte)
{
    uint8_t at = encoder->at;
    if (byte == 0u) {
        encoder->wire[encoder->code_at] = (uint8_t)(at - encoder->code_at);
        encoder->code_at = at;
    } else {
        encoder->wire[at] = byte;
    }
    encoder->at = (uint8_t)(at + 1u);
}

static inline void encoder_put(struct encoder *encoder, uint8_t byte)
{
    encoder->crc = crc_add(encoder->crc, byte);
    encoder_stuff(encoder, byte);
}

/* Adds the checksum and the closing 00; gives the number of bytes in `wire`. */
uint16_t encoder_end(struct encoder *encoder);

enum decoded {
    DECODED_NOTHING,
    DECODED_FRAME, /* good: length, type, number and what fits of the payload are in `data` until the next byte */
    DECODED_BAD,
};

struct decoder {
    uint8_t data[TW_MIN_COMMAND_BYTES]; /* a longer frame is checked whole but kept only as far as it fits */
    uint8_t length;                     /* decoded bytes so far; of a good frame all of them, checksum included */
    uint8_t left;                       /* bytes to come in the open COBS block */
    bool started;
    bool zero_due; /* the open block stands for a 00 at its end, unless the frame ends there */
    bool broken;
    uint16_t crc;
};

void decoder_begin(struct decoder *decoder);
enum decoded decoder_take(struct decoder *decoder, uint8_t byte);

#endif
