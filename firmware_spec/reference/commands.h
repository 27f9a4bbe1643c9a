/* Commands from the host: every good frame is answered, every other one is counted. */
#ifndef TAILWISE_COMMANDS_H
#define TAILWISE_COMMANDS_H

#include <stdbool.h>
#include <stdint.h>

void commands_start(void);

/* Takes one received byte, if any, and decodes it; false where there was nothing to do. A few microseconds at most. */
bool commands_slice(void);

/* True where a whole command waits. */
bool commands_waiting(void);

/* Carries out the waiting command and answers it; needs outbox_free(). */
void commands_obey(void);

/* True once a good HELLO has come. */
bool commands_greeted(void);

/* Received frames that failed the check, since reset; stays at 65535. */
uint16_t commands_bad_frames(void);

#endif
