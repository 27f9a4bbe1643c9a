/* What the board says unasked while it watches: WATCHED and OPENINGS. */
#ifndef TAILWISE_REPORT_WATCH_H
#define TAILWISE_REPORT_WATCH_H

#include <stdbool.h>

/* A watch begins: WATCHED is due at once. */
void report_watch_begin(void);

/* Another 20 ms have passed. */
void report_watch_due(void);

/* Begins at most one message; needs outbox_free(). */
void report_watch_turn(void);

/* The watch was stopped on request: what has ended is sent. */
void report_watch_rest(void);

#endif
