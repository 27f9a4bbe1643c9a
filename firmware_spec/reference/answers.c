#include "answers.h"

#include <string.h>

#include "board.h"
#include "outbox.h"
#include "protocol.h"
#include "queue.h"
#include "scan.h"

#define CLOCK_TICK_NS 1000u

static void send_text(const char *text)
{
    uint8_t length = (uint8_t)strlen(text);
    outbox_u8(length);
    outbox_send((const uint8_t *)text, length);
}

void answer_identity(const struct command *command)
{
    outbox_wait();
    outbox_begin(TW_IDENTITY);
    outbox_u16(command->number);
    outbox_u8(TW_PROTOCOL);
    outbox_u8(TW_PROTOCOL);
    outbox_u8(FIRMWARE_MAJOR);
    outbox_u8(FIRMWARE_MINOR);
    outbox_u8(FIRMWARE_PATCH);
    outbox_u8(BOARD_LINES);
    outbox_u32(TW_CAPABILITY_LINE_CHECK | TW_CAPABILITY_WATCH_LINE);
    outbox_u32(CLOCK_TICK_NS);
    outbox_u32(SETTLE_DEFAULT_NS);
    outbox_u32(SETTLE_MAX_NS);
    outbox_u16(QUEUE_TRANSITIONS);
    outbox_u8(TW_MIN_COMMAND_BYTES);
    outbox_u8(BOARD_LINE_BYTES);
    outbox_u16((1ul << BOARD_CHECKED_LINES) - 1u);
    outbox_u8(0);
    outbox_u8(0); /* no unique id: the chip has no serial number that firmware can read */
    send_text(BOARD_NAME);
}

void answer_ack(const struct command *command, uint32_t clock)
{
    outbox_wait();
    outbox_begin(TW_ACK);
    outbox_u16(command->number);
    outbox_u8(command->type);
    outbox_u32(clock);
    outbox_send(0, 0);
}

static const char *reason(uint8_t code)
{
    switch (code) {
    case TW_REFUSAL_UNKNOWN_MESSAGE:
        return "unknown message type";
    case TW_REFUSAL_BAD_PAYLOAD:
        return "payload of wrong length or out of range";
    case TW_REFUSAL_BAD_LINE:
        return "no such line or role";
    case TW_REFUSAL_RUNNING:
        return "scanning; send STOP first";
    case TW_REFUSAL_NOT_CONFIGURED:
        return "settings first; a line to drive, another to sense";
    case TW_REFUSAL_HELD_LINE:
        return "a line is held from outside; nothing was driven";
    default:
        return "no protocol version in common";
    }
}

void answer_refused(const struct command *command, uint8_t code, uint8_t detail)
{
    outbox_wait();
    outbox_begin(TW_REFUSED);
    outbox_u16(command->number);
    outbox_u8(command->type);
    outbox_u8(code);
    outbox_u8(detail);
    send_text(reason(code));
}

void answer_line_check(uint32_t clock, const uint8_t *statuses)
{
    outbox_wait();
    outbox_begin(TW_LINE_CHECK);
    outbox_u32(clock);
    outbox_u8(BOARD_LINES);
    outbox_send(statuses, BOARD_LINES);
}
