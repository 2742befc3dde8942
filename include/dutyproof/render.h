/* render.h - a finished result as text, JSON, CSV and paper (the last stage: computes nothing)
 */
#ifndef DUTYPROOF_RENDER_H
#define DUTYPROOF_RENDER_H

#include "dutyproof/result.h"

#include <stdio.h>

/* The result document (see README), indented, or on one line when compact. Memory: *text from malloc, the caller frees it. Status: E_MEMORY. */
enum status render_json(const struct result *result, bool compact, char **text, size_t *length);

/* The sheet as plain text, at most 100 columns: verdict first, checks, points, notes. colour: ANSI for a terminal. */
void render_sheet_text(const struct result *result, bool colour, FILE *to);

/* points.csv: each point as tested and at rated speed. */
void render_points_csv(const struct result *result, FILE *to);

/* curves.dat and curves.gp: data and a plain script from which anyone can redraw the curves. */
void render_curves_data(const struct result *result, FILE *to);
void render_curves_script(const struct result *result, FILE *to);

/* The gnuplot script of the one-page sheet; it draws into pdf_name in gnuplot's own folder. */
void render_sheet_script(const struct result *result, const char *pdf_name, FILE *to);

/* H-Q in characters, for --plot: a script for gnuplot's dumb terminal. */
void render_plot_script(const struct result *result, int columns, int rows, FILE *to);

#endif
