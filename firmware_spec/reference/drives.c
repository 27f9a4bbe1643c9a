#include "drives.h"

#include "protocol.h"
#include "uart.h"

struct drive drives[BOARD_LINES];
struct drive *drives_end = drives;
struct line_set drives_used;
struct line_set drives_driven;

static struct line_set sensed;
static bool some_only_sensed;

static struct line_set one_line(uint8_t line)
{
    uint8_t bit = (uint8_t)(1u << (line & 7u));
    struct line_set set = {0, 0, 0};
    if (line < 8u)
        set.f = bit;
    else if (line < 16u)
        set.k = bit;
    else
        set.a = bit;
    return set;
}

static void add(struct line_set *set, struct line_set more)
{
    set->f |= more.f;
    set->k |= more.k;
    set->a |= more.a;
}

static struct line_set without(struct line_set set, struct line_set less)
{
    return (struct line_set){set.f & (uint8_t)~less.f, set.k & (uint8_t)~less.k, set.a & (uint8_t)~less.a};
}

static void prepare_drives(void)
{
    for (struct drive *drive = drives; drive != drives_end; drive++) {
        uart_pump();
        drive->pulled = without(drives_used, drive->mask);
        drive->sensed = without(sensed, drive->mask);
    }
}

bool drives_set(const uint8_t *roles)
{
    uint8_t sensed_count = 0;
    drives_used = drives_driven = sensed = (struct line_set){0, 0, 0};
    drives_end = drives;
    uint8_t drive_count = 0;
    some_only_sensed = false;
    for (uint8_t line = 0; line < BOARD_LINES; line++) {
        uart_pump();
        struct line_set mask = one_line(line);
        uint8_t role = roles[line];
        if (role != TW_LINE_ROLE_UNUSED)
            add(&drives_used, mask);
        if (role == TW_LINE_ROLE_SENSED)
            some_only_sensed = true;
        if (role == TW_LINE_ROLE_SENSED || role == TW_LINE_ROLE_BOTH) {
            add(&sensed, mask);
            sensed_count++;
        }
        if (role == TW_LINE_ROLE_DRIVEN || role == TW_LINE_ROLE_BOTH) {
            add(&drives_driven, mask);
            drives_end->mask = mask;
            drives_end->line = line;
            drive_count++;
            drives_end++;
        }
    }
    prepare_drives();
    if (drive_count == 0u || sensed_count == 0u)
        return false;
    return drive_count > 1u || sensed_count > 1u || roles[drives[0].line] != TW_LINE_ROLE_BOTH;
}

void drives_begin(uint16_t step_cycles)
{
    uint16_t pace = 0;
    for (struct drive *drive = drives; drive != drives_end; drive++) {
        uart_receive();
        pace = (uint16_t)(pace + step_cycles);
        drive->pace = pace;
        drive->low = (struct line_set){0, 0, 0};
        drive->care = some_only_sensed ? SLOW_RISE : 0u;
    }
}
