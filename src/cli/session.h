/* session.h - what the commands that reduce logs share: finding the bay, and the gnuplot that draws the papers
 */
#ifndef DUTYPROOF_CLI_SESSION_H
#define DUTYPROOF_CLI_SESSION_H

#include "cli/commands.h"

#include "filing/unit_papers.h"

/* A gnuplot process and the folder that it works in, started when first needed. {.parent = DIR} is ready to use. */
struct drawing {
    const char *parent; /* the scratch folder is made in here */
    struct arena arena; /* the scratch folder's name */
    struct press press;
    struct scratch scratch;
    bool refused; /* it could not be started, and that was told: not tried again */
};

/* Starts the process unless it runs. Status: E_CHILD, E_FILE, E_MEMORY; E_CHILD without a fault when it was refused
 * before. */
enum status drawing_start(struct drawing *drawing, struct faults *faults);

/* What is drawn in characters: script writes gnuplot's commands for its dumb terminal. */
struct plot {
    void (*script)(const void *what, int columns, int rows, FILE *to);
    const void *what;
    int columns, rows;
};

/* Draws a plot and copies it to a stream. Status: E_CHILD, E_FILE, E_MEMORY. */
enum status drawing_plot(struct drawing *drawing, const struct plot *plot, FILE *to, struct faults *faults);

/* Ends the process and removes the scratch folder. Status: E_CHILD, E_FILE. */
enum status drawing_stop(struct drawing *drawing, struct faults *faults);

/* Opens OUT for writing; a lock that has to be waited for is told. Status: E_FILE, E_MEMORY. */
enum status session_out(const char *path, const char *command, struct out *out, struct faults *faults);

/* Where a drawing may work when nothing else is written: TMPDIR, else the temporary folder that POSIX provides. */
const char *temporary_folder(void);

/* Finds (--bay, else by the file's place) and reads the bay of a log or batch table. Status: E_FILE, E_INPUT, E_MEMORY.
 */
enum status session_bay(const struct options *options, const char *file, struct arena *arena, struct bay *bay,
                        struct faults *faults);

#endif
