#include "commands.h"

#include "answers.h"
#include "board.h"
#include "clock.h"
#include "frame.h"
#include "outbox.h"
#include "protocol.h"
#include "report.h"
#include "report_watch.h"
#include "run.h"
#include "settings.h"
#include "uart.h"

#define MANY_BYTES 32u /* a command of usual length never makes so many */
#define BYTES_AT_ONCE 8u

static struct decoder decoder;
bool commands_waiting;
static bool greeted;
static uint16_t bad_frames;

void commands_start(void)
{
    decoder_begin(&decoder);
}

__attribute__((noinline)) void commands_take_byte(void)
{
    enum decoded decoded = decoder_take(&decoder, uart_take());
    if (decoded == DECODED_FRAME)
        commands_waiting = true;
    else if (decoded == DECODED_BAD && bad_frames != UINT16_MAX)
        bad_frames++;
}

void commands_catch_up(void)
{
    if (uart_waiting() < MANY_BYTES)
        return;
    for (uint8_t left = BYTES_AT_ONCE; left != 0u && commands_want_byte(); left--) {
        uart_receive();
        commands_take_byte();
    }
}

static void hello(const struct command *command)
{
    uint8_t oldest = command->payload[0], newest = command->payload[1];
    if (command->length != TW_HELLO_FIXED_BYTES || oldest > newest) {
        answer_refused(command, TW_REFUSAL_BAD_PAYLOAD, NO_DETAIL);
    } else if (oldest > TW_PROTOCOL || newest < TW_PROTOCOL) {
        answer_refused(command, TW_REFUSAL_NO_PROTOCOL, NO_DETAIL);
    } else {
        if (!greeted)
            report_heartbeat_from_now();
        greeted = true;
        answer_identity(command);
    }
}

static void stop(void)
{
    bool watched = run_watching();
    run_stop(TW_RUN_STATE_IDLE);
    if (watched)
        report_watch_rest();
    else
        report_rest();
}

static void no_payload(const struct command *command)
{
    if (command->length != 0u) {
        answer_refused(command, TW_REFUSAL_BAD_PAYLOAD, NO_DETAIL);
        return;
    }
    if (command->type == TW_STOP)
        stop();
    answer_ack(command, clock_us());
}

void commands_obey(void)
{
    struct command command = {
        .type = decoder.data[1],
        .number = (uint16_t)(decoder.data[2] | decoder.data[3] << 8),
        .payload = decoder.data + TW_HEADER_BYTES,
        .length = (uint8_t)(decoder.length - TW_HEADER_BYTES - TW_CRC_BYTES),
    };
    run_heard();
    switch (command.type) {
    case TW_HELLO:
        hello(&command);
        break;
    case TW_SET_LINES:
        settings_lines(&command);
        break;
    case TW_SET_SCAN:
        settings_scan(&command);
        break;
    case TW_SET_WATCH:
        settings_watch(&command);
        break;
    case TW_START:
        settings_start(&command);
        break;
    case TW_STOP:
    case TW_ALIVE:
        no_payload(&command);
        break;
    default:
        answer_refused(&command, TW_REFUSAL_UNKNOWN_MESSAGE, command.type);
    }
    decoder_begin(&decoder);
    commands_waiting = false;
}

bool commands_greeted(void)
{
    return greeted;
}

uint16_t commands_bad_frames(void)
{
    return bad_frames;
}
