/* COBS and CRC-16 x-25 (polynomial x^16 + x^12 + x^5 + 1, low bit first, start FFFF, inverted at the end).
 *
 * A frame holds at most 254 decoded bytes, so one COBS code more than covers it and every place fits in eight bits.
 * The checksum of a good frame, its own two bytes included, leaves the register at the residue F0B8.
 */
#include "frame.h"

#define CRC_POLYNOMIAL 0x8408u /* 1021 with its bits in reverse */
#define CRC_BEGIN 0xFFFFu

uint16_t frame_crc_table[256];
uint8_t *frame_next;
uint8_t *frame_code;
uint16_t frame_crc;

void frame_start(void)
{
    for (uint16_t byte = 0; byte < 256u; byte++) {
        uint16_t crc = byte;
        for (uint8_t bit = 0; bit < 8u; bit++)
            crc = (crc & 1u) ? (uint16_t)((crc >> 1) ^ CRC_POLYNOMIAL) : (uint16_t)(crc >> 1);
        frame_crc_table[byte] = crc;
    }
}

void frame_begin(uint8_t *wire)
{
    frame_code = wire;
    frame_next = wire + 1;
    frame_crc = CRC_BEGIN;
}

void frame_put_block(const uint8_t *bytes, uint8_t count)
{
    uint16_t crc = frame_crc;
    uint8_t *next = frame_next, *code = frame_code;
    for (; count != 0u; count--) {
        uint8_t byte = *bytes++;
        crc = frame_crc_add(crc, byte);
        *next = byte;
        if (byte == 0u) {
            *code = (uint8_t)(next - code);
            code = next;
        }
        next++;
    }
    frame_crc = crc;
    frame_next = next;
    frame_code = code;
}

uint8_t *frame_end(void)
{
    uint16_t crc = (uint16_t)~frame_crc;
    frame_stuff((uint8_t)crc);
    frame_stuff((uint8_t)(crc >> 8));
    *frame_code = (uint8_t)(frame_next - frame_code);
    *frame_next++ = TW_DELIMITER;
    return frame_next;
}

void decoder_begin(struct decoder *decoder)
{
    decoder->length = 0;
    decoder->left = 0;
    decoder->started = false;
    decoder->zero_due = false;
    decoder->broken = false;
    decoder->crc = CRC_BEGIN;
}

static inline void keep(struct decoder *decoder, uint8_t byte)
{
    if (decoder->length == DECODER_BYTES) {
        decoder->broken = true;
        return;
    }
    decoder->data[decoder->length++] = byte;
    decoder->crc = frame_crc_add(decoder->crc, byte);
}

static bool whole(const struct decoder *decoder)
{
    return !decoder->broken && decoder->left == 0u && decoder->length >= FRAME_LEAST
        && decoder->data[0] == decoder->length && decoder->crc == TW_CRC_RESIDUE;
}

enum decoded decoder_take(struct decoder *decoder, uint8_t byte)
{
    if (byte == TW_DELIMITER) {
        if (!decoder->started)
            return DECODED_NOTHING;
        if (whole(decoder)) {
            decoder->started = false; /* the owner begins anew when it is done with the frame */
            return DECODED_FRAME;
        }
        decoder_begin(decoder);
        return DECODED_BAD;
    }
    if (decoder->left == 0u) {
        if (decoder->started && decoder->zero_due)
            keep(decoder, 0u);
        decoder->started = true;
        decoder->left = (uint8_t)(byte - 1u);
        decoder->zero_due = byte != 255u;
    } else {
        decoder->left--;
        keep(decoder, byte);
    }
    return DECODED_NOTHING;
}
