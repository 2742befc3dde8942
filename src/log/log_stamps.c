#include "log/log_stamps.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Stamps are coarse when, over STAMP_CHANGES changes (of a short log CHANGES_MIN), */
#define ROWS_PER_STAMP 1.5 /* so many rows share one on average, */
#define EVEN_SHARE     0.8 /* this share of the changes is one and the same step, the smallest, */
#define SPACING_MAX_S                                                                                                  \
    5.0 /* and rows follow each other as closely as those of a record do (reference/steady-state.md). */

enum { CHANGES_MIN = 3, HELD_MAX = 1024 };

#define STAMP_ERROR 1e-6 /* of stamps since 1970 */

static enum status pass_on(struct log_stamps *stamps, struct stamped_row *row)
{
    return stamps->take(stamps->context, row);
}

static bool is_timed(const struct stamped_row *row)
{
    return reading_has(&row->reading, CH_TIME);
}

static bool is_new_stamp(const struct log_stamps *stamps, const struct stamped_row *row)
{
    return stamps->stamped && is_timed(row) && row->reading.value[CH_TIME] != stamps->newest_s;
}

static enum status hold(struct log_stamps *stamps, const struct stamped_row *row)
{
    if (stamps->held == stamps->room) {
        enum { ROOM_AT_FIRST = 16 };
        size_t room = stamps->room == 0 ? ROOM_AT_FIRST : 2 * stamps->room;
        struct stamped_row *rows = realloc(stamps->rows, room * sizeof *rows);
        if (rows == NULL) {
            return E_MEMORY;
        }
        stamps->rows = rows;
        stamps->room = room;
    }
    stamps->rows[stamps->held++] = *row;
    if (is_timed(row)) {
        stamps->sharing = is_new_stamp(stamps, row) ? 1 : stamps->sharing + 1;
        stamps->newest_s = row->reading.value[CH_TIME];
        stamps->stamped = true;
    }
    return OK;
}

/* --- coarse stamps --- */

/* Where the first group held ends: before the next other stamp. A row without a time goes with the row before it.
 * timed: its rows with a time. */
static size_t group_end(const struct log_stamps *stamps, size_t *timed)
{
    size_t end = 0;
    double stamp_s = 0.0;
    *timed = 0;
    for (; end < stamps->held; end++) {
        const struct stamped_row *row = &stamps->rows[end];
        if (!is_timed(row)) {
            continue;
        }
        if (*timed > 0 && row->reading.value[CH_TIME] != stamp_s) {
            break;
        }
        stamp_s = row->reading.value[CH_TIME];
        ++*timed;
    }
    return end;
}

/* Passes on the first group held, spread over the step to the next stamp. A group that is short by two rows or more
 * keeps the usual spacing, so that the missing samples show: after it, or before the first, for the logger was started
 * within a step. last: the log ends with it. */
static enum status pass_group(struct log_stamps *stamps, bool last)
{
    size_t timed, end = group_end(stamps, &timed), number = 0;
    bool short_of = timed < stamps->per_stamp && (last || timed + 1 < stamps->per_stamp);
    double spacing_s = stamps->step_s / (double)(short_of ? stamps->per_stamp : timed);
    double late_s = short_of && !stamps->under_way && !last ? stamps->step_s - (double)timed * spacing_s : 0.0;
    for (size_t i = 0; i < end; i++) {
        struct stamped_row *row = &stamps->rows[i];
        if (is_timed(row)) {
            row->reading.value[CH_TIME] += late_s + (double)number++ * spacing_s;
        }
        enum status status = pass_on(stamps, row);
        if (status != OK) {
            return status;
        }
    }
    stamps->under_way = stamps->under_way || timed > 0;
    stamps->held -= end;
    memmove(stamps->rows, stamps->rows + end, stamps->held * sizeof *stamps->rows);
    return OK;
}

/* --- undecided --- */

static bool is_coarse(struct log_stamps *stamps)
{
    size_t even = 0;
    double step_s = INFINITY;
    for (size_t i = 0; i < stamps->changes; i++) {
        step_s = fmin(step_s, stamps->steps_s[i]);
    }
    for (size_t i = 0; i < stamps->changes; i++) {
        even += stamps->steps_s[i] - step_s <= STAMP_ERROR;
    }
    stamps->step_s = step_s;
    stamps->per_stamp = stamps->largest;
    return stamps->changes >= CHANGES_MIN && step_s > 0.0 &&
           (double)stamps->rows_before >= ROWS_PER_STAMP * (double)stamps->changes &&
           (double)even >= EVEN_SHARE * (double)stamps->changes && step_s <= SPACING_MAX_S * (double)stamps->per_stamp;
}

static enum status decide(struct log_stamps *stamps)
{
    stamps->kind = is_coarse(stamps) ? STAMPS_COARSE : STAMPS_AS_THEY_ARE;
    enum status status = OK;
    if (stamps->kind == STAMPS_COARSE) {
        for (size_t timed; status == OK && group_end(stamps, &timed) < stamps->held;) {
            status = pass_group(stamps, false);
        }
        return status;
    }
    for (size_t i = 0; i < stamps->held && status == OK; i++) {
        status = pass_on(stamps, &stamps->rows[i]);
    }
    stamps->held = 0;
    return status;
}

static enum status take_undecided(struct log_stamps *stamps, const struct stamped_row *row)
{
    if (is_new_stamp(stamps, row)) {
        stamps->steps_s[stamps->changes++] = row->reading.value[CH_TIME] - stamps->newest_s;
        stamps->rows_before += stamps->sharing;
        stamps->largest = stamps->sharing > stamps->largest ? stamps->sharing : stamps->largest;
    }
    enum status status = hold(stamps, row);
    bool enough = stamps->changes == STAMP_CHANGES || stamps->held == HELD_MAX;
    return status == OK && enough ? decide(stamps) : status;
}

/* --- rows --- */

enum status stamps_take(struct log_stamps *stamps, struct stamped_row *row)
{
    enum status status = OK;
    switch (stamps->kind) {
    case STAMPS_AS_THEY_ARE: return pass_on(stamps, row);
    case STAMPS_UNDECIDED: return take_undecided(stamps, row);
    case STAMPS_COARSE:
        if (is_new_stamp(stamps, row) || stamps->held == HELD_MAX) {
            status = pass_group(stamps, false);
        }
        return status == OK ? hold(stamps, row) : status;
    }
    return OK;
}

enum status stamps_finish(struct log_stamps *stamps)
{
    enum status status = stamps->kind == STAMPS_UNDECIDED ? decide(stamps) : OK;
    return status == OK && stamps->held > 0 ? pass_group(stamps, true) : status;
}

void stamps_release(struct log_stamps *stamps)
{
    free(stamps->rows);
    stamps->rows = NULL;
}
