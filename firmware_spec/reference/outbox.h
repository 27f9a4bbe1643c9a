/* Outgoing messages: numbered, coded a byte at a time while lines settle, handed to the serial port as whole frames. */
#ifndef TAILWISE_OUTBOX_H
#define TAILWISE_OUTBOX_H

#include <stdbool.h>
#include <stdint.h>

#include "frame.h"

#define OUTBOX_HEAD_BYTES 64u

extern uint8_t *outbox_head_next;

/* Begins a message; its fixed fields follow, at most OUTBOX_HEAD_BYTES with the header. */
void outbox_begin(uint8_t type);

static inline void outbox_u8(uint8_t value)
{
    *outbox_head_next++ = value;
}

static inline void outbox_u16(uint16_t value)
{
    uint8_t *next = outbox_head_next;
    *next++ = (uint8_t)value;
    *next++ = (uint8_t)(value >> 8);
    outbox_head_next = next;
}

static inline void outbox_u32(uint32_t value)
{
    outbox_u16((uint16_t)value);
    outbox_u16((uint16_t)(value >> 16));
}

/* Ends the message with `length` more bytes, which must stay as they are until outbox_free(). */
void outbox_send(const uint8_t *body, uint8_t length);

/* Takes the message a step further where it has been coded so far; once a turn of the main loop. */
void outbox_turn(void);

/* True where a new message may begin. */
bool outbox_free(void);

/* Waits until a new message may begin. */
void outbox_wait(void);

extern struct encoder *outbox_frame;
extern const uint8_t *outbox_source;
extern uint8_t outbox_source_left;

/* Codes one byte; about 4 us. */
static inline void outbox_slice(void)
{
    if (outbox_source_left != 0u) {
        outbox_source_left--;
        encoder_put(outbox_frame, *outbox_source++);
    }
}

#endif
