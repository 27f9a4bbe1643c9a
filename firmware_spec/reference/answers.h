/* What the board says in answer to a command. Each waits until it may begin. */
#ifndef TAILWISE_ANSWERS_H
#define TAILWISE_ANSWERS_H

#include <stdint.h>

#define NO_DETAIL 255u

struct command {
    uint8_t type;
    uint16_t number;
    const uint8_t *payload;
    uint8_t length; /* of the payload */
};

void answer_identity(const struct command *command);
void answer_ack(const struct command *command, uint32_t clock);
void answer_refused(const struct command *command, uint8_t code, uint8_t detail);
/* statuses: one for each line; must stay as they are until outbox_free(). */
void answer_line_check(uint32_t clock, const uint8_t *statuses);

#endif
