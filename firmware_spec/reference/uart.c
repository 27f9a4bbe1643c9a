#include "uart.h"

#include <avr/interrupt.h>

uint8_t uart_received[256] __attribute__((aligned(256)));
uint8_t uart_head;
uint8_t uart_tail;
const uint8_t *uart_next;
uint8_t uart_left;
volatile bool uart_by_interrupt;

static uint16_t overruns;

void uart_start(void)
{
    UCSR0A = 0;
    UCSR0C = _BV(UCSZ01) | _BV(UCSZ00);
    UCSR0B = _BV(RXEN0) | _BV(TXEN0);
    UBRR0H = 0;
    UBRR0L = 1; /* 16 MHz / 16 / (1 + 1) = 500000 exactly */
}

void uart_interrupts(bool on)
{
    uart_receive(); /* what came before this moment announces itself no more */
    uart_receive();
    uart_by_interrupt = on;
    UCSR0B = _BV(RXEN0) | _BV(TXEN0) | (on ? _BV(RXCIE0) : 0u) | (on && uart_left != 0u ? _BV(UDRIE0) : 0u);
}

void uart_send(const uint8_t *block, uint8_t length)
{
    uart_next = block;
    if (!uart_by_interrupt) {
        uart_left = length;
        return;
    }
    cli(); /* the interrupt would send more than there is; and it may have been turned off just now */
    uart_left = length;
    if (uart_by_interrupt)
        UCSR0B = _BV(RXEN0) | _BV(TXEN0) | _BV(RXCIE0) | _BV(UDRIE0);
    sei();
}

void uart_keep(uint8_t status)
{
    uint8_t byte = UDR0;
    uint8_t next = (uint8_t)(uart_head + 1u);
    if (next != uart_tail) {
        uart_received[uart_head] = byte;
        uart_head = next;
    } else {
        status |= _BV(DOR0);
    }
    if ((status & _BV(DOR0)) && overruns != UINT16_MAX)
        overruns++;
}

uint16_t uart_overruns(void)
{
    if (GPIOR0 & 1u) { /* the watch's interrupt lost some: at least one */
        GPIOR0 = 0;
        if (overruns != UINT16_MAX)
            overruns++;
    }
    return overruns;
}
