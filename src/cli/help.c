#include "cli/help.h"

void help_program(FILE *to)
{
    (void)fputs("dutyproof " DUTYPROOF_VERSION " - verdicts and papers from the test logs of borewell pump sets\n\n"
                "Usage: dutyproof COMMAND [OPTION...] [FILE...]\n\n"
                "Commands:\n",
                to);
    for (const struct command *command = commands; command->name != NULL; command++) {
        (void)fprintf(to, "  %-8s  %s\n", command->name, command->summary);
    }
    (void)fputs("\nExamples:\n", to);
    for (const struct command *command = commands; command->name != NULL; command++) {
        (void)fprintf(to, "  %s\n", command->example);
    }
    (void)fputs("\n'dutyproof COMMAND --help' tells the options of a command.\n\n"
                "Exit status:\n"
                "  0  every unit passes\n"
                "  1  at least one unit fails (its routine tests included) or could not be judged\n"
                "  2  bad usage, bad input, or a write that failed\n",
                to);
}

static void help_option(enum option_id option, FILE *to)
{
    const struct option_info *info = option_info(option);
    char shown[64];
    (void)snprintf(shown, sizeof shown, "--%s%s%s", info->name, info->argument != NULL ? " " : "",
                   info->argument != NULL ? info->argument : "");
    (void)fprintf(to, "  %-17s %s\n", shown, info->help);
}

void help_command(const struct command *command, FILE *to)
{
    (void)fprintf(to, "Usage: dutyproof %s [OPTION...] %s\n\n%s\n\nOptions:\n", command->name, command->operands,
                  command->summary);
    for (enum option_id option = 0; option < OPTION_COUNT; option++) {
        if ((command->options >> option & 1U) != 0) {
            help_option(option, to);
        }
    }
    help_option(OPTION_HELP, to);
    (void)fprintf(to, "\nExample:\n  %s\n", command->example);
}
