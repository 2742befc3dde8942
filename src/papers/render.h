/* render.h - a finished result as text, JSON, CSV and paper (the last stage: computes nothing)
 */
#ifndef DUTYPROOF_RENDER_H
#define DUTYPROOF_RENDER_H

#include "papers/press.h"
#include "run/result.h"
#include "tables/builtin.h"

#include <stdio.h>

/* The result document (see README), indented, or on one line when compact; it ends in a line end. The log is named by
 * its base name, so that the document does not depend on the folder that the program was started in; its SHA-256 tells
 * which file it was. Text that is not UTF-8 is made so. Memory: *text from malloc, the caller frees it. Status:
 * E_MEMORY. */
enum status render_json(const struct result *result, bool compact, char **text, size_t *length);

/* The sheet as plain text, at most 100 columns: verdict first, checks, points, notes. colour: ANSI for a terminal.
 * Status: E_MEMORY; failed writes are left for ferror(to). */
enum status render_sheet_text(const struct result *result, bool colour, FILE *to);

/* points.csv: each point as tested and at rated speed, in the model's units and with the digits of the papers; blank:
 * not measured. */
void render_points_csv(const struct result *result, FILE *to);

/* curves.dat and curves.gp: data and a plain script from which anyone can redraw the curves. */
enum status render_curves_data(const struct result *result, FILE *to);
enum status render_curves_script(const struct result *result, FILE *to);

/* The sheet as one self-contained HTML file, its plot in numbers only. Status: E_MEMORY. */
enum status render_sheet_html(const struct result *result, FILE *to);

/* The sheet as PDF and as one self-contained HTML file, by one drawing of its plot. Both from malloc, the caller frees
 * them. Status: E_CHILD (gnuplot or the PDF printer), E_FILE, E_MEMORY. */
enum status render_sheet_drawn(const struct result *result, struct press *press, char **pdf, size_t *pdf_length,
                               char **html, size_t *html_length, struct faults *faults);

/* H-Q in characters, for --plot: a script for gnuplot's dumb terminal, drawing to whatever output was set before it. */
void render_plot_script(const struct result *result, int columns, int rows, FILE *to);

/* The list of the built-in tables: name and what each holds, as text, and as a JSON document (ends in a line end; *text
 * from malloc, the caller frees it). Status: E_MEMORY. */
enum status render_tables_text(FILE *to);
enum status render_tables_json(char **text, size_t *length);

/* One table as a JSON document: its comment lines, and its rows as objects of the cells as written. *text from malloc,
 * the caller frees it. Status: E_MEMORY, E_INPUT (it is not a table). */
enum status render_table_json(const struct builtin_table *table, char **text, size_t *length);

/* What a table of a bay, or a log, may hold: "rig", "log", "models", ... From the lists that their readers use.
 * Status: E_MEMORY, E_INPUT (there is none of that name). */
enum status render_form_text(const char *name, FILE *to);
enum status render_form_json(const char *name, char **text, size_t *length);

/* Their names. Returns: NULL past the last. */
const char *render_form_name(size_t index);

/* Every unit that a heading may state, as a CSV table: SI = factor x reading + offset. */
void render_units_csv(FILE *to);

/* "reading sheet", "continuous record". */
const char *log_kind_name(enum log_kind kind);

#endif
