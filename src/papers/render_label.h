/* render_label.h - a batch's labels as text, CSV, JSON and plot (computes nothing)
 */
#ifndef DUTYPROOF_RENDER_LABEL_H
#define DUTYPROOF_RENDER_LABEL_H

#include "label/label_batch.h"
#include "papers/press.h"

#include <stdio.h>

/* Each line of units: unit by unit, then against the classes, then what it means for the line; last what has no label
 * and why. At most 100 columns. colour: ANSI for a terminal. Status: E_MEMORY; failed writes are left for ferror(to).
 */
enum status render_label_text(const struct label_batch *batch, bool colour, FILE *to);

/* label.csv: a row a test. */
void render_label_csv(const struct label_batch *batch, FILE *to);

/* One document of units and lines, SI units and fractions; compact: on one line. *text from malloc, the caller frees
 * it. Status: E_MEMORY. */
enum status render_label_json(const struct label_batch *batch, bool compact, char **text, size_t *length);

/* The distribution of one line against the edges of its classes in characters, to whatever output was set before. */
void render_label_plot(const struct label_batch *batch, const struct label_line *line, int columns, int rows, FILE *to);

/* label.pdf and label.html, from malloc; the caller frees them, also upon failure. */
struct rendered_label {
    char *pdf, *html;
    size_t pdf_length, html_length;
};

/* Prints the label paper: each line's strip of classes with its units on it, its tables and figures. Status: E_CHILD,
 * E_FILE, E_MEMORY. */
enum status render_label_drawn(const struct label_batch *batch, struct press *press, struct rendered_label *rendered,
                               struct faults *faults);

#endif
