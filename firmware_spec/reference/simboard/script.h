/* Lines of text that say what happens to the board and when. Times are microseconds of the board since it was powered.
 *
 *   contact AT A B OHM     lines A and B are joined by OHM from then on; 0: not joined
 *   force AT LINE VOLT OHM a voltage from outside behind OHM; 0 OHM: taken away
 *   open AT LINE 1|0       the lead of a line is off, or on again
 *   capacitance AT LINE PF, pullup AT LINE OHM
 *   noise AT LSB SEED      every reading of an input sees its voltage with so much noise (rms), in 1024ths of the supply; 0: none
 *   send HEX               bytes to the board, from now on
 *   reset AT CAUSE         CAUSE: bits of the reset flag register
 *   poke ADDRESS HEX       bytes into the data memory, now
 *   run US                 lock step only: go on so long; answers   ran NOW HEX END,END,...   (NOW and END in 16ths of a us)
 *   until US               lock step only: as run, but returns early, at most 1 ms after a byte came
 *   measure                answers one JSON object of what was measured, and measures anew
 *   quit
 */
#ifndef SIMBOARD_SCRIPT_H
#define SIMBOARD_SCRIPT_H

#include <stdbool.h>
#include <stdint.h>

enum script_said { SCRIPT_DONE, SCRIPT_QUIT, SCRIPT_WRONG };

/* Obeys one line. */
enum script_said script_obey(char *line);

/* Runs the board and lets what was scheduled happen. */
void script_run_to(uint64_t cycle);

#endif
