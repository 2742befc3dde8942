/* layout.h - columns and paragraphs of plain text
 *
 * Widths count characters, not bytes, so that UTF-8 text lines up.
 */
#ifndef DUTYPROOF_LAYOUT_H
#define DUTYPROOF_LAYOUT_H

#include "base/arena.h"
#include "base/status.h"

#include <stdio.h>

enum { LAYOUT_WIDTH = 100 };

/* A table under construction. Start with {.arena = ..., .columns = "rll"}: a letter a column, r: numbers, set to the
 * right; l: text. */
struct grid {
    struct arena *arena;
    const char *columns;
    size_t heading_rows; /* rows that are headings, in bold where asked for; 0 means 1 */
    size_t count;        /* cells so far, row by row */
    const char **cells;  /* in the arena */
    bool failed;         /* memory ran out: grid_print says so */
};

/* Adds the next cell; headings come first. text is copied; longer than 40 characters it is cut with an
 * ellipsis. */
void grid_add(struct grid *grid, const char *text);

/* The same, formatted as printf does. */
void grid_addf(struct grid *grid, const char *fmt, ...) PRINTF_LIKE(2, 3);

/* Prints the table, indented by two. A column that holds nothing but "" and "-" below its heading is left out, and so
 * are columns at the right that would pass LAYOUT_WIDTH. bold: the headings in bold (ANSI). Status: E_MEMORY. */
enum status grid_print(const struct grid *grid, bool bold, FILE *to);

/* Prints label and then text as a paragraph broken between words at LAYOUT_WIDTH; further lines are indented by indent
 * characters, as is the text of the first where label is shorter than that. */
void paragraph_print(const char *label, const char *text, size_t indent, FILE *to);

#endif
