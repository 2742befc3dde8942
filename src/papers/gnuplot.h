/* gnuplot.h - a gnuplot process that draws many pages
 *
 * The process works in a private temporary folder; it is given scripts on its standard input and names no path of ours.
 * Text from an input reaches it only through script_text(), as a single-quoted literal, or script_cell(), as one field
 * of a data block, and a script that shows such text sets its terminal to `noenhanced`: gnuplot then takes no letter of
 * it as a command, macro, format or markup.
 */
#ifndef DUTYPROOF_GNUPLOT_H
#define DUTYPROOF_GNUPLOT_H

#include "base/arena.h"
#include "base/status.h"

#include <stdio.h>

struct gnuplot;

/* Starts gnuplot (found on PATH; DUTYPROOF_GNUPLOT names another), without the user's own start-up files. folder is
 * where it works and leaves its files; it must exist. May be called by several threads at once, each with its own
 * folder. Status: E_CHILD (what to install is in the fault), E_MEMORY. *gnuplot is NULL upon failure. */
enum status gnuplot_start(const char *folder, struct gnuplot **gnuplot, struct faults *faults);

/* Runs one script (whole commands, the last line ended) and waits until gnuplot has done it. A command that fails is a
 * fault, and the next script runs all the same; once gnuplot has died or has been silent for a minute every further
 * call is a fault. Status: E_CHILD. */
enum status gnuplot_run(struct gnuplot *gnuplot, const char *script, size_t length, struct faults *faults);

/* The same for a script in a file of gnuplot's folder, whose name is ours and has no apostrophe. A long script is done
 * sooner so: gnuplot reads its standard input letter by letter. Status: E_CHILD. */
enum status gnuplot_load(struct gnuplot *gnuplot, const char *name, struct faults *faults);

/* Ends the process (by force if it does not end within five seconds) and frees the handle; NULL is allowed.
 * Status: E_CHILD when it did not end cleanly; no second fault is added for a process whose death gnuplot_run has
 * reported. */
enum status gnuplot_stop(struct gnuplot *gnuplot, struct faults *faults);

/* Writes text as a gnuplot string, a single-quoted literal (with apostrophes: several, joined); control characters
 * become spaces. */
void script_text(FILE *script, const char *text);

/* Writes text as one field of a data block whose separator is the tab: backslash and double quote, which gnuplot would
 * read there, are escaped; control characters become spaces. */
void script_cell(FILE *script, const char *text);

#endif
