#include "uart.h"

#include <avr/interrupt.h>
#include <avr/io.h>

static volatile uint8_t received[256]; /* its two places are bytes, so they wrap by themselves */
static volatile uint8_t received_head;
static volatile uint8_t received_tail;
static volatile uint16_t overruns;

static const uint8_t *volatile send_next;
static volatile uint16_t send_left;

void uart_start(void)
{
    UCSR0A = 0;
    UCSR0C = _BV(UCSZ01) | _BV(UCSZ00);
    UCSR0B = _BV(RXEN0) | _BV(TXEN0) | _BV(RXCIE0);
    UBRR0H = 0;
    UBRR0L = 1; /* 16 MHz / 16 / (1 + 1) = 500000 exactly */
}

ISR(USART0_RX_vect)
{
    uint8_t status = UCSR0A;
    uint8_t byte = UDR0;
    uint8_t head = received_head;
    uint8_t next = (uint8_t)(head + 1u);
    if (next != received_tail) {
        received[head] = byte;
        received_head = next;
    } else {
        status |= _BV(DOR0);
    }
    if ((status & _BV(DOR0)) && overruns != UINT16_MAX)
        overruns++;
}

ISR(USART0_UDRE_vect)
{
    const uint8_t *next = send_next;
    UDR0 = *next++;
    send_next = next;
    if (--send_left == 0u)
        UCSR0B &= (uint8_t)~_BV(UDRIE0);
}

bool uart_take(uint8_t *byte)
{
    uint8_t tail = received_tail;
    if (tail == received_head)
        return false;
    *byte = received[tail];
    received_tail = (uint8_t)(tail + 1u);
    return true;
}

bool uart_sending(void)
{
    return (UCSR0B & _BV(UDRIE0)) != 0u;
}

void uart_send(const uint8_t *block, uint16_t length)
{
    send_next = block;
    send_left = length;
    UCSR0B |= _BV(UDRIE0);
}

uint16_t uart_overruns(void)
{
    uint8_t flags = SREG;
    cli();
    uint16_t count = overruns;
    SREG = flags;
    return count;
}
