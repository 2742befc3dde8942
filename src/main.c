/* dutyproof - from the raw log of a pump set's test to its verdict and papers
 *
 * main reads the command line and calls the library; each command is a file of its own in cli/.
 */
#include "cli/commands.h"
#include "cli/console.h"
#include "cli/help.h"

#include "base/text.h"
#include "papers/press.h"
#include "tables/bay.h"

#include <dirent.h>
#include <fcntl.h>
#include <gsl/gsl_errno.h>
#include <signal.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* A program started with a standard stream closed would write its results into the first file that it opens. The closed
 * one becomes /dev/null, opened the wrong way round so that using it still fails. */
static bool hold_standard_streams(void)
{
    bool held = true;
    for (int fd = STDIN_FILENO; fd <= STDERR_FILENO; fd++) {
        if (fcntl(fd, F_GETFD) < 0) {
            held = open("/dev/null", fd == STDIN_FILENO ? O_WRONLY : O_RDONLY) == fd && held;
        }
    }
    return held;
}

/* The first word is not a command: say what it may have been meant to be. */
static enum exit_status not_a_command(const char *word)
{
    const char *names[32];
    size_t count = 0;
    for (const struct command *command = commands; command->name != NULL && count < sizeof names / sizeof names[0];
         command++) {
        names[count++] = command->name;
    }
    struct faults faults = {0};
    struct stat facts;
    const char *near = name_nearest(word, names, count);
    if (word[0] == '-') {
        (void)faults_add(&faults, E_USAGE, (struct place){0}, "a command must come before '%.80s'", word);
    } else if (near != NULL) {
        (void)faults_add(&faults, E_USAGE, (struct place){0}, "unknown command '%.80s', did you mean '%s'?", word,
                         near);
    } else if (stat(word, &facts) == 0) {
        (void)faults_add(&faults, E_USAGE, (struct place){0},
                         "'%.80s' is a file, not a command, did you mean 'dutyproof reduce %.80s'?", word, word);
    } else {
        (void)faults_add(&faults, E_USAGE, (struct place){0}, "unknown command '%.80s'", word);
    }
    return console_usage(&faults, NULL);
}

static enum exit_status run_command(const struct command *command, int argc, char **argv)
{
    struct options options;
    struct faults faults = {0};
    uint32_t several = command->run == cmd_find || command->run == cmd_verify ? USES(BAY) : 0;
    if (options_read(argc, argv, command->options | USES(HELP), several, &options, &faults) != OK) {
        return console_usage(&faults, command->name);
    }
    if (option_given(&options, OPTION_HELP)) {
        help_command(command, stdout);
        return EXIT_PASSED;
    }
    return command->run(&options);
}

static bool has_csv(const char *folder)
{
    DIR *listing = opendir(folder);
    bool found = false;
    for (const struct dirent *entry; listing != NULL && !found && (entry = readdir(listing)) != NULL;) {
        size_t length = strlen(entry->d_name);
        found = length > 4 && strcmp(entry->d_name + length - 4, ".csv") == 0;
    }
    if (listing != NULL) {
        (void)closedir(listing);
    }
    return found;
}

/* In a folder with logs and no bay the first step is to make one. */
static void say_first_step(void)
{
    struct arena arena = {0};
    if (bay_find("./log", &arena) == NULL && (has_csv(".") || has_csv("logs"))) {
        (void)fputs("Logs, but no bay here (no rig.csv): 'dutyproof start .' writes its tables to fill in.\n\n",
                    stderr);
    }
    arena_release(&arena);
}

static enum exit_status run(int argc, char **argv)
{
    if (argc < 2) {
        say_first_step();
        help_program(stderr);
        return EXIT_TROUBLE;
    }
    if (strcmp(argv[1], "--help") == 0 || strcmp(argv[1], "-h") == 0) {
        help_program(stdout);
        return EXIT_PASSED;
    }
    if (strcmp(argv[1], "--version") == 0) {
        (void)puts("dutyproof " DUTYPROOF_VERSION);
        return EXIT_PASSED;
    }
    const struct command *command = command_find(argv[1]);
    return command == NULL ? not_a_command(argv[1]) : run_command(command, argc - 1, argv + 1);
}

int main(int argc, char **argv)
{
    if (!hold_standard_streams()) {
        return EXIT_TROUBLE;
    }
    gsl_set_error_handler_off();
    /* A reader that goes away must not end us between two papers: the write fails instead, and is told. */
    (void)signal(SIGPIPE, SIG_IGN);
    /* So must a limit on the size of files. */
    (void)signal(SIGXFSZ, SIG_IGN);
    enum exit_status status = run(argc, argv);
    press_end();
    return (int)exit_worse(status, console_end());
}
