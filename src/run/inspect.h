/* inspect.h - what a log holds, judged by nothing
 */
#ifndef DUTYPROOF_INSPECT_H
#define DUTYPROOF_INSPECT_H

#include "log/log.h"
#include "settle/settle.h"

/* What was read of a log and the points found in it. Everything lives in the arena given to inspect_log. */
struct inspection {
    const struct bay *bay; /* NULL: read without one, so nothing was mapped and no instrument corrected */
    struct log log;
    struct settled settled;
    struct notes notes;
};

/* Reads a log and finds its points. bay may be NULL. Status: E_INPUT, E_FILE, E_MEMORY: nothing in inspection holds. */
enum status inspect_log(const char *path, const struct bay *bay, const struct settle_rule *rule, struct arena *arena,
                        struct inspection *inspection, struct faults *faults);

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
