/* log_heading.h - which line of a log holds its headings, and the row of units beneath it
 */
#ifndef DUTYPROOF_LOG_HEADING_H
#define DUTYPROOF_LOG_HEADING_H

#include "tables/bay.h"
#include "tables/table.h"

/* How many cells of a line name a channel (or the date). Returns: 0 also where memory is out. */
size_t heading_score(const char *text, size_t length, const struct bay *bay);

enum units_row { UNITS_NONE, UNITS_TAKEN, UNITS_CONTRADICT };

/* Takes a line beneath the headings as a row of units: each cell below a channel is a unit of it, blank or a dash, and
 * none is a number. The units go to the columns that state none. *at: the column that contradicts.
 * Status: E_MEMORY. */
enum status heading_units(struct table *header, const char *text, size_t length, const struct bay *bay,
                          struct arena *arena, enum units_row *found, size_t *at);

/* True when the line begins, after blank cells, with a word such as "Average" that no row of readings begins with. */
bool is_footer(const char *text, size_t length, char delimiter);

#endif
