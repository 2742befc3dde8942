#include "papers/render_inspect.h"
#include "base/files.h"
#include "base/text.h"
#include "papers/channel_shown.h"
#include "papers/layout.h"
#include "papers/render.h"
#include "papers/settled_document.h"

#include <math.h>

static bool log_has(const struct log *log, enum channel channel)
{
    return (log->channels >> channel & 1U) != 0;
}

static enum status channels_text(const struct inspection *inspection, bool colour, struct arena *arena, FILE *to)
{
    const struct log *log = &inspection->log;
    struct grid grid = {.arena = arena, .columns = "llllrr"};
    static const char *const headings[] = {"channel",    "heading in the log", "unit",
                                           "instrument", "below range",        "above range"};
    for (size_t i = 0; i < sizeof headings / sizeof headings[0]; i++) {
        grid_add(&grid, headings[i]);
    }
    for (enum channel c = 0; c < CHANNEL_COUNT; c++) {
        if (!log_has(log, c)) {
            continue;
        }
        const struct instrument *instrument = inspection->bay != NULL ? bay_instrument(inspection->bay, c) : NULL;
        grid_add(&grid, channel_info(c)->name);
        grid_add(&grid, log->headings[c] != NULL ? log->headings[c] : "");
        grid_add(&grid, channel_unit_name(log, c));
        grid_add(&grid, instrument != NULL && instrument->serial != NULL ? instrument->serial : "-");
        grid_addf(&grid, log->below_range[c] > 0 ? "%zu" : "-", log->below_range[c]);
        grid_addf(&grid, log->above_range[c] > 0 ? "%zu" : "-", log->above_range[c]);
    }
    return grid_print(&grid, colour, to);
}

static void time_range(double from_s, double to_s, FILE *to)
{
    (void)fprintf(to, "%.1f s to %.1f s", from_s, to_s);
}

static void point_heading(const struct settled_point *point, FILE *to)
{
    (void)fprintf(to, "\nPoint %d: %zu reading%s", point->number, point->readings, point->readings == 1 ? "" : "s");
    if (isfinite(point->from_s) && isfinite(point->to_s)) {
        (void)fputs(", ", to);
        time_range(point->from_s, point->to_s, to);
    }
    if (!point->steady) {
        (void)fprintf(to, ", not steady: %s", point->why_unsteady != NULL ? point->why_unsteady : "");
    }
    (void)fputc('\n', to);
}

/* A number in the log's unit; an empty cell, and in the end no column, where it means nothing. */
static void number(struct grid *grid, bool known, double shown, int digits)
{
    char text[64];
    grid_add(grid, known ? number_format(shown, digits, text, sizeof text) : "");
}

/* The mean of a channel and how far it is to be trusted: by its extremes in a reading sheet, in a record by statistics,
 * of which extremes tell little. */
static void channel_row(struct grid *grid, const struct log *log, enum channel c, const struct channel_stats *stats,
                        bool record)
{
    enum { MEAN_DIGITS = 5, SPREAD_DIGITS = 3, COUNT_DIGITS = 4, SHARE_DIGITS = 2 };
    struct quantity fluctuation = channel_fluctuation(c, stats);
    bool repeated = stats->n > 1;
    grid_add(grid, channel_info(c)->name);
    grid_add(grid, channel_unit_name(log, c));
    grid_addf(grid, "%zu", stats->n);
    number(grid, true, channel_shown(log, c, stats->mean), MEAN_DIGITS);
    number(grid, !record, channel_shown(log, c, stats->low), MEAN_DIGITS);
    number(grid, !record, channel_shown(log, c, stats->high), MEAN_DIGITS);
    number(grid, repeated, channel_difference_shown(log, c, stats->deviation), SPREAD_DIGITS);
    number(grid, repeated, channel_difference_shown(log, c, stats->standard_error), SPREAD_DIGITS);
    number(grid, repeated && record, stats->effective_n, COUNT_DIGITS);
    number(grid, repeated && record, channel_difference_shown(log, c, stats->drift), SPREAD_DIGITS);
    char percent[64];
    grid_addf(grid, fluctuation.known ? "%s %%" : "-",
              number_format(100.0 * fluctuation.value, SHARE_DIGITS, percent, sizeof percent));
}

static enum status point_text(const struct inspection *inspection, const struct settled_point *point, bool colour,
                              struct arena *arena, FILE *to)
{
    struct grid grid = {.arena = arena, .columns = "llrrrrrrrrr"};
    static const char *const headings[] = {"channel",  "unit",      "n",      "mean",  "lowest",       "highest",
                                           "st. dev.", "st. error", "eff. n", "drift", "fluctuation ±"};
    for (size_t i = 0; i < sizeof headings / sizeof headings[0]; i++) {
        grid_add(&grid, headings[i]);
    }
    for (enum channel c = 0; c < CHANNEL_COUNT; c++) {
        const struct channel_stats *stats = &point->channels[c];
        if (channel_is_measured(c) && stats->n > 0) {
            channel_row(&grid, &inspection->log, c, stats, inspection->settled.kind == LOG_CONTINUOUS_RECORD);
        }
    }
    point_heading(point, to);
    return grid_print(&grid, colour, to);
}

/* The stretches that the points are made of, and how they are written for --points. */
static enum status stretches_text(const struct settled *settled, bool colour, struct arena *arena, FILE *to)
{
    struct grid grid = {.arena = arena, .columns = "rrrrl"};
    static const char *const headings[] = {"point", "from [s]", "to [s]", "lasts [s]", "state"};
    const char *chosen = "";
    for (size_t i = 0; i < sizeof headings / sizeof headings[0]; i++) {
        grid_add(&grid, headings[i]);
    }
    for (size_t i = 0; i < settled->stretch_count; i++) {
        const struct settled_stretch *stretch = &settled->stretches[i];
        grid_addf(&grid, "%d", stretch->number);
        grid_addf(&grid, "%.1f", stretch->from_s);
        grid_addf(&grid, "%.1f", stretch->to_s);
        grid_addf(&grid, "%.1f", stretch->to_s - stretch->from_s);
        grid_add(&grid, stretch->steady ? "steady" : "not steady");
        if (stretch->steady && chosen != NULL) {
            chosen = arena_format(arena, "%s%s%.1f-%.1f", chosen, *chosen == '\0' ? "" : ",", stretch->from_s,
                                  stretch->to_s);
        }
    }
    if (settled->stretch_count == 0) {
        return OK;
    }
    (void)fputs("\nStretches, seconds from the first row:\n", to);
    enum status status = grid_print(&grid, colour, to);
    if (chosen != NULL && *chosen != '\0') {
        (void)fprintf(to, "To choose others: --points %s\n", chosen);
    }
    return chosen == NULL ? E_MEMORY : status;
}

static enum status notes_text(const struct notes *notes, struct arena *arena, FILE *to)
{
    for (size_t i = 0; i < notes->count; i++) {
        const char *text = text_shown(arena, notes->items[i].text, 1000);
        char label[32];
        if (text == NULL) {
            return E_MEMORY;
        }
        (void)fputs(i == 0 ? "\n" : "", to);
        (void)snprintf(label, sizeof label, "%s: ", note_kind_name(notes->items[i].kind));
        paragraph_print(label, text, 4, to);
    }
    return OK;
}

enum status render_inspection_text(const struct inspection *inspection, bool colour, FILE *to)
{
    struct arena arena = {0};
    const struct log *log = &inspection->log;
    const char *name = text_shown(&arena, file_base(log->file), 60);
    (void)fprintf(to, "%s: %s, %zu rows, %zu points\nSHA-256 %s\n", name != NULL ? name : "",
                  log_kind_name(inspection->settled.kind), log->rows, inspection->settled.count, log->sha256);
    if (inspection->bay == NULL) {
        (void)fputs("Read without a bay: no column was mapped and no instrument corrected.\n", to);
    }
    (void)fputc('\n', to);
    enum status status = name == NULL ? E_MEMORY : channels_text(inspection, colour, &arena, to);
    if (status == OK) {
        status = stretches_text(&inspection->settled, colour, &arena, to);
    }
    for (size_t i = 0; i < inspection->settled.count && status == OK; i++) {
        status = point_text(inspection, &inspection->settled.points[i], colour, &arena, to);
    }
    if (status == OK) {
        status = notes_text(&inspection->notes, &arena, to);
    }
    arena_release(&arena);
    return status;
}

static json_t *channels_value(struct json_document *doc, const struct inspection *inspection)
{
    const struct log *log = &inspection->log;
    json_t *array = json_array();
    for (enum channel c = 0; c < CHANNEL_COUNT; c++) {
        if (!log_has(log, c)) {
            continue;
        }
        const struct instrument *instrument = inspection->bay != NULL ? bay_instrument(inspection->bay, c) : NULL;
        json_t *object = json_object();
        put_text(doc, object, "channel", channel_info(c)->name);
        put_text(doc, object, "heading", log->headings[c]);
        put_text(doc, object, "unit", channel_unit_name(log, c));
        put_text(doc, object, "instrument", instrument != NULL ? instrument->serial : NULL);
        put_count(doc, object, "below_range", log->below_range[c]);
        put_count(doc, object, "above_range", log->above_range[c]);
        append_value(doc, array, object);
    }
    return array;
}

static json_t *stretches_value(struct json_document *doc, const struct settled *settled)
{
    json_t *array = json_array();
    for (size_t i = 0; i < settled->stretch_count; i++) {
        const struct settled_stretch *stretch = &settled->stretches[i];
        json_t *object = json_object();
        put_value(doc, object, "point", json_integer(stretch->number));
        put_quantity(doc, object, "from_s", quantity_of(stretch->from_s));
        put_quantity(doc, object, "to_s", quantity_of(stretch->to_s));
        put_value(doc, object, "steady", json_boolean(stretch->steady));
        append_value(doc, array, object);
    }
    return array;
}

static json_t *point_value(struct json_document *doc, const struct settled_point *point, enum log_kind kind)
{
    json_t *object = json_object();
    put_settled(doc, object, point);
    put_value(doc, object, "channels", statistics_value(doc, point, kind, 1));
    return object;
}

enum status render_inspection_json(const struct inspection *inspection, bool compact, char **text, size_t *length)
{
    struct json_document doc = {0};
    const struct log *log = &inspection->log;
    json_t *root = json_object(), *points = json_array(), *notes = json_array();
    put_text(&doc, root, "dutyproof", DUTYPROOF_VERSION);
    put_text(&doc, root, "serial", log->serial);
    put_text(&doc, root, "model", log->model);
    put_date(&doc, root, "tested", &log->tested);
    put_text(&doc, root, "tester", log->tester);
    put_value(&doc, root, "log", log_value(&doc, log, inspection->settled.kind));
    put_value(&doc, root, "channels", channels_value(&doc, inspection));
    for (size_t i = 0; i < inspection->settled.count; i++) {
        append_value(&doc, points, point_value(&doc, &inspection->settled.points[i], inspection->settled.kind));
    }
    if (inspection->settled.kind == LOG_CONTINUOUS_RECORD) {
        put_value(&doc, root, "stretches", stretches_value(&doc, &inspection->settled));
    }
    put_value(&doc, root, "points", points);
    for (size_t i = 0; i < inspection->notes.count; i++) {
        json_t *note = json_object();
        put_text(&doc, note, "kind", note_kind_name(inspection->notes.items[i].kind));
        put_text(&doc, note, "text", inspection->notes.items[i].text);
        append_value(&doc, notes, note);
    }
    put_value(&doc, root, "notes", notes);
    return json_document_end(&doc, root, compact, text, length);
}
