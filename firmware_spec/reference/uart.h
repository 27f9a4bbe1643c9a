/* The serial port: 500000 baud, 8 data bits, no parity, 1 stop bit, by interrupts. */
#ifndef TAILWISE_UART_H
#define TAILWISE_UART_H

#include <stdbool.h>
#include <stdint.h>

void uart_start(void);

/* True and one byte where the host has sent any. */
bool uart_take(uint8_t *byte);

/* True while a block is still going out. */
bool uart_sending(void);

/* Sends a block of 1 to 65535 bytes, which must stay as it is until uart_sending() is false. */
void uart_send(const uint8_t *block, uint16_t length);

/* Received bytes that found no room, since reset. */
uint16_t uart_overruns(void);

#endif
