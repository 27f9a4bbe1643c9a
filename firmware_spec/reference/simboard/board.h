/* The chip that runs the real image, and everything measured at its pins. */
#ifndef SIMBOARD_BOARD_H
#define SIMBOARD_BOARD_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct sent_byte {
    uint64_t cycle; /* end of its stop bit */
    uint8_t byte;
};

struct measured {
    uint64_t low_pulses;
    uint64_t longest_low_cycles;
    uint64_t longest_high_cycles;
    uint64_t longest_scan_cycles; /* from one low pulse of a line to its next */
    uint64_t longest_unread_cycles; /* from one reading of a port that can be watched to the next */
    double largest_sink_ma;
};

void board_start(const char *hex_path);
uint64_t board_cycle(void);
void board_run_to(uint64_t cycle);

/* cause: bits of MCUSR */
void board_reset(uint8_t cause);
void board_poke(uint16_t address, uint8_t value);

/* Bytes on their way to the board, back to back at the line's rate. */
void board_receive(uint8_t byte);
size_t board_receiving(void);

/* Bytes the board has sent; taken in order. */
bool board_sent(struct sent_byte *sent);
bool board_has_sent(void);

struct measured *board_measured(void);
void board_measure_anew(void);

/* Things that must never happen; the first ones in words. */
void board_problem(const char *what, int line);
size_t board_problem_count(void);
const char *board_problem_text(size_t index);

#endif
