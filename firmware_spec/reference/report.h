/* What the board says unasked: BOOTED, STATE, TRANSITIONS, HEARTBEAT. */
#ifndef TAILWISE_REPORT_H
#define TAILWISE_REPORT_H

#include <stdint.h>

/* cause: reset_cause of the protocol. */
void report_booted(uint8_t cause);

/* A run begins: the first scan is followed by a STATE. */
void report_begin(void);

/* The run was stopped on request: transitions that wait are sent, then no more. */
void report_rest(void);

/* The first heartbeat comes one period from now. */
void report_heartbeat_from_now(void);

/* After a scan: keeps the matrix for the next STATE where one is due. */
void report_after_scan(void);

/* Finds out what is due; about every millisecond. */
void report_tick(uint32_t now);

/* Begins at most one message, or gets one ready; needs outbox_free(). */
void report_turn(void);

#endif
