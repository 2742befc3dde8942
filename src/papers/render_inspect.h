/* render_inspect.h - an inspection as text, JSON and drawing
 */
#ifndef DUTYPROOF_RENDER_INSPECT_H
#define DUTYPROOF_RENDER_INSPECT_H

#include "run/inspect.h"
#include <stdbool.h>
#include <stdio.h>

/* The inspection as text, at most 100 columns (but for a long list of stretches, which must not be broken): the
 * channels with their units, the stretches of a record, then the points with the statistics of each channel. Status:
 * E_MEMORY; failed writes are left for ferror(to). */
enum status render_inspection_text(const struct inspection *inspection, bool colour, FILE *to);

/* The same as a JSON document in SI units (temperature: degree Celsius, speed: rpm), ending in a line end.
 * Memory: *text from malloc, the caller frees it. Status: E_MEMORY. */
enum status render_inspection_json(const struct inspection *inspection, bool compact, char **text, size_t *length);

/* A record in characters, for --plot: a script for gnuplot's dumb terminal, drawing flow, pressure and power over time,
 * rows high each, to whatever output was set before it. '.' is the record, '=' a steady stretch, '?' a setting that was
 * held, but is not steady; stretches carry the number of their point. Nothing is drawn for a reading sheet. */
void render_record_script(const struct inspection *inspection, int columns, int rows, FILE *to);

#endif
