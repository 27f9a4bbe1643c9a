/* The reference harness: which pin is which line. WIRING.md has the same table for people.
 *
 * Lines 0-7   PF0-PF7 (A0-A7)      lines 8-15  PK0-PK7 (A8-A15)     lines 16-23  PA0-PA7 (D22-D29)
 * PC0-PC7 (D37-D30) and PL0-PL7 (D49-D42) are reserved, one for each of lines 0-15, for a switched pull-up of 10 kohm.
 * They are at high impedance but for watch.c, which drives that of a sensed line high.
 */
#ifndef TAILWISE_BOARD_H
#define TAILWISE_BOARD_H

#include <stdint.h>

#define BOARD_NAME "tailwise mega2560"
#define BOARD_LINES 24u
#define BOARD_LINE_BYTES 3u
#define BOARD_CHECKED_LINES 16u

#define FIRMWARE_MAJOR 1u
#define FIRMWARE_MINOR 0u
#define FIRMWARE_PATCH 0u

#endif
