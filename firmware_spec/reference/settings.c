#include "settings.h"

#include <stdbool.h>
#include <string.h>

#include "board.h"
#include "check.h"
#include "clock.h"
#include "drives.h"
#include "outbox.h"
#include "protocol.h"
#include "report.h"
#include "report_watch.h"
#include "run.h"
#include "scan.h"
#include "uart.h"
#include "watch.h"

static uint8_t roles[BOARD_LINES];
static bool have_lines; /* SET_LINES came */
static bool lines_can_scan;
static bool have_scan;
static uint16_t period_us;

static uint32_t u32_at(const uint8_t *bytes)
{
    return (uint32_t)bytes[0] | (uint32_t)bytes[1] << 8 | (uint32_t)bytes[2] << 16 | (uint32_t)bytes[3] << 24;
}

void settings_lines(const struct command *command)
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

void settings_scan(const struct command *command)
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

/* Checks the lines; false where one is held, and that was said. */
static bool lines_are_free(const struct command *command, const uint8_t *used)
{
    static uint8_t statuses[BOARD_LINES];
    uint8_t held = check_lines(used, statuses);
    answer_line_check(clock_us(), statuses);
    if (held == NO_LINE)
        return true;
    run_stop(TW_RUN_STATE_REFUSED_DRIVE);
    answer_refused(command, TW_REFUSAL_HELD_LINE, held);
    return false;
}

static void start_matrix(const struct command *command)
{
    if (!have_lines || !have_scan || !lines_can_scan) {
        answer_refused(command, TW_REFUSAL_NOT_CONFIGURED, NO_DETAIL);
    } else if (lines_are_free(command, roles)) {
        run_start(period_us);
        run_heard();
        report_begin(period_us);
        answer_ack(command, clock_us());
    }
}

static void start_watch(const struct command *command)
{
    uint8_t used[BOARD_LINES];
    watch_roles(used);
    if (!watch_is_set()) {
        answer_refused(command, TW_REFUSAL_NOT_CONFIGURED, NO_DETAIL);
    } else if (lines_are_free(command, used)) {
        outbox_wait();
        run_start_watch();
        run_heard();
        report_begin(0u);
        report_watch_begin();
        answer_ack(command, clock_us());
    }
}

void settings_start(const struct command *command)
{
    uint8_t mode = command->payload[0];
    if (command->length != TW_START_FIXED_BYTES || mode > TW_SCAN_MODE_WATCH)
        answer_refused(command, TW_REFUSAL_BAD_PAYLOAD, NO_DETAIL);
    else if (run_scanning())
        answer_refused(command, TW_REFUSAL_RUNNING, NO_DETAIL);
    else if (mode == TW_SCAN_MODE_MATRIX)
        start_matrix(command);
    else
        start_watch(command);
}

/* The first line of these pairs that cannot be watched, or NO_LINE. */
static uint8_t unfit_line(const struct watch_pair *pairs, uint8_t count)
{
    for (uint8_t pair = 0; pair < count; pair++) {
        uint8_t sensed = pairs[pair].sensed;
        if (sensed >= WATCH_LINES)
            return sensed;
        if (pairs[pair].driven >= BOARD_LINES)
            return pairs[pair].driven;
        for (uint8_t other = 0; other < count; other++)
            if (sensed == pairs[other].driven || (other < pair && sensed == pairs[other].sensed))
                return sensed;
    }
    return NO_LINE;
}

void settings_watch(const struct command *command)
{
    const struct watch_pair *pairs = (const struct watch_pair *)(command->payload + TW_SET_WATCH_FIXED_BYTES);
    uint8_t pull_up = command->payload[0], bytes = command->payload[1];
    uint8_t count = bytes / sizeof *pairs;
    bool right_length = command->length >= TW_SET_WATCH_FIXED_BYTES && command->length == bytes + TW_SET_WATCH_FIXED_BYTES;
    if (!right_length || bytes % sizeof *pairs != 0u || count == 0u || count > WATCH_PAIRS
        || pull_up > TW_WATCH_PULL_UP_SWITCHED) {
        answer_refused(command, TW_REFUSAL_BAD_PAYLOAD, NO_DETAIL);
    } else if (unfit_line(pairs, count) != NO_LINE) {
        answer_refused(command, TW_REFUSAL_BAD_LINE, unfit_line(pairs, count));
    } else if (run_scanning()) {
        answer_refused(command, TW_REFUSAL_RUNNING, NO_DETAIL);
    } else {
        watch_set(pairs, count, pull_up == TW_WATCH_PULL_UP_SWITCHED);
        answer_ack(command, clock_us());
    }
}
