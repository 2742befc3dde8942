#include "cli/commands.h"

#include <string.h>

const struct command commands[] = {
#define X(word, takes, uses, does, shows) {#word, takes, uses, does, shows, cmd_##word},
    COMMAND_LIST(X)
#undef X
        {NULL, NULL, 0, NULL, NULL, NULL},
};

const struct command *command_find(const char *name)
{
    const struct command *command = commands;
    while (command->name != NULL && strcmp(command->name, name) != 0) {
        command++;
    }
    return command->name == NULL ? NULL : command;
}

enum exit_status exit_worse(enum exit_status a, enum exit_status b)
{
    return a > b ? a : b;
}
