/* Theory. Each line is one node with its capacitance C; joined nodes follow C dv/dt = -G v + I. A node joined to no other has
 * the exact solution v(t) = v_end + (v - v_end) exp(-t / RC). Joined nodes are stepped by the backward Euler rule,
 * (C/h + G) v' = C/h v + I, from one cycle upwards, each step half as long again: stable however small the contact.
 * A line that is open at the harness leaves its pin alone with the lead's capacitance.
 * Thresholds are the data sheet's worst case (0.3 and 0.6 of the supply), leakage 1 Gohm to 0 V.
 */
#include "network.h"

#include <math.h>
#include <string.h>

#define NODES (2 * LINES) /* films, then the pins of open lines */
#define SERIES_OHM 220.0
#define SWITCHED_OHM 10e3
#define DRIVER_OHM 25.0 /* ATmega2560 data sheet: 0.5 V at 20 mA, about */
#define LEAK_S 1e-9
#define LEAD_PF 20.0
#define SAMPLER_PF 14.0
#define SECONDS_PER_CYCLE (1e-6 / CYCLES_PER_US)
#define LOW_V (0.3 * SUPPLY_V)
#define HIGH_V (0.6 * SUPPLY_V)
#define STILL_V 1e-4

static enum pin_mode pin[LINES];
static bool open_at_harness[LINES];
static bool switched[LINES];
static double pullup_ohm[LINES];
static double force_v[LINES], force_s[LINES];
static double joined_s[LINES][LINES];
static double farad[NODES];

static double volts[NODES];
static bool high[NODES];
static uint64_t known_at[NODES];
static int group_of[NODES]; /* lowest node of the group */
static int members[NODES][NODES], member_count[NODES];
static double noise_v;
static uint64_t noise_state;
static bool still[NODES]; /* of groups: nothing moves any more */

static int pin_node(int line)
{
    return open_at_harness[line] ? LINES + line : line;
}

static void find_groups(void)
{
    for (int node = 0; node < NODES; node++)
        group_of[node] = node;
    for (bool again = true; again;) {
        again = false;
        for (int a = 0; a < LINES; a++)
            for (int b = 0; b < LINES; b++)
                if (joined_s[a][b] > 0 && group_of[b] > group_of[a]) {
                    group_of[b] = group_of[a];
                    again = true;
                }
    }
    memset(member_count, 0, sizeof member_count);
    memset(still, 0, sizeof still);
    for (int node = 0; node < NODES; node++) {
        int group = group_of[node];
        members[group][member_count[group]++] = node;
    }
}

void network_start(void)
{
    for (int line = 0; line < LINES; line++) {
        pullup_ohm[line] = 50e3;
        farad[line] = 150e-12;
        farad[LINES + line] = LEAD_PF * 1e-12;
    }
    find_groups();
}

/* Conductance to fixed voltages, and the current they would drive into 0 V. */
static void feeds(int node, double *siemens, double *ampere)
{
    int line = node % LINES;
    *siemens = LEAK_S;
    *ampere = 0;
    if (node < LINES) {
        *siemens += force_s[line];
        *ampere += force_s[line] * force_v[line];
    }
    if (node != pin_node(line))
        return;
    if (switched[line]) {
        *siemens += 1 / SWITCHED_OHM;
        *ampere += SUPPLY_V / SWITCHED_OHM;
    }
    if (pin[line] == PIN_FLOATING)
        return;
    double s = 1 / (SERIES_OHM + (pin[line] == PIN_PULLED_UP ? pullup_ohm[line] : DRIVER_OHM));
    *siemens += s;
    if (pin[line] != PIN_LOW)
        *ampere += s * SUPPLY_V;
}

static void note_level_at(int node, double seen_v)
{
    if (seen_v >= HIGH_V)
        high[node] = true;
    else if (seen_v <= LOW_V)
        high[node] = false;
}

static void note_level(int node)
{
    note_level_at(node, volts[node]);
}

/* Sum of twelve even numbers less 6: mean 0, variance 1, never more than 6; xorshift by Marsaglia (2003). */
static double one_noise(void)
{
    double sum = -6;
    for (int i = 0; i < 12; i++) {
        noise_state ^= noise_state << 13;
        noise_state ^= noise_state >> 7;
        noise_state ^= noise_state << 17;
        sum += (double)(noise_state >> 11) / 9007199254740992.0;
    }
    return sum * noise_v;
}

void network_noise(double lsb, uint64_t seed)
{
    noise_v = lsb * SUPPLY_V / 1024;
    noise_state = seed * 2 + 1;
}

/* Far from both thresholds noise cannot matter. */
static void note_noisy_level(int node)
{
    double far = 6 * noise_v;
    if (fabs(volts[node] - HIGH_V) <= far || fabs(volts[node] - LOW_V) <= far)
        note_level_at(node, volts[node] + one_noise());
}

static void move_alone(int node, double seconds)
{
    double siemens, ampere;
    feeds(node, &siemens, &ampere);
    double end = ampere / siemens;
    double constants = seconds * siemens / farad[node];
    volts[node] = constants > 30 ? end : end + (volts[node] - end) * exp(-constants);
    still[node] = fabs(volts[node] - end) < STILL_V;
    note_level(node);
}

/* Solves a * x = b in place by elimination; a is diagonally dominant, so no pivoting is needed. */
static void solve(int n, double a[NODES][NODES], double b[NODES])
{
    for (int k = 0; k < n; k++)
        for (int i = k + 1; i < n; i++) {
            double factor = a[i][k] / a[k][k];
            if (factor == 0)
                continue;
            for (int j = k; j < n; j++)
                a[i][j] -= factor * a[k][j];
            b[i] -= factor * b[k];
        }
    for (int i = n - 1; i >= 0; i--) {
        for (int j = i + 1; j < n; j++)
            b[i] -= a[i][j] * b[j];
        b[i] /= a[i][i];
    }
}

static double step_joined(int group, double seconds)
{
    static double a[NODES][NODES], b[NODES];
    int n = member_count[group];
    for (int i = 0; i < n; i++) {
        int node = members[group][i];
        double siemens, ampere;
        feeds(node, &siemens, &ampere);
        for (int j = 0; j < n; j++) {
            double s = joined_s[node][members[group][j]];
            a[i][j] = i == j ? 0 : -s;
            siemens += s;
        }
        a[i][i] = siemens + farad[node] / seconds;
        b[i] = ampere + volts[node] * farad[node] / seconds;
    }
    solve(n, a, b);
    double moved = 0;
    for (int i = 0; i < n; i++) {
        int node = members[group][i];
        moved = fmax(moved, fabs(b[i] - volts[node]));
        volts[node] = b[i];
        note_level(node);
    }
    return moved;
}

static void move_joined(int group, double seconds)
{
    double step = SECONDS_PER_CYCLE;
    while (seconds > 0 && !still[group]) {
        double this_step = fmin(step, seconds);
        double moved = step_joined(group, this_step);
        seconds -= this_step;
        if (moved < STILL_V && step > 32 * SECONDS_PER_CYCLE)
            still[group] = true;
        step *= 1.5;
    }
}

static void move_to(int node, uint64_t cycle)
{
    int group = group_of[node];
    double seconds = (double)(cycle - known_at[group]) * SECONDS_PER_CYCLE;
    if (seconds <= 0)
        return;
    if (!still[group] && member_count[group] == 1)
        move_alone(node, seconds);
    else if (!still[group])
        move_joined(group, seconds);
    for (int i = 0; i < member_count[group]; i++)
        known_at[members[group][i]] = cycle;
}

static void move_all(uint64_t cycle)
{
    for (int node = 0; node < NODES; node++)
        move_to(node, cycle);
}

static void touched(int node)
{
    still[group_of[node]] = false;
}

void network_set_pin(int line, enum pin_mode mode, uint64_t cycle)
{
    if (pin[line] == mode)
        return;
    move_to(pin_node(line), cycle);
    pin[line] = mode;
    touched(pin_node(line));
}

void network_switched(int line, bool on, uint64_t cycle)
{
    if (switched[line] == on)
        return;
    move_to(pin_node(line), cycle);
    switched[line] = on;
    touched(pin_node(line));
}

enum pin_mode network_pin(int line)
{
    return pin[line];
}

void network_contact(int line, int other, double ohm, uint64_t cycle)
{
    move_all(cycle);
    joined_s[line][other] = joined_s[other][line] = ohm > 0 ? 1 / ohm : 0;
    find_groups();
}

void network_force(int line, double volt, double ohm, uint64_t cycle)
{
    move_to(line, cycle);
    force_v[line] = volt;
    force_s[line] = ohm > 0 ? 1 / ohm : 0;
    touched(line);
}

void network_open(int line, bool open, uint64_t cycle)
{
    move_all(cycle);
    if (open && !open_at_harness[line]) {
        volts[LINES + line] = volts[line];
        high[LINES + line] = high[line];
    } else if (!open && open_at_harness[line]) {
        high[line] = high[LINES + line];
    }
    open_at_harness[line] = open;
    find_groups();
}

void network_capacitance(int line, double pf, uint64_t cycle)
{
    move_to(line, cycle);
    farad[line] = pf * 1e-12;
    touched(line);
}

void network_pullup(int line, double ohm, uint64_t cycle)
{
    move_to(pin_node(line), cycle);
    pullup_ohm[line] = ohm;
    touched(pin_node(line));
}

bool network_level(int line, uint64_t cycle)
{
    int node = pin_node(line);
    if (pin[line] == PIN_LOW || pin[line] == PIN_HIGH)
        return pin[line] == PIN_HIGH;
    move_to(node, cycle);
    if (noise_v > 0)
        note_noisy_level(node);
    return high[node];
}

double network_sample(int line, double held_volt, uint64_t cycle)
{
    int node = pin_node(line);
    move_to(node, cycle);
    double sampler = SAMPLER_PF * 1e-12;
    volts[node] = (volts[node] * farad[node] + held_volt * sampler) / (farad[node] + sampler);
    note_level(node);
    touched(node);
    return noise_v > 0 ? fmax(0, volts[node] + one_noise()) : volts[node];
}

double network_sink_ma(int line, uint64_t cycle)
{
    int node = pin_node(line);
    move_to(node, cycle);
    return volts[node] / (SERIES_OHM + DRIVER_OHM) * 1e3;
}

bool network_opposed(void)
{
    for (int a = 0; a < LINES; a++)
        for (int b = a + 1; b < LINES; b++)
            if (group_of[pin_node(a)] == group_of[pin_node(b)]
                && ((pin[a] == PIN_LOW && pin[b] == PIN_HIGH) || (pin[a] == PIN_HIGH && pin[b] == PIN_LOW)))
                return true;
    return false;
}
