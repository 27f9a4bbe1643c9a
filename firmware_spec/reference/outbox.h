/* Outgoing messages: numbered, coded a byte at a time between other work, handed to the serial port as whole frames. */
#ifndef TAILWISE_OUTBOX_H
#define TAILWISE_OUTBOX_H

#include <stdbool.h>
#include <stdint.h>

/* True where a new message may begin. */
bool outbox_free(void);

/* True where nothing waits: the next message would go out at once. */
bool outbox_idle(void);

void outbox_begin(uint8_t type);
void outbox_u8(uint8_t value);
void outbox_u16(uint16_t value);
void outbox_u32(uint32_t value);

/* Ends the message with `length` more bytes, which must stay as they are until outbox_free(). */
void outbox_send(const uint8_t *body, uint8_t length);

/* One byte's worth of coding; a few microseconds at most. */
void outbox_slice(void);

/* Waits until a new message may begin. */
void outbox_wait(void);

#endif
