/* help.h - what the program says of itself
 */
#ifndef DUTYPROOF_CLI_HELP_H
#define DUTYPROOF_CLI_HELP_H

#include "cli/commands.h"

#include <stdio.h>

/* How the program is used, with its commands and exit statuses. */
void help_program(FILE *to);

/* How one command is used, with its options and an example. */
void help_command(const struct command *command, FILE *to);

#endif
