/* The membrane and the harness as resistors and capacitors: what voltage each line has at any cycle. */
#ifndef SIMBOARD_NETWORK_H
#define SIMBOARD_NETWORK_H

#include <stdbool.h>
#include <stdint.h>

#define LINES 24
#define SUPPLY_V 5.0
#define CYCLES_PER_US 16

enum pin_mode { PIN_FLOATING, PIN_PULLED_UP, PIN_LOW, PIN_HIGH };

/* Sound defaults: 150 pF a line, pull-ups of 50 kohm, switched ones of 10 kohm, 220 ohm in series. */
void network_start(void);

void network_set_pin(int line, enum pin_mode mode, uint64_t cycle);
enum pin_mode network_pin(int line);
void network_switched(int line, bool on, uint64_t cycle);

/* What hangs on the pins; ohm 0 or less: not there. */
void network_contact(int line, int other, double ohm, uint64_t cycle);
void network_force(int line, double volt, double ohm, uint64_t cycle);
void network_open(int line, bool open, uint64_t cycle);
void network_capacitance(int line, double pf, uint64_t cycle);
void network_pullup(int line, double ohm, uint64_t cycle);

/* Level the input reads: high from 0.6 of the supply on, low from 0.3 down, between them as it was before. */
bool network_level(int line, uint64_t cycle);

/* Noise of every reading from then on, near a normal distribution: rms in 1024ths of the supply, never beyond 6 times that. */
void network_noise(double lsb, uint64_t seed);

/* One converter sample: the line shares its charge with the converter's 14 pF, which hold `held_volt`. Gives the volts. */
double network_sample(int line, double held_volt, uint64_t cycle);

/* Milliamperes into the driver of a line that is driven low. */
double network_sink_ma(int line, uint64_t cycle);

/* True where two lines are driven to different levels and something joins them. */
bool network_opposed(void);

#endif
