/* Theory. Timer 3 interrupts every 26 cycles to compare both ports with what they read before, or every 24 where one will do.
 * Where nothing changed that takes 20 or 16 cycles, the interrupt's own 5 and the way through the vector included, and touches no
 * flag: CPSE compares without. A byte received or sent has an interrupt of its own, which compares too, at its beginning, in its
 * middle and at its end. Where something changed, a close loop looks every 7 to 28 cycles until the lines have been quiet, so that both
 * ends of a short opening are timed well. An edge lies, on average, half way between the look that saw it and the one before; each
 * look knows its own half.
 *
 * Noting an edge takes longer than the time between two looks, so there is a look in the middle; an edge that it sees is noted
 * together with the first. The longest time between two looks is 58 cycles, where that happened; else 40, or 53 where
 * many edges wait and watch.c has made the period 44.
 *
 * Registers that the compiler leaves alone (Makefile): r2, r4 a look at the ports, r5, r6 what is known of them, r3 status, r7 rounds
 * of the close loop until it is quiet. Saved and used by it: r18, r20 time of an edge, r22, r23 of the one after it, r21 how late
 * the first was seen, r19 rounds that it may go on, r30, r31.
 */
#define __SFR_OFFSET 0
#include <avr/io.h>

#define SEEN 7            /* cycles from a look to the reading of the counter that follows where it sees a change */
#define SEEN_SAVING 11    /* the same where two registers are saved first */
#define SOONER 3          /* of one port alone */
#define AFTER(gap) (SEEN + (gap) / 2)
#define QUIET_ROUNDS 3    /* of 56 cycles: the close loop ends 10 us after all pairs have closed */
#define OPEN_ROUNDS 23    /* or 80 us after one opened: from there on 1 % of the length makes up for the looser looks */
#define MANY 110          /* waiting edges: then the main program needs the time more than the close loop */
#define NEARLY_FULL 225

/* 7 cycles; goes to \changed where a port differs from what is known. */
.macro LOOK changed
    in r2, PINF
    lds r4, PINK
    cpse r2, r5
    rjmp \changed
    cpse r4, r6
    rjmp \changed
.endm

.macro TAKE_TIME low, high
    lds \low, TCNT5L
    lds \high, TCNT5H
.endm

.macro KNOW
    mov r5, r2
    mov r6, r4
.endm

/* An edge seen by the interrupt so many cycles after the look before; by the close loop. */
.macro ENTER gap
    push r18
    push r20
    TAKE_TIME r18, r20
    KNOW
    in r3, SREG
    push r21
    ldi r21, SEEN_SAVING + (\gap) / 2
.endm
.macro EDGE gap
    TAKE_TIME r18, r20
    KNOW
    ldi r21, AFTER(\gap)
.endm

.macro RESTORE
    pop r31
    pop r30
    pop r23
    pop r22
    pop r19
    pop r21
    pop r20
    pop r18
    out SREG, r3
.endm

/* Time of an edge into the ring; Z then stands at its second byte. */
.macro STORE_TIME
    sub r18, r21
    sbci r20, 0
    lds r30, edges_head
    ldi r31, hi8(edges)
    st Z, r18
    inc r31
    st Z, r20
.endm

.macro STORE_COARSE
    inc r31
    lds r18, TCNT4L
    st Z, r18
.endm

    .section .text.sample, "ax", @progbits
    .global __vector_32 /* TIMER3_COMPA */
__vector_32:
    LOOK changed
    reti

    .global __vector_33 /* TIMER3_COMPB: all sensed lines are on the first port; the other reads 0 */
__vector_33:
    in r2, PINF
    cpse r2, r5
    rjmp changed_one
    reti

    .global __vector_34 /* TIMER3_COMPC: on the second */
__vector_34:
    lds r4, PINK
    cpse r4, r6
    rjmp changed_one
    reti

    .global __vector_25 /* USART0_RX */
__vector_25:
    LOOK changed
    in r3, SREG
    push r30
    push r31
    lds r30, uart_head
    ldi r31, hi8(uart_received)
    LOOK changed_meanwhile
    lds r2, UDR0
    st Z, r2
    inc r30
    lds r2, uart_tail
    cp r30, r2
    breq 2f
    sts uart_head, r30
1:  pop r31
    pop r30
    out SREG, r3
    LOOK changed
    reti
2:  sbi GPIOR0, 0 /* lost */
    rjmp 1b

    .global __vector_26 /* USART0_UDRE: room for a byte to send; the frames of outbox.c lie within one page */
__vector_26:
    LOOK changed
    in r3, SREG
    push r30
    push r31
    lds r30, uart_next
    lds r31, uart_next + 1
    LOOK changed_meanwhile
    ld r2, Z+
    sts UDR0, r2
    sts uart_next, r30
    lds r30, uart_left
    dec r30
    sts uart_left, r30
    brne 1f
    ldi r30, (1 << RXEN0) | (1 << TXEN0) | (1 << RXCIE0)
    sts UCSR0B, r30
1:  pop r31
    pop r30
    out SREG, r3
    LOOK changed
    reti

/* The byte waits: nothing has been done with it. */
changed_meanwhile:
    pop r31
    pop r30
    out SREG, r3
    ENTER 16 + 2 * 5
    rjmp enter
changed_one:
    ENTER 24 - 2 * SOONER
    rjmp enter
changed:
    ENTER 26
enter:
    push r19
    push r22
    push r23
    push r30
    push r31
    lds r19, sample_rounds
    LOOK second_at_once

/* Notes the edge at r20:r18 less r21, after which the ports read r5, r6. */
edge:
    STORE_TIME
    LOOK second
    STORE_COARSE
    inc r31
    st Z, r5
    inc r31
    st Z, r6
    inc r30
noted:
    sts edges_head, r30
    mov r18, r5
    or r18, r6
    ldi r18, OPEN_ROUNDS
    brne 1f
    ldi r18, QUIET_ROUNDS
1:  mov r7, r18
    LOOK edge_0
    rjmp round

/* The same with an edge at r23:r22 after it, after which they read r2, r4. */
second_at_once:
    TAKE_TIME r22, r23
    STORE_TIME
    rjmp both
second:
    TAKE_TIME r22, r23
both:
    STORE_COARSE
    inc r31
    st Z, r5
    inc r31
    st Z, r6
    KNOW
    inc r30
    st Z, r6
    dec r31
    st Z, r5
    dec r31
    st Z, r18
    subi r22, AFTER(16)
    sbci r23, 0
    dec r31
    st Z, r23
    dec r31
    st Z, r22
    inc r30
    LOOK third
    rjmp noted
third:
    EDGE 52
    sts edges_head, r30
    rjmp edge

/* The main program cannot keep up: better blind for a known time than edges lost. */
pause:
    lds r18, TCNT5L
    sts sample_paused_cycles, r18
    lds r18, TCNT5H
    sts sample_paused_cycles + 1, r18
    lds r18, TCNT4L
    sts sample_paused_coarse, r18
    ldi r18, (1 << RXEN0) | (1 << TXEN0)
    sts UCSR0B, r18
    ldi r18, 0
    sts TIMSK3, r18
    sts uart_by_interrupt, r18
    ldi r18, 1
    sts sample_paused, r18
    RESTORE
    reti

give_byte:
    lds r30, uart_next
    lds r31, uart_next + 1
    ld r18, Z+
    sts UDR0, r18
    sts uart_next, r30
    lds r30, uart_left
    dec r30
    sts uart_left, r30
    brne 1f
    ldi r30, (1 << RXEN0) | (1 << TXEN0) | (1 << RXCIE0)
    sts UCSR0B, r30
1:  LOOK edge_given
    rjmp byte_given

many:
    cpi r18, NEARLY_FULL
    brlo leave
    rjmp pause

round:
    LOOK edge_1
    LOOK edge_2
    lds r18, UCSR0A
    sbrc r18, RXC0
    rjmp take_byte
byte_taken:
    LOOK edge_3
    lds r30, uart_left
    cpi r30, 0
    sbrc r18, UDRE0
    brne give_byte
byte_given:
    LOOK edge_4
    lds r18, edges_head
    lds r30, edges_tail
    sub r18, r30
    cpi r18, MANY
    brsh many
    LOOK edge_5
    dec r7
    breq leave
    dec r19
    brne round

    ldi r30, 1
    sts sample_rounds, r30
    lds r30, TCNT4L
    sts sample_tired_at, r30
leave:
    RESTORE
    LOOK changed
    reti

edge_0:
    EDGE 28
    rjmp edge
edge_1:
    EDGE 11
    rjmp edge
edge_2:
    EDGE 7
    rjmp edge
edge_3:
    EDGE 11
    rjmp edge
edge_4:
    EDGE 12
    rjmp edge
edge_5:
    EDGE 14
    rjmp edge

edge_taken:
    EDGE 26
    rjmp edge
edge_given:
    EDGE 28
    rjmp edge

take_byte:
    lds r30, uart_head
    ldi r31, hi8(uart_received)
    lds r18, UDR0
    st Z, r18
    inc r30
    lds r18, uart_tail
    cp r30, r18
    breq 1f
    sts uart_head, r30
2:  ldi r18, 0 /* no byte is given in this round: one wait is enough */
    LOOK edge_taken
    rjmp byte_taken
1:  sbi GPIOR0, 0
    rjmp 2b
