#include "script.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "board.h"
#include "network.h"

#define QUANTUM_CYCLES (1000 * CYCLES_PER_US)

enum kind { CONTACT, FORCE, OPEN, CAPACITANCE, PULLUP, NOISE, RESET };

struct event {
    uint64_t cycle;
    enum kind kind;
    int line, other;
    double value, ohm;
};

static struct event *events;
static size_t event_count, event_room, event_next;

/* Keeps the list sorted; events of one time stay in the order given. */
static void schedule(struct event event)
{
    if (event_count == event_room) {
        event_room = event_room ? 2 * event_room : 256;
        events = realloc(events, event_room * sizeof *events);
        if (!events)
            abort();
    }
    size_t at = event_count++;
    while (at > event_next && events[at - 1].cycle > event.cycle) {
        events[at] = events[at - 1];
        at--;
    }
    events[at] = event;
}

static void happen(const struct event *event)
{
    uint64_t now = board_cycle();
    switch (event->kind) {
    case CONTACT:
        network_contact(event->line, event->other, event->ohm, now);
        break;
    case FORCE:
        network_force(event->line, event->value, event->ohm, now);
        break;
    case OPEN:
        network_open(event->line, event->value != 0, now);
        break;
    case CAPACITANCE:
        network_capacitance(event->line, event->value, now);
        break;
    case PULLUP:
        network_pullup(event->line, event->ohm, now);
        break;
    case NOISE:
        network_noise(event->value, (uint64_t)event->ohm);
        break;
    case RESET:
        board_reset((uint8_t)event->value);
        break;
    }
}

void script_run_to(uint64_t cycle)
{
    for (;;) {
        bool due = event_next < event_count && events[event_next].cycle <= cycle;
        board_run_to(due ? events[event_next].cycle : cycle);
        if (!due)
            return;
        happen(&events[event_next++]);
    }
}

static bool is_line(int line)
{
    return line >= 0 && line < LINES;
}

static int hex_byte(const char *text)
{
    unsigned value;
    return sscanf(text, "%2x", &value) == 1 ? (int)value : -1;
}

static void answer_ran(void)
{
    static struct sent_byte sent[65536];
    size_t count = 0;
    while (count < sizeof sent / sizeof *sent && board_sent(&sent[count]))
        count++;
    printf("ran %" PRIu64 " ", board_cycle());
    for (size_t i = 0; i < count; i++)
        printf("%02x", sent[i].byte);
    printf("%s", count ? " " : "- ");
    for (size_t i = 0; i < count; i++)
        printf("%s%" PRIu64, i ? "," : "", sent[i].cycle);
    printf("%s\n", count ? "" : "-");
    fflush(stdout);
}

/* Runs in steps that do not depend on how the host divides its time, until a byte has come. */
static void run_until_bytes(uint64_t end)
{
    while (board_cycle() < end) {
        uint64_t next = (board_cycle() / QUANTUM_CYCLES + 1) * QUANTUM_CYCLES;
        script_run_to(next < end ? next : end);
        if (board_has_sent())
            return;
    }
}

static void answer_measured(void)
{
    struct measured *m = board_measured();
    printf("{\"cycle\": %" PRIu64 ", \"low_pulses\": %" PRIu64 ", \"longest_low_us\": %.4f, \"longest_high_us\": %.4f, "
           "\"longest_scan_us\": %.4f, \"longest_unread_us\": %.4f, \"largest_sink_ma\": %.4f, \"problem_count\": %zu, \"problems\": [",
           board_cycle(), m->low_pulses, (double)m->longest_low_cycles / CYCLES_PER_US,
           (double)m->longest_high_cycles / CYCLES_PER_US, (double)m->longest_scan_cycles / CYCLES_PER_US,
           (double)m->longest_unread_cycles / CYCLES_PER_US, m->largest_sink_ma,
           board_problem_count());
    for (size_t i = 0; i < board_problem_count() && i < 32; i++)
        printf("%s\"%s\"", i ? ", " : "", board_problem_text(i));
    printf("]}\n");
    fflush(stdout);
    board_measure_anew();
}

static enum script_said obey_event(const char *word, const char *rest)
{
    double at, value = 0, ohm = 0;
    struct event event = {0};
    int line = 0, other = 0;
    bool right = false;
    if (!strcmp(word, "contact")) {
        right = sscanf(rest, "%lf %d %d %lf", &at, &line, &other, &ohm) == 4 && is_line(other) && line != other;
        event.kind = CONTACT;
    } else if (!strcmp(word, "force")) {
        right = sscanf(rest, "%lf %d %lf %lf", &at, &line, &value, &ohm) == 4;
        event.kind = FORCE;
    } else if (!strcmp(word, "open")) {
        right = sscanf(rest, "%lf %d %lf", &at, &line, &value) == 3;
        event.kind = OPEN;
    } else if (!strcmp(word, "capacitance")) {
        right = sscanf(rest, "%lf %d %lf", &at, &line, &value) == 3 && value > 0;
        event.kind = CAPACITANCE;
    } else if (!strcmp(word, "pullup")) {
        right = sscanf(rest, "%lf %d %lf", &at, &line, &ohm) == 3 && ohm > 0;
        event.kind = PULLUP;
    } else if (!strcmp(word, "noise")) {
        right = sscanf(rest, "%lf %lf %lf", &at, &value, &ohm) == 3 && value >= 0;
        event.kind = NOISE;
    } else if (!strcmp(word, "reset")) {
        right = sscanf(rest, "%lf %lf", &at, &value) == 2;
        event.kind = RESET;
    }
    if (!right || !is_line(line) || at < 0)
        return SCRIPT_WRONG;
    event.cycle = (uint64_t)(at * CYCLES_PER_US);
    event.line = line;
    event.other = other;
    event.value = value;
    event.ohm = ohm;
    schedule(event);
    return SCRIPT_DONE;
}

static enum script_said obey_send(const char *hex)
{
    for (; *hex && *hex != '\n'; hex += 2) {
        int byte = hex_byte(hex);
        if (byte < 0)
            return SCRIPT_WRONG;
        board_receive((uint8_t)byte);
    }
    return SCRIPT_DONE;
}

static enum script_said obey_poke(const char *rest)
{
    unsigned address;
    int used = 0;
    if (sscanf(rest, "%x %n", &address, &used) != 1)
        return SCRIPT_WRONG;
    for (const char *hex = rest + used; *hex && *hex != '\n'; hex += 2)
        board_poke((uint16_t)address++, (uint8_t)hex_byte(hex));
    return SCRIPT_DONE;
}

enum script_said script_obey(char *text)
{
    char word[16];
    int used = 0;
    if (sscanf(text, "%15s %n", word, &used) != 1)
        return SCRIPT_DONE;
    const char *rest = text + used;
    if (!strcmp(word, "quit"))
        return SCRIPT_QUIT;
    if (!strcmp(word, "send"))
        return obey_send(rest);
    if (!strcmp(word, "poke"))
        return obey_poke(rest);
    if (!strcmp(word, "measure")) {
        answer_measured();
        return SCRIPT_DONE;
    }
    if (!strcmp(word, "run") || !strcmp(word, "until")) {
        uint64_t end = board_cycle() + (uint64_t)(atof(rest) * CYCLES_PER_US);
        if (word[0] == 'r')
            script_run_to(end);
        else
            run_until_bytes(end);
        answer_ran();
        return SCRIPT_DONE;
    }
    return obey_event(word, rest);
}
