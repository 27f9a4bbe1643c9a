/* What the board is doing: idle or scanning, and when it stops by itself. */
#ifndef TAILWISE_RUN_H
#define TAILWISE_RUN_H

#include <stdbool.h>
#include <stdint.h>

bool run_scanning(void); /* the matrix, or watching */
bool run_watching(void);
uint8_t run_state(void);

/* Starts scanning, a scan every period_us (up to 65535) or as fast as it goes. */
void run_start(uint16_t period_us);

/* Starts watching. */
void run_start_watch(void);

/* All lines to high impedance; `state` says why (run_state of the protocol). */
void run_stop(uint8_t state);

/* A good frame came from the host. */
void run_heard(void);

/* Stops if the host has gone silent; about every millisecond. */
void run_tick(uint32_t now);

/* A scan of the matrix, if one is due; false where none was. */
bool run_turn(uint32_t now);

/* Since START. */
uint32_t run_scans(void);
uint16_t run_worst_scan_us(void);

#endif
