/* Theory. Nothing is driven. Held high: a floating line may still carry the charge of the last scan. Each conversion of the
 * 0 V channel empties the converter's own 14 pF (data sheet), each conversion of the line then fills them from the line, so a
 * line of 150 pF keeps 0.915 of its voltage a round and 500 pF keep 0.973: 14 or 44 rounds to 0.3 Vcc. A line still above
 * 0.3 Vcc after 64 rounds is fed from outside (7 Mohm or less to a supply can do that). Lines joined by a contact share
 * their charge, and each is emptied in every round. Held low: with all pull-ups of 20 to 50 kohm on, a line still below
 * 0.6 Vcc after 1 ms is held (75 kohm or less to 0 V can do that).
 */
#include "check.h"

#include <avr/io.h>
#include <stdbool.h>

#include "clock.h"
#include "lines.h"
#include "protocol.h"
#include "uart.h"

#define ROUNDS 64u
#define HIGH_LEVEL 77u   /* 0.3 Vcc of 256 */
#define LOW_LEVEL 154u   /* 0.6 Vcc of 256 */
#define RISE_US 1000u
#define CHANNEL_0V 0x1Fu /* MUX4:0; MUX5 clear */

static uint8_t convert(uint8_t mux, uint8_t mux5)
{
    ADMUX = (uint8_t)(_BV(REFS0) | _BV(ADLAR) | mux); /* against the supply, eight bits */
    ADCSRB = mux5;
    ADCSRA |= _BV(ADSC);
    while (ADCSRA & _BV(ADSC))
        uart_pump();
    return ADCH;
}

static uint8_t convert_line(uint8_t line)
{
    return convert(line & 7u, line < 8u ? 0u : _BV(MUX5));
}

static bool asked(const uint8_t *statuses, uint8_t line)
{
    return statuses[line] == TW_LINE_STATUS_HELD_HIGH;
}

/* Every line to be checked counts as held high until it was seen low. */
static void find_held_high(uint8_t *statuses)
{
    lines_safe();
    for (uint8_t round = 0; round < ROUNDS; round++) {
        for (uint8_t line = 0; line < BOARD_CHECKED_LINES; line++) {
            if (!asked(statuses, line))
                continue;
            convert(CHANNEL_0V, 0u);
            if (convert_line(line) < HIGH_LEVEL)
                statuses[line] = TW_LINE_STATUS_CLEAR;
        }
        clock_us();
    }
}

static void find_held_low(const struct line_set used, uint8_t *statuses)
{
    uint32_t began = clock_us();
    lines_pull(used, true);
    while ((uint32_t)(clock_us() - began) < RISE_US)
        uart_pump();
    for (uint8_t line = 0; line < BOARD_CHECKED_LINES; line++) {
        if (statuses[line] != TW_LINE_STATUS_CLEAR)
            continue;
        convert_line(line); /* fills the converter's own capacitor */
        if (convert_line(line) < LOW_LEVEL)
            statuses[line] = TW_LINE_STATUS_HELD_LOW;
    }
    lines_safe();
}

uint8_t check_lines(const uint8_t *roles, uint8_t *statuses)
{
    uint8_t sets[BOARD_LINE_BYTES] = {0, 0, 0};
    for (uint8_t line = 0; line < BOARD_LINES; line++) {
        if (roles[line] == TW_LINE_ROLE_UNUSED) {
            statuses[line] = TW_LINE_STATUS_NOT_USED;
            continue;
        }
        sets[line >> 3] |= (uint8_t)(1u << (line & 7u));
        statuses[line] = line < BOARD_CHECKED_LINES ? TW_LINE_STATUS_HELD_HIGH : TW_LINE_STATUS_NOT_CHECKED;
    }
    ADCSRA = _BV(ADEN) | _BV(ADPS2) | _BV(ADPS0); /* 500 kHz: 26 us a conversion, enough for eight bits */
    find_held_high(statuses);
    find_held_low((struct line_set){sets[0], sets[1], sets[2]}, statuses);
    ADCSRA = 0;
    for (uint8_t line = 0; line < BOARD_LINES; line++)
        if (statuses[line] == TW_LINE_STATUS_HELD_HIGH || statuses[line] == TW_LINE_STATUS_HELD_LOW)
            return line;
    return NO_LINE;
}
