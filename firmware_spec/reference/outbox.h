/* Outgoing messages: numbered, coded a byte at a time while lines settle, handed to the serial port as whole frames. */
#ifndef TAILWISE_OUTBOX_H
#define TAILWISE_OUTBOX_H

#include <stdbool.h>
#include <stdint.h>

#include "uart.h"

#define OUTBOX_HEAD_BYTES 64u
#define OUTBOX_FRAME_BYTES 128u /* the longest message, REFUSED or STATE, takes 89 on the wire */

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

enum { OUTBOX_EMPTY, OUTBOX_HEAD, OUTBOX_BODY, OUTBOX_CODED };
extern uint8_t outbox_stage;

/* True where a message is on its way to the serial port. */
static inline bool outbox_wants_slice(void)
{
    return outbox_stage != OUTBOX_EMPTY;
}

/* Takes that message a byte further, about 4 us. */
void outbox_slice(void);

/* True where that is coded and has to wait for the one before. */
static inline bool outbox_waits(void)
{
    return outbox_stage == OUTBOX_CODED && uart_sending();
}

/* A few bytes further, where no line waits to be read. */
void outbox_block(void);

/* True where a new message may begin. */
static inline bool outbox_free(void)
{
    return outbox_stage == OUTBOX_EMPTY;
}

/* Waits until a new message may begin. */
void outbox_wait(void);

#endif
