/* The matrix scan: every driven line low in its turn, all others read. */
#ifndef TAILWISE_SCAN_H
#define TAILWISE_SCAN_H

#include <stdbool.h>
#include <stdint.h>

#define SETTLE_DEFAULT_NS 5000ul
#define SETTLE_MAX_NS 20000ul

/* From driving a line low to reading the others; at most SETTLE_MAX_NS. */
void scan_set_settle(uint32_t settle_ns);

/* Forgets all readings; the next scan only fills the matrix and reports no transitions. */
void scan_begin(void);

/* One whole scan; changed readings go into the queue. Lines are undriven, under their pull-ups, afterwards. */
void scan_once(void);

/* Copies the matrix as last read: three bytes for each driven line in ascending order, a bit set where a line read low.
 * Gives the number of bytes.
 */
uint8_t scan_copy_matrix(uint8_t *matrix);

/* Drive pulses since scan_begin() in which more than four lines read low. */
uint32_t scan_overloads(void);

#endif
