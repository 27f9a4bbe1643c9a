/* What the board says unasked: BOOTED, STATE, TRANSITIONS, HEARTBEAT. */
#ifndef TAILWISE_REPORT_H
#define TAILWISE_REPORT_H

#include <stdbool.h>
#include <stdint.h>

void report_start(void);

/* cause: reset_cause of the protocol. */
void report_booted(uint8_t cause);

/* A run begins: the first scan is followed by a STATE. */
void report_begin(uint16_t scan_period_us);

/* The run was stopped on request: transitions that wait are sent, then no more. */
void report_rest(void);

/* The first heartbeat comes one period from now. */
void report_heartbeat_from_now(void);

/* After a scan: keeps the matrix for the next STATE where one is due, and says so. */
bool report_after_scan(void);

/* Finds out what is due; about every millisecond. */
void report_tick(uint32_t now);

/* Gets one transition ready for its message, where one waits; a few microseconds. */
void report_slice(void);

/* Begins at most one message; needs outbox_free(). */
void report_turn(void);

#endif
