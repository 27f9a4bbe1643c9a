/* The serial port: 500000 baud, 8 data bits, no parity, 1 stop bit, by polling; by interrupts of sample.S while watching.
 *
 * No interrupt is enabled while the matrix is scanned, so nothing can stretch a drive pulse. The receiver holds two bytes and a third on
 * its way: uart_receive() must be called at least every 40 us.
 */
#ifndef TAILWISE_UART_H
#define TAILWISE_UART_H

#include <avr/io.h>
#include <stdbool.h>
#include <stdint.h>

extern uint8_t uart_received[256]; /* its two places are bytes, so they wrap by themselves */
extern uint8_t uart_head;
extern uint8_t uart_tail;
extern const uint8_t *uart_next;
extern uint8_t uart_left;
extern volatile bool uart_by_interrupt; /* bytes are moved by the watch's interrupts, not here */

void uart_start(void);

/* Keeps a received byte; `status` is that of the receiver before it was read. */
void uart_keep(uint8_t status);

/* Received bytes that found no room, since reset; stays at 65535. */
uint16_t uart_overruns(void);

static inline void uart_receive(void)
{
    uint8_t status = UCSR0A;
    if (status & _BV(RXC0))
        uart_keep(status);
}

static inline void uart_transmit(void)
{
    if (uart_left != 0u && (UCSR0A & _BV(UDRE0))) {
        UDR0 = *uart_next++;
        uart_left--;
    }
}

/* Moves one byte each way where there is one and room for it. */
static inline void uart_pump(void)
{
    if (uart_by_interrupt)
        return;
    uart_receive();
    uart_transmit();
}

/* While watching: interrupts move the bytes, or not. None of them may come meanwhile. */
void uart_interrupts(bool on);

/* True where the host has sent something. */
static inline bool uart_has_received(void)
{
    return uart_tail != uart_head;
}

/* How many bytes of it wait. */
static inline uint8_t uart_waiting(void)
{
    return (uint8_t)(uart_head - uart_tail);
}

/* The oldest of them. */
static inline uint8_t uart_take(void)
{
    return uart_received[uart_tail++];
}

/* True while a block is still going out. */
static inline bool uart_sending(void)
{
    return *(volatile uint8_t *)&uart_left != 0u;
}

/* Sends a block of at most 255 bytes within one page of 256, which must stay as it is until uart_sending() is false. */
void uart_send(const uint8_t *block, uint8_t length);

#endif
