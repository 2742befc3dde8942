/* gnuplot.h - a gnuplot process that draws many pages
 *
 * The process runs in a private temporary folder; it is given scripts on its standard input and names no path of ours. Text
 * from an input reaches it only through script_text(), as a single-quoted literal without markup.
 */
#ifndef DUTYPROOF_GNUPLOT_H
#define DUTYPROOF_GNUPLOT_H

#include "dutyproof/arena.h"
#include "dutyproof/status.h"

#include <stdio.h>

struct gnuplot;

/* Starts gnuplot (found on PATH; DUTYPROOF_GNUPLOT names another). folder is where it works and leaves its files; it must exist.
 * Status: E_CHILD (what to install is in the fault), E_MEMORY. */
enum status gnuplot_start(const char *folder, struct gnuplot **gnuplot, struct faults *faults);

/* Runs one script and waits until gnuplot has done it. A gnuplot that dies, hangs for a minute or prints an error is a fault: E_CHILD. */
enum status gnuplot_run(struct gnuplot *gnuplot, const char *script, size_t length, struct faults *faults);

/* Ends the process and frees the handle; NULL is allowed. Status: E_CHILD when it did not end cleanly. */
enum status gnuplot_stop(struct gnuplot *gnuplot, struct faults *faults);

/* Writes text as a gnuplot single-quoted string literal, quotes included; control characters become spaces. */
void script_text(FILE *script, const char *text);

#endif
