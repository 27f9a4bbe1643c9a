/* What the board is doing: idle or scanning, and when it stops by itself. */
#ifndef TAILWISE_RUN_H
#define TAILWISE_RUN_H

#include <stdbool.h>
#include <stdint.h>

bool run_scanning(void);
uint8_t run_state(void);

/* Starts scanning, a scan every period_us or as fast as it goes. */
void run_start(uint32_t period_us);

/* All lines to high impedance; `state` says why (run_state of the protocol). */
void run_stop(uint8_t state);

/* A good frame came from the host. */
void run_heard(void);

/* A turn of the main loop: stops if the host went silent, scans if a scan is due; true after a scan. */
bool run_turn(void);

/* Since START. */
uint32_t run_scans(void);
uint16_t run_worst_scan_us(void);

/* End of the last scan. */
uint32_t run_scan_clock(void);

#endif
