/* Commands from the host: every good frame is answered, every other one is counted. */
#ifndef TAILWISE_COMMANDS_H
#define TAILWISE_COMMANDS_H

#include <stdbool.h>
#include <stdint.h>

#include "uart.h"

void commands_start(void);

extern bool commands_waiting; /* a whole command waits */

/* True where a byte has come and may be taken. */
static inline bool commands_want_byte(void)
{
    return uart_has_received() && !commands_waiting;
}

/* Where bytes come faster than the scan's pauses can take them: decodes some more. */
void commands_catch_up(void);

/* Decodes the byte; a few microseconds. */
void commands_take_byte(void);

/* Carries out the waiting command and answers it; needs outbox_free(). */
void commands_obey(void);

/* True once a good HELLO has come. */
bool commands_greeted(void);

/* Received frames that failed the check, since reset; stays at 65535. */
uint16_t commands_bad_frames(void);

#endif
