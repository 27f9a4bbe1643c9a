#include "board.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <avr_adc.h>
#include <avr_uart.h>
#include <sim_avr.h>
#include <sim_hex.h>
#include <sim_interrupts.h>
#include <sim_io.h>

#include "network.h"

DEFINE_FIFO(uint16_t, uart_fifo);

#define MHZ 16
#define CYCLES_PER_BYTE (10 * 2 * MHZ) /* ten bits of 2 us */
#define OVERRUN_RISK 3                 /* the real receiver holds two bytes */
#define KEPT_PROBLEMS 32
#define RESPONSE_CYCLES 5 /* of an interrupt, data sheet; the simulator counts none */
#define RING 65536

#define MCUSR_ADDRESS 0x54
#define ADCSRB_ADDRESS 0x7B
#define ADMUX_ADDRESS 0x7C
#define UBRR0L_ADDRESS 0xC4

/* PIN register of the three line ports and of the two for switched pull-ups; DDR and PORT follow it. */
static const uint16_t line_ports[LINES / 8] = {0x2F, 0x106, 0x20};
static const uint16_t switched_ports[2] = {0x26, 0x109};

static const uint16_t input_disable[2] = {0x7E, 0x7D}; /* DIDR0, DIDR2 */

static avr_t *avr;
static avr_uart_t *uart;
static avr_adc_t *adc;
static avr_irq_t *adc_irqs;
static double sampler_volt;

static uint8_t to_board[RING];
static size_t to_board_head, to_board_tail;
static struct sent_byte from_board[RING];
static size_t from_board_head, from_board_tail;

static struct measured measured;
static uint64_t low_since[LINES], high_since[LINES];
static bool low_known[LINES];
static uint64_t looked_at; /* last reading of a port that can be watched; 0: none since measuring began */

static char problems[KEPT_PROBLEMS][96];
static size_t problem_count;

void board_problem(const char *what, int line)
{
    if (problem_count < KEPT_PROBLEMS)
        snprintf(problems[problem_count], sizeof problems[0], "%s, line %d, at %.3f us", what, line,
                 (double)avr->cycle / CYCLES_PER_US);
    problem_count++;
}

static void pin_changed(int line, enum pin_mode mode)
{
    enum pin_mode old = network_pin(line);
    uint64_t now = avr->cycle;
    if (old == mode)
        return;
    if (old == PIN_LOW && now - low_since[line] > measured.longest_low_cycles)
        measured.longest_low_cycles = now - low_since[line];
    if (old == PIN_HIGH && now - high_since[line] > measured.longest_high_cycles)
        measured.longest_high_cycles = now - high_since[line];
    if (mode == PIN_LOW) {
        if (low_known[line] && now - low_since[line] > measured.longest_scan_cycles)
            measured.longest_scan_cycles = now - low_since[line];
        low_since[line] = now;
        low_known[line] = true;
        measured.low_pulses++;
    }
    if (mode == PIN_HIGH)
        high_since[line] = now;
    network_set_pin(line, mode, now);
    if ((mode == PIN_LOW || mode == PIN_HIGH) && network_opposed())
        board_problem("opposing drivers", line);
}

static void port_changed(int port)
{
    uint8_t direction = avr->data[line_ports[port] + 1], level = avr->data[line_ports[port] + 2];
    for (int bit = 0; bit < 8; bit++) {
        bool out = direction >> bit & 1, up = level >> bit & 1;
        pin_changed(port * 8 + bit, out ? (up ? PIN_HIGH : PIN_LOW) : (up ? PIN_PULLED_UP : PIN_FLOATING));
    }
}

static void on_port_write(struct avr_t *chip, avr_io_addr_t address, uint8_t value, void *param)
{
    if (chip->data[address] == value)
        return;
    chip->data[address] = value;
    port_changed((int)(intptr_t)param);
}

static uint8_t on_pin_read(struct avr_t *chip, avr_io_addr_t address, void *param)
{
    int port = (int)(intptr_t)param;
    uint8_t value = 0;
    if (port < 2) {
        if (looked_at && chip->cycle - looked_at > measured.longest_unread_cycles)
            measured.longest_unread_cycles = chip->cycle - looked_at;
        looked_at = chip->cycle;
    }
    for (int bit = 0; bit < 8; bit++) {
        int line = port * 8 + bit;
        if (network_level(line, chip->cycle))
            value |= (uint8_t)(1 << bit);
        if (network_pin(line) == PIN_LOW) {
            double ma = network_sink_ma(line, chip->cycle);
            if (ma > measured.largest_sink_ma)
                measured.largest_sink_ma = ma;
        }
    }
    if (port < 2)
        value &= (uint8_t)~chip->data[input_disable[port]]; /* an input that is off reads 0 */
    chip->data[address] = value;
    return value;
}

/* A switched pull-up: its pin is either at high impedance or high. */
static void on_switched_write(struct avr_t *chip, avr_io_addr_t address, uint8_t value, void *param)
{
    int port = (int)(intptr_t)param;
    chip->data[address] = value;
    uint8_t direction = chip->data[switched_ports[port] + 1], level = chip->data[switched_ports[port] + 2];
    for (int bit = 0; bit < 8; bit++) {
        int line = port * 8 + bit;
        bool out = direction >> bit & 1, up = level >> bit & 1;
        if (out && !up)
            board_problem("a switched pull-up pulls down", line);
        network_switched(line, out && up, chip->cycle);
    }
}

static void take_over(uint16_t address, avr_io_read_t read, avr_io_write_t write, intptr_t param)
{
    avr_io_addr_t io = AVR_DATA_TO_IO(address);
    if (read) {
        avr->io[io].r.c = read;
        avr->io[io].r.param = (void *)param;
    }
    if (write) {
        avr->io[io].w.c = write;
        avr->io[io].w.param = (void *)param;
    }
}

static void on_baud(struct avr_irq_t *irq, uint32_t value, void *param)
{
    (void)irq, (void)value, (void)param;
    uart->cycles_per_byte = CYCLES_PER_BYTE;
}

static void on_sent(struct avr_irq_t *irq, uint32_t value, void *param)
{
    (void)irq, (void)param;
    from_board[from_board_head++ % RING] = (struct sent_byte){avr->cycle + CYCLES_PER_BYTE, (uint8_t)value};
}

static avr_cycle_count_t feed(struct avr_t *chip, avr_cycle_count_t when, void *param)
{
    (void)chip, (void)param;
    if (to_board_tail == to_board_head)
        return 0;
    if (uart_fifo_get_read_size(&uart->input) >= OVERRUN_RISK)
        board_problem("receive overrun risk", uart_fifo_get_read_size(&uart->input));
    avr_raise_irq(uart->io.irq + UART_IRQ_INPUT, to_board[to_board_tail++ % RING]);
    return when + CYCLES_PER_BYTE;
}

void board_receive(uint8_t byte)
{
    to_board[to_board_head++ % RING] = byte;
    if (avr_cycle_timer_status(avr, feed, NULL) == 0)
        avr_cycle_timer_register(avr, CYCLES_PER_BYTE, feed, NULL);
}

size_t board_receiving(void)
{
    return to_board_head - to_board_tail;
}

bool board_has_sent(void)
{
    return from_board_tail != from_board_head && from_board[from_board_tail % RING].cycle <= avr->cycle;
}

bool board_sent(struct sent_byte *sent)
{
    if (!board_has_sent())
        return false;
    *sent = from_board[from_board_tail++ % RING];
    return true;
}

static void on_convert(struct avr_irq_t *irq, uint32_t value, void *param)
{
    (void)irq, (void)value, (void)param;
    uint8_t mux = avr->data[ADMUX_ADDRESS] & 0x1F;
    bool upper = avr->data[ADCSRB_ADDRESS] & 0x08;
    if (mux == 0x1F && !upper) {
        sampler_volt = 0;
        return;
    }
    int line = mux + (upper ? 8 : 0);
    if (mux > 7) {
        board_problem("a converter channel without a line", mux);
        return;
    }
    sampler_volt = network_sample(line, sampler_volt, avr->cycle);
    avr_raise_irq(adc_irqs + ADC_IRQ_ADC0 + mux, (uint32_t)(sampler_volt * 1000));
}

static void on_interrupt(struct avr_irq_t *irq, uint32_t value, void *param)
{
    (void)irq, (void)param;
    if (value)
        avr->cycle += RESPONSE_CYCLES;
}

static avr_io_t *peripheral(const char *kind, char name)
{
    for (avr_io_t *io = avr->io_port; io; io = io->next)
        if (!strcmp(io->kind, kind) && (!name || ((avr_uart_t *)io)->name == name))
            return io;
    fprintf(stderr, "this libsimavr has no %s for the chip; likely cause: another version; next step: use 1.6 or later\n", kind);
    exit(2);
}

static void load(const char *path)
{
    ihex_chunk_p chunks = NULL;
    int count = read_ihex_chunks(path, &chunks);
    if (count <= 0) {
        fprintf(stderr, "%s: no firmware image in Intel hex; likely cause: not built; next step: make hex\n", path);
        exit(2);
    }
    for (int i = 0; i < count; i++)
        avr_loadcode(avr, chunks[i].data, chunks[i].size, chunks[i].baseaddr);
    free_ihex_chunks(chunks);
}

static void quiet(struct avr_t *chip, const int level, const char *format, va_list arguments)
{
    (void)chip;
    if (level <= LOG_ERROR)
        vfprintf(stderr, format, arguments);
}

static void no_sleep(avr_t *chip, avr_cycle_count_t cycles)
{
    (void)chip, (void)cycles;
}

void board_start(const char *hex_path)
{
    avr_global_logger_set(quiet);
    avr = avr_make_mcu_by_name("atmega2560");
    if (!avr || avr_init(avr)) {
        fprintf(stderr, "libsimavr does not know the atmega2560; next step: use 1.6 or later\n");
        exit(2);
    }
    avr->frequency = MHZ * 1000000u;
    avr->sleep = no_sleep;
    avr->vcc = avr->avcc = avr->aref = (uint32_t)(SUPPLY_V * 1000);
    uart = (avr_uart_t *)peripheral("uart", '0');
    uart->flags = 0;
    adc = (avr_adc_t *)peripheral("adc", 0);
    for (int channel = 0; channel < 8; channel++)
        adc->muxmode[32 + channel] = adc->muxmode[channel];
    load(hex_path);
    network_start();
    for (int port = 0; port < LINES / 8; port++) {
        take_over(line_ports[port], on_pin_read, NULL, port);
        take_over(line_ports[port] + 1, NULL, on_port_write, port);
        take_over(line_ports[port] + 2, NULL, on_port_write, port);
    }
    for (int port = 0; port < 2; port++)
        for (int offset = 1; offset <= 2; offset++)
            take_over(switched_ports[port] + offset, NULL, on_switched_write, port);
    avr_irq_register_notify(avr_iomem_getirq(avr, UBRR0L_ADDRESS, NULL, AVR_IOMEM_IRQ_ALL), on_baud, NULL);
    avr_irq_register_notify(uart->io.irq + UART_IRQ_OUTPUT, on_sent, NULL);
    avr_irq_register_notify(avr_get_interrupt_irq(avr, AVR_INT_ANY) + AVR_INT_IRQ_RUNNING, on_interrupt, NULL);
    adc_irqs = adc->io.irq;
    avr_irq_register_notify(adc_irqs + ADC_IRQ_OUT_TRIGGER, on_convert, NULL);
    avr->data[MCUSR_ADDRESS] = 0x01;
}

uint64_t board_cycle(void)
{
    return avr->cycle;
}

void board_run_to(uint64_t cycle)
{
    while (avr->cycle < cycle) {
        int state = avr_run(avr);
        if (state == cpu_Done || state == cpu_Crashed) {
            board_problem("the processor stopped", 0);
            fprintf(stderr, "the simulated processor stopped at %#x\n", (unsigned)avr->pc);
            exit(3);
        }
    }
}

void board_reset(uint8_t cause)
{
    to_board_tail = to_board_head;
    avr_reset(avr);
    avr->data[MCUSR_ADDRESS] = cause;
    for (int port = 0; port < LINES / 8; port++)
        port_changed(port);
    for (int line = 0; line < 16; line++)
        network_switched(line, false, avr->cycle);
    board_measure_anew();
}

void board_poke(uint16_t address, uint8_t value)
{
    avr->data[address] = value;
}

struct measured *board_measured(void)
{
    return &measured;
}

void board_measure_anew(void)
{
    memset(&measured, 0, sizeof measured);
    memset(low_known, 0, sizeof low_known);
    looked_at = 0;
}

size_t board_problem_count(void)
{
    return problem_count;
}

const char *board_problem_text(size_t index)
{
    return index < KEPT_PROBLEMS ? problems[index] : "more of the same";
}
