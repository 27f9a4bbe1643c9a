/* The commands that set up a run and start it. */
#ifndef TAILWISE_SETTINGS_H
#define TAILWISE_SETTINGS_H

#include "answers.h"

void settings_lines(const struct command *command);
void settings_scan(const struct command *command);
void settings_watch(const struct command *command);
void settings_start(const struct command *command);

#endif
