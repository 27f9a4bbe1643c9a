#include "commands.h"

#include <string.h>

#include "answers.h"
#include "board.h"
#include "check.h"
#include "clock.h"
#include "drives.h"
#include "frame.h"
#include "outbox.h"
#include "protocol.h"
#include "report.h"
#include "run.h"
#include "scan.h"
#include "uart.h"

#define MANY_BYTES 32u /* a command of usual length never makes so many */
#define BYTES_AT_ONCE 8u

static struct decoder decoder;
bool commands_waiting;
static bool greeted;
static uint16_t bad_frames;

static uint8_t roles[BOARD_LINES];
static bool have_lines; /* SET_LINES came */
static bool lines_can_scan;
static bool have_scan;
static uint16_t period_us;

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

static uint32_t u32_at(const uint8_t *bytes)
{
    return (uint32_t)bytes[0] | (uint32_t)bytes[1] << 8 | (uint32_t)bytes[2] << 16 | (uint32_t)bytes[3] << 24;
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

static void set_lines(const struct command *command)
{
    uint8_t count = command->payload[0];
    const uint8_t *given = command->payload + 1;
    if (command->length == 0u || command->length != count + 1u) {
        answer_refused(command, TW_REFUSAL_BAD_PAYLOAD, NO_DETAIL);
        return;
    }
    for (uint8_t line = 0; line < count; line++) {
        uart_pump();
        if (given[line] > TW_LINE_ROLE_BOTH || (line >= BOARD_LINES && given[line] != TW_LINE_ROLE_UNUSED)) {
            answer_refused(command, TW_REFUSAL_BAD_LINE, line);
            return;
        }
    }
    if (run_scanning()) {
        answer_refused(command, TW_REFUSAL_RUNNING, NO_DETAIL);
        return;
    }
    memset(roles, TW_LINE_ROLE_UNUSED, sizeof roles);
    memcpy(roles, given, count < BOARD_LINES ? count : BOARD_LINES);
    lines_can_scan = drives_set(roles);
    have_lines = true;
    answer_ack(command, clock_us());
}

static void set_scan(const struct command *command)
{
    uint32_t wanted_period = u32_at(command->payload), settle_ns = u32_at(command->payload + 4);
    if (command->length != TW_SET_SCAN_FIXED_BYTES || wanted_period > TW_SCAN_PERIOD_MAX_US || settle_ns > SETTLE_MAX_NS) {
        answer_refused(command, TW_REFUSAL_BAD_PAYLOAD, NO_DETAIL);
    } else if (run_scanning()) {
        answer_refused(command, TW_REFUSAL_RUNNING, NO_DETAIL);
    } else {
        period_us = (uint16_t)wanted_period;
        scan_set_settle(settle_ns != 0u ? settle_ns : SETTLE_DEFAULT_NS);
        have_scan = true;
        answer_ack(command, clock_us());
    }
}

static void start(const struct command *command)
{
    static uint8_t statuses[BOARD_LINES];
    if (command->length != TW_START_FIXED_BYTES || command->payload[0] != TW_SCAN_MODE_MATRIX) {
        answer_refused(command, TW_REFUSAL_BAD_PAYLOAD, NO_DETAIL);
    } else if (run_scanning()) {
        answer_refused(command, TW_REFUSAL_RUNNING, NO_DETAIL);
    } else if (!have_lines || !have_scan || !lines_can_scan) {
        answer_refused(command, TW_REFUSAL_NOT_CONFIGURED, NO_DETAIL);
    } else {
        uint8_t held = check_lines(roles, statuses);
        answer_line_check(clock_us(), statuses);
        if (held != NO_LINE) {
            run_stop(TW_RUN_STATE_REFUSED_DRIVE);
            answer_refused(command, TW_REFUSAL_HELD_LINE, held);
            return;
        }
        run_start(period_us);
        run_heard();
        report_begin(period_us);
        answer_ack(command, clock_us());
    }
}

static void no_payload(const struct command *command)
{
    if (command->length != 0u) {
        answer_refused(command, TW_REFUSAL_BAD_PAYLOAD, NO_DETAIL);
        return;
    }
    if (command->type == TW_STOP) {
        run_stop(TW_RUN_STATE_IDLE);
        report_rest();
    }
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
        set_lines(&command);
        break;
    case TW_SET_SCAN:
        set_scan(&command);
        break;
    case TW_START:
        start(&command);
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
