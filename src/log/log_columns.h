/* log_columns.h - which cell of a log's row is which channel, and what is done to its number
 */
#ifndef DUTYPROOF_LOG_COLUMNS_H
#define DUTYPROOF_LOG_COLUMNS_H

#include "log/log.h"
#include "tables/table.h"

/* A column that is read: value = scale x number + shift, which holds the unit, the instrument's gain and zero and the
 * transformer ratios. The limits apply to the number as it is written, so that no reading is converted to be compared.
 */
struct log_column {
    enum channel channel; /* CHANNEL_COUNT: the date; its range holds no number, so that each takes the slow way */
    size_t cell;          /* from 0 */
    double scale, shift;
    double lowest, highest;       /* beyond them it is no reading (channel_info) */
    double range_low, range_high; /* of the instrument; the same where it is not stated */
};

struct log_columns {
    size_t count, cell_count;
    struct log_column items[CHANNEL_COUNT + 1]; /* in order of cell */
    bool has_date;                              /* a date column */
    bool time_unstated;                         /* the time column has no unit: ISO 8601 stamps, or seconds */
};

/* The channel of a column: by rig.csv's mapping, by name, or by a name of the trade where no column has the name
 * itself. Returns: CHANNEL_COUNT when it is none. */
enum channel column_channel(const struct table *header, const struct table_column *column, const struct bay *bay);

bool column_is_date(const struct table_column *column);

/* Maps a log's header row. Fills log->channels, headings and units; unknown columns become one note.
 * bay may be NULL. Status: E_INPUT (no known column, a unit that is missing or unknown, two columns for one channel),
 * E_MEMORY. */
enum status log_columns_map(const struct table *header, const struct bay *bay, struct arena *arena, struct log *log,
                            struct log_columns *columns, struct notes *notes, struct faults *faults);

#endif
