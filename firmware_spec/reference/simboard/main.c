/* The simulated board: runs the real image with a membrane on its pins.
 *
 *   simboard IMAGE.hex         lock step: script lines on standard input, answers on standard output
 *   simboard IMAGE.hex --pty   real time: prints the path of a pseudo-terminal that is the board's serial port; script lines
 *                              may still come on standard input; ends at its end or at `quit`
 */
#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <pty.h>
#include <stdio.h>
#include <string.h>
#include <termios.h>
#include <time.h>
#include <unistd.h>

#include "board.h"
#include "network.h"
#include "script.h"

#define LINE_ROOM (1 << 17)
#define QUANTUM_US 1000

static char line[LINE_ROOM];

static bool obey(char *text)
{
    enum script_said said = script_obey(text);
    if (said == SCRIPT_WRONG) {
        fprintf(stderr, "not understood: %s", text);
        printf("wrong\n");
        fflush(stdout);
    }
    return said != SCRIPT_QUIT;
}

static int lock_step(void)
{
    while (fgets(line, sizeof line, stdin) && obey(line)) {
    }
    return board_problem_count() ? 1 : 0;
}

static double seconds_now(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + now.tv_nsec * 1e-9;
}

static void exchange(int terminal)
{
    uint8_t bytes[256];
    ssize_t count = read(terminal, bytes, sizeof bytes);
    for (ssize_t i = 0; i < count; i++)
        board_receive(bytes[i]);
    struct sent_byte sent;
    size_t length = 0;
    while (length < sizeof bytes && board_sent(&sent))
        bytes[length++] = sent.byte;
    /* As on a real line, what nobody takes is lost. */
    if (length && write(terminal, bytes, length) < 0 && errno != EAGAIN && errno != EIO)
        perror("pseudo-terminal");
}

/* False at the end of the script or at `quit`. */
static bool hear_script(void)
{
    struct pollfd input = {.fd = STDIN_FILENO, .events = POLLIN};
    while (poll(&input, 1, 0) > 0) {
        size_t length = 0;
        while (length + 1 < sizeof line && read(STDIN_FILENO, line + length, 1) == 1 && line[length++] != '\n') {
        }
        line[length] = 0;
        if (length == 0 || !obey(line))
            return false;
    }
    return true;
}

static int real_time(void)
{
    int terminal, other;
    char path[256];
    struct termios raw;
    if (openpty(&terminal, &other, path, NULL, NULL) < 0) {
        perror("pseudo-terminal");
        return 2;
    }
    tcgetattr(other, &raw);
    cfmakeraw(&raw);
    tcsetattr(other, TCSANOW, &raw);
    fcntl(terminal, F_SETFL, O_NONBLOCK);
    printf("%s\n", path);
    fflush(stdout);
    double began = seconds_now();
    uint64_t first = board_cycle();
    while (hear_script()) {
        script_run_to(board_cycle() + QUANTUM_US * CYCLES_PER_US);
        exchange(terminal);
        double ahead = (double)(board_cycle() - first) * 1e-6 / CYCLES_PER_US - (seconds_now() - began);
        if (ahead > 0)
            usleep((useconds_t)(ahead * 1e6));
    }
    return board_problem_count() ? 1 : 0;
}

int main(int count, char **words)
{
    if (count < 2 || count > 3 || (count == 3 && strcmp(words[2], "--pty"))) {
        fprintf(stderr, "usage: simboard IMAGE.hex [--pty]\n");
        return 2;
    }
    board_start(words[1]);
    return count == 3 ? real_time() : lock_step();
}
