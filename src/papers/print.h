/* print.h - the printers of documents
 *
 * Each takes any document and decides nothing of what it says. Failed writes are left for ferror(to).
 */
#ifndef DUTYPROOF_PAPERS_PRINT_H
#define DUTYPROOF_PAPERS_PRINT_H

#include "papers/document.h"
#include "papers/plot.h"

#include <stdio.h>

/* The tree itself, a line a node: for tests and for who looks for a fault. */
void print_tree(const struct document *document, FILE *to);

/* Plain text, at most LAYOUT_WIDTH columns; colour: ANSI for a terminal. Plots have no place in it: their numbers stand
 * in tables. Status: E_MEMORY. */
enum status print_text(const struct document *document, bool colour, FILE *to);

/* One file that loads nothing from anywhere: the plots, which are drawn, sit in it as images. script: of a page that
 * has one (batch.html), "" otherwise; the security policy lets this one run and no other. Status: E_MEMORY. */
enum status print_html(const struct document *document, const char *script, FILE *to);

/* A page's worth of text as HTML, and as an attribute in double quotes. */
void print_escaped(const char *text, FILE *to);

/* The same as one text. *html from malloc, the caller frees it, also upon failure. Status:
 * E_MEMORY. */
enum status print_html_whole(const struct document *document, const char *script, char **html, size_t *length,
                             struct faults *faults);

#endif
