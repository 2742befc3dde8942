/* A reading sheet or a record, points numbered by the log or searched for: all ways lead over the same blocks and the
 * same statistics, so that a point means the same whichever way it was found.
 */
#include "settle/settle.h"

#include "settle/record.h"
#include "settle/spikes.h"
#include "settle/stuck.h"
#include "settle/trace.h"

#include <math.h>
#include <stdlib.h>

/* Rows follow each other this closely in a record; a person who writes a sheet is slower. */
#define RECORD_STEP_S 5.0

/* ... in at least this share of the steps. */
#define RECORD_STEP_SHARE 0.8

#define SHORTEST_DEFAULT_S 15.0

enum {
    WINDOW_BLOCKS = 15,     /* blocks in the shortest steady stretch */
    RECORD_ROWS_MIN = 20,   /* fewer rows are a sheet whatever their times */
    RECORD_ROWS_MANY = 400, /* more rows are a record whatever their times */
    SHEET_ROWS_MAX = 40,    /* rows that may be a point each where a time column, but no point column is there */
    POINTS_MAX = 1000,
};

struct settler {
    struct settle_rule rule;
    struct arena *arena;
    struct blocks blocks;
    struct spikes spikes;
    size_t rows, steps, small_steps;
    double last_s;
    bool timed;
    size_t early_count; /* the first rows as they came, in case each is a point */
    struct reading *early;
    bool too_many_changes;
};

struct settler *settle_new(const struct settle_rule *rule, struct arena *arena)
{
    struct settler *settler = calloc(1, sizeof *settler);
    if (settler == NULL) {
        return NULL;
    }
    settler->rule = *rule;
    if (!(settler->rule.shortest_s > 0.0)) {
        settler->rule.shortest_s = SHORTEST_DEFAULT_S;
    }
    settler->arena = arena;
    blocks_init(&settler->blocks, settler->rule.shortest_s / WINDOW_BLOCKS);
    return settler;
}

void settle_release(struct settler *settler)
{
    if (settler != NULL) {
        blocks_release(&settler->blocks);
        free(settler);
    }
}

/* --- taking rows --- */

static bool is_record(const struct settler *settler)
{
    return settler->rows >= RECORD_ROWS_MIN &&
           (double)settler->small_steps >= RECORD_STEP_SHARE * (double)settler->steps && settler->steps > 0;
}

/* The point that a row counts for: the stretch chosen by hand, or the log's own number. */
static int point_of(const struct settler *settler, const struct reading *reading)
{
    if (settler->rule.stretches == NULL) {
        return reading_has(reading, CH_POINT) ? (int)reading->value[CH_POINT] : 0;
    }
    for (size_t i = 0; i < settler->rule.stretch_count; i++) {
        const struct stretch *stretch = &settler->rule.stretches[i];
        double time_s = reading->value[CH_TIME];
        if (reading_has(reading, CH_TIME) && time_s >= stretch->from_s && time_s <= stretch->to_s) {
            return (int)i + 1;
        }
    }
    return 0;
}

static enum status add_row(struct settler *settler, const struct reading *reading)
{
    enum status status =
        settler->too_many_changes ? OK : blocks_add(&settler->blocks, reading, point_of(settler, reading));
    if (status == E_INPUT) {
        settler->too_many_changes = true; /* said once, at the end */
        return OK;
    }
    return status;
}

static void count_step(struct settler *settler, const struct reading *reading)
{
    if (!reading_has(reading, CH_TIME)) {
        return;
    }
    if (settler->timed) {
        settler->steps++;
        settler->small_steps += reading->value[CH_TIME] - settler->last_s <= RECORD_STEP_S;
    }
    settler->timed = true;
    settler->last_s = reading->value[CH_TIME];
}

enum status settle_take(void *context, const struct reading *reading)
{
    struct settler *settler = context;
    if (settler->rows++ < RECORD_ROWS_MANY) {
        struct reading *copy = arena_push(settler->arena, &settler->early, &settler->early_count, sizeof *copy);
        if (copy == NULL) {
            return E_MEMORY;
        }
        *copy = *reading;
    }
    count_step(settler, reading);
    const struct reading *ready = spikes_take(&settler->spikes, reading, is_record(settler));
    return ready == NULL ? OK : add_row(settler, ready);
}

/* --- points from the log's numbers --- */

static int compare_found(const void *left, const void *right)
{
    const struct found *a = left, *b = right;
    if (a->point != b->point) {
        return a->point < b->point ? -1 : 1;
    }
    return (a->run.first > b->run.first) - (a->run.first < b->run.first);
}

/* Neighbouring blocks of one number are a run. */
static enum status find_numbered(const struct settler *settler, struct findings *findings, struct faults *faults)
{
    const struct blocks *blocks = &settler->blocks;
    *findings = (struct findings){0};
    for (size_t i = 0; i < blocks->count; i++) {
        int point = blocks_head(blocks, i)->point;
        bool goes_on = i > 0 && point == blocks_head(blocks, i - 1)->point;
        if (point == 0) {
            continue;
        }
        if (!goes_on) {
            struct found *found = arena_push(settler->arena, &findings->items, &findings->count, sizeof *found);
            if (found == NULL) {
                return faults_memory(faults);
            }
            *found = (struct found){.run = {.first = i}, .point = point, .steady = true};
        }
        findings->items[findings->count - 1].run.end = i + 1;
    }
    return OK;
}

/* --- points from findings --- */

static enum status add_point(const struct settler *settler, const struct found *found, size_t count, bool record,
                             const double *memory, struct settled *out)
{
    struct run *runs = arena_alloc(settler->arena, count, sizeof *runs);
    struct settled_point *point = arena_push(settler->arena, &out->points, &out->count, sizeof *point);
    if (runs == NULL || point == NULL) {
        return E_MEMORY;
    }
    for (size_t i = 0; i < count; i++) {
        runs[i] = found[i].run;
    }
    point->number = found->point;
    point->steady = found->steady;
    point->why_unsteady = found->why_unsteady;
    point_stats_fill(&settler->blocks, runs, count, record, memory, point);
    return OK;
}

static enum status list_stretches(const struct settler *settler, const struct findings *findings, struct settled *out)
{
    out->stretches = arena_alloc(settler->arena, findings->count, sizeof *out->stretches);
    if (out->stretches == NULL) {
        return E_MEMORY;
    }
    out->stretch_count = findings->count;
    for (size_t i = 0; i < findings->count; i++) {
        const struct found *found = &findings->items[i];
        out->stretches[i] = (struct settled_stretch){
            .from_s = blocks_head(&settler->blocks, found->run.first)->from_s,
            .to_s = blocks_head(&settler->blocks, found->run.end - 1)->to_s,
            .number = found->point,
            .steady = found->steady,
        };
    }
    return OK;
}

/* How far the noise of each channel remembers itself, from all points of a record, whose findings stand in the order of
 * numbers. Status: E_MEMORY. */
static enum status find_memory(const struct settler *settler, const struct findings *findings, double *memory)
{
    struct memory_sums sums[CHANNEL_COUNT] = {{0}};
    struct run *runs = arena_alloc(settler->arena, findings->count, sizeof *runs);
    if (runs == NULL) {
        return E_MEMORY;
    }
    for (size_t i = 0; i < findings->count; i++) {
        runs[i] = findings->items[i].run;
    }
    for (size_t first = 0, end; first < findings->count; first = end) {
        for (end = first + 1; end < findings->count && findings->items[end].point == findings->items[first].point;) {
            end++;
        }
        for (int c = 0; c < CHANNEL_COUNT; c++) {
            if ((settler->blocks.channels >> c & 1U) != 0) {
                memory_add(&sums[c], &settler->blocks, runs + first, end - first, (enum channel)c);
            }
        }
    }
    for (int c = 0; c < CHANNEL_COUNT; c++) {
        memory[c] = memory_of(&sums[c]);
    }
    return OK;
}

/* Makes one point of all stretches of a number. Puts findings into the order of numbers. */
static enum status make_points(const struct settler *settler, struct findings *findings, const char *file,
                               struct settled *out, struct faults *faults)
{
    bool record = out->kind == LOG_CONTINUOUS_RECORD;
    if (record && list_stretches(settler, findings, out) != OK) {
        return faults_memory(faults);
    }
    if (findings->count > 0) {
        qsort(findings->items, findings->count, sizeof *findings->items, compare_found);
    }
    double memory[CHANNEL_COUNT] = {0};
    if (record && find_memory(settler, findings, memory) != OK) {
        return faults_memory(faults);
    }
    for (size_t first = 0, end; first < findings->count; first = end) {
        for (end = first + 1; end < findings->count && findings->items[end].point == findings->items[first].point;) {
            end++;
        }
        if (out->count == POINTS_MAX) {
            return faults_add(faults, E_INPUT, (struct place){file, 0, 0},
                              "more than %d points, expected the points of one test", POINTS_MAX);
        }
        if (add_point(settler, &findings->items[first], end - first, record, memory, out) != OK) {
            return faults_memory(faults);
        }
    }
    return OK;
}

/* A short table without point numbers: each row is a point. */
static enum status make_row_points(const struct settler *settler, struct settled *out, struct faults *faults)
{
    for (size_t i = 0; i < settler->early_count; i++) {
        const struct reading *row = &settler->early[i];
        struct settled_point *point = arena_push(settler->arena, &out->points, &out->count, sizeof *point);
        if (point == NULL) {
            return faults_memory(faults);
        }
        bool timed = reading_has(row, CH_TIME);
        *point = (struct settled_point){.number = (int)i + 1,
                                        .readings = 1,
                                        .line = row->line,
                                        .steady = true,
                                        .from_s = timed ? row->value[CH_TIME] : NAN,
                                        .to_s = timed ? row->value[CH_TIME] : NAN};
        for (unsigned channel = 0; channel < CHANNEL_COUNT; channel++) {
            if (reading_has(row, (enum channel)channel) && channel != CH_TIME) {
                double value = row->value[channel];
                point->channels[channel] =
                    (struct channel_stats){.n = 1, .mean = value, .low = value, .high = value, .effective_n = 1};
            }
        }
    }
    return OK;
}

/* --- the end --- */

static enum status check_stretches(const struct settler *settler, const struct settled *out, struct faults *faults,
                                   const char *file)
{
    for (size_t i = 0; i < settler->rule.stretch_count; i++) {
        bool found = false;
        for (size_t p = 0; p < out->count; p++) {
            found = found || out->points[p].number == (int)i + 1;
        }
        if (!found) {
            return faults_add(faults, E_INPUT, (struct place){file, 0, 0},
                              "no row from %g s to %g s, expected a stretch of the record",
                              settler->rule.stretches[i].from_s, settler->rule.stretches[i].to_s);
        }
    }
    return OK;
}

/* Finds the stretches of a log that is not a row per point. */
static enum status find_points(struct settler *settler, struct log *log, struct settled *out, struct notes *notes,
                               struct faults *faults)
{
    struct findings findings = {0};
    bool numbered = settler->rule.stretches != NULL || (log->channels >> CH_POINT & 1U) != 0;
    enum status status;
    if (numbered) {
        status = find_numbered(settler, &findings, faults);
    } else {
        status =
            record_search(&settler->blocks, settler->rule.shortest_s, log->file, settler->arena, &findings, faults);
    }
    if (status == OK && out->kind == LOG_CONTINUOUS_RECORD) {
        status = stuck_find(&settler->blocks, settler->arena, log, notes);
        status = status == OK ? trace_make(&settler->blocks, settler->arena, out) : status;
        status = status == OK ? OK : faults_memory(faults);
    }
    if (status == OK) {
        status = make_points(settler, &findings, log->file, out, faults);
    }
    if (status == OK && settler->rule.stretches != NULL) {
        status = check_stretches(settler, out, faults, log->file);
    }
    if (status == OK && out->count == 0) {
        status = numbered
                     ? faults_add(faults, E_INPUT, (struct place){log->file, 0, 0},
                                  "no row has a point number above 0, expected the rows of each point numbered")
                     : faults_add(faults, E_INPUT, (struct place){log->file, 0, 0},
                                  "no steady stretch of at least %g s found, expected a record with settled points, "
                                  "a column 'point', or stretches chosen with --points",
                                  settler->rule.shortest_s);
    }
    return status;
}

static enum status flush(struct settler *settler)
{
    const struct reading *last = spikes_finish(&settler->spikes);
    enum status status = last == NULL ? OK : add_row(settler, last);
    if (status == OK && !settler->too_many_changes) {
        status = blocks_finish(&settler->blocks);
    }
    settler->too_many_changes = settler->too_many_changes || status == E_INPUT;
    return status == E_MEMORY ? E_MEMORY : OK;
}

enum status settle_finish(struct settler *settler, struct log *log, struct settled *out, struct notes *notes,
                          struct faults *faults)
{
    struct place at = {log->file, 0, 0};
    bool has_points = (log->channels >> CH_POINT & 1U) != 0, chosen = settler->rule.stretches != NULL;
    *out = (struct settled){.trace_channels = {CHANNEL_COUNT, CHANNEL_COUNT, CHANNEL_COUNT}};
    if (flush(settler) != OK) {
        return faults_memory(faults);
    }
    if (settler->rows == 0) {
        return faults_add(faults, E_INPUT, at, "no row with a reading, expected readings");
    }
    if (settler->too_many_changes) {
        return faults_add(faults, E_INPUT, at,
                          "the point number changes too often, expected the rows of a point together");
    }
    if (chosen && !settler->timed) {
        return faults_add(faults, E_INPUT, at, "no column 'time', expected one to choose stretches of");
    }
    if (!has_points && !chosen &&
        settler->rows <= (settler->timed ? (size_t)SHEET_ROWS_MAX : (size_t)RECORD_ROWS_MANY)) {
        out->kind = LOG_READING_SHEET;
        return make_row_points(settler, out, faults);
    }
    if (!has_points && !settler->timed) {
        return faults_add(faults, E_INPUT, at,
                          "%zu rows without a column 'point' or 'time', expected one of them to tell the points",
                          settler->rows);
    }
    log->defects[DEFECT_SPIKE] += settler->spikes.found; /* rows that are a point each keep theirs */
    bool record = !has_points || chosen || is_record(settler) || settler->rows > RECORD_ROWS_MANY;
    out->kind = record ? LOG_CONTINUOUS_RECORD : LOG_READING_SHEET;
    return find_points(settler, log, out, notes, faults);
}
