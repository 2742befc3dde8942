#include "document.h"
#include "dutyproof/files.h"
#include "dutyproof/inspect.h"
#include "dutyproof/layout.h"
#include "dutyproof/render.h"
#include "dutyproof/text.h"

#include <math.h>

/* Largest relative deviation of a reading from the mean; absent where the mean is 0. */
static struct quantity fluctuation_of(const struct channel_stats *stats)
{
    double above = stats->high - stats->mean, below = stats->mean - stats->low;
    return stats->n > 1 && stats->mean != 0.0 ? quantity_of(fmax(above, below) / fabs(stats->mean)) : quantity_absent();
}

static bool log_has(const struct log *log, enum channel channel)
{
    return (log->channels >> channel & 1U) != 0;
}

/* Time and point number order the rows; they are not averaged. */
static bool is_measured(enum channel channel)
{
    return channel != CH_TIME && channel != CH_POINT;
}

/* Fluctuation is told relative to the mean, which says nothing about a temperature or a level. */
static bool has_ratio(enum channel channel)
{
    enum dimension dimension = channel_info(channel)->dimension;
    return dimension != DIM_TEMPERATURE && dimension != DIM_LENGTH;
}

static void number(struct grid *grid, const struct log *log, enum channel channel, double si)
{
    enum { DIGITS = 5 };
    char text[64];
    const struct unit *unit =
        unit_find(channel_info(channel)->dimension, log->units[channel] != NULL ? log->units[channel] : "");
    grid_add(grid, number_format(unit != NULL ? unit_from_si(unit, si) : si, DIGITS, text, sizeof text));
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
        grid_add(&grid, log->units[c] != NULL ? log->units[c] : "");
        grid_add(&grid, instrument != NULL && instrument->serial != NULL ? instrument->serial : "-");
        grid_addf(&grid, log->below_range[c] > 0 ? "%zu" : "-", log->below_range[c]);
        grid_addf(&grid, log->above_range[c] > 0 ? "%zu" : "-", log->above_range[c]);
    }
    return grid_print(&grid, colour, to);
}

static void point_heading(const struct settled_point *point, FILE *to)
{
    (void)fprintf(to, "\nPoint %d: %zu reading%s", point->number, point->readings, point->readings == 1 ? "" : "s");
    if (isfinite(point->from_s) && isfinite(point->to_s)) {
        char from[64], until[64];
        enum { DIGITS = 6 };
        (void)fprintf(to, ", %s s to %s s", number_format(point->from_s, DIGITS, from, sizeof from),
                      number_format(point->to_s, DIGITS, until, sizeof until));
    }
    if (!point->steady) {
        (void)fprintf(to, ", not steady: %s", point->why_unsteady != NULL ? point->why_unsteady : "");
    }
    (void)fputc('\n', to);
}

static enum status point_text(const struct log *log, const struct settled_point *point, bool colour,
                              struct arena *arena, FILE *to)
{
    struct grid grid = {.arena = arena, .columns = "llrrrrr"};
    static const char *const headings[] = {"channel", "unit", "n", "mean", "lowest", "highest", "fluctuation ±"};
    for (size_t i = 0; i < sizeof headings / sizeof headings[0]; i++) {
        grid_add(&grid, headings[i]);
    }
    for (enum channel c = 0; c < CHANNEL_COUNT; c++) {
        const struct channel_stats *stats = &point->channels[c];
        if (!is_measured(c) || stats->n == 0) {
            continue;
        }
        struct quantity fluctuation = has_ratio(c) ? fluctuation_of(stats) : quantity_absent();
        char percent[64];
        grid_add(&grid, channel_info(c)->name);
        grid_add(&grid, log->units[c] != NULL ? log->units[c] : "");
        grid_addf(&grid, "%zu", stats->n);
        number(&grid, log, c, stats->mean);
        number(&grid, log, c, stats->low);
        number(&grid, log, c, stats->high);
        grid_addf(&grid, fluctuation.known ? "%s %%" : "-",
                  number_format(100.0 * fluctuation.value, 2, percent, sizeof percent));
    }
    point_heading(point, to);
    return grid_print(&grid, colour, to);
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
    for (size_t i = 0; i < inspection->settled.count && status == OK; i++) {
        status = point_text(log, &inspection->settled.points[i], colour, &arena, to);
    }
    for (size_t i = 0; i < inspection->notes.count && status == OK; i++) {
        (void)fputs(i == 0 ? "\n" : "", to);
        const char *text = text_shown(&arena, inspection->notes.items[i].text, 1000);
        status = text == NULL ? E_MEMORY : OK;
        char label[32];
        (void)snprintf(label, sizeof label, "%s: ", note_kind_name(inspection->notes.items[i].kind));
        paragraph_print(label, text != NULL ? text : "", 4, to);
    }
    arena_release(&arena);
    return status;
}

static json_t *channels_value(struct document *doc, const struct inspection *inspection)
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
        put_text(doc, object, "unit", log->units[c]);
        put_text(doc, object, "instrument", instrument != NULL ? instrument->serial : NULL);
        put_count(doc, object, "below_range", log->below_range[c]);
        put_count(doc, object, "above_range", log->above_range[c]);
        append_value(doc, array, object);
    }
    return array;
}

static json_t *point_value(struct document *doc, const struct settled_point *point)
{
    json_t *object = json_object(), *channels = json_object();
    put_value(doc, object, "point", json_integer(point->number));
    put_count(doc, object, "readings", point->readings);
    put_value(doc, object, "steady", json_boolean(point->steady));
    put_text(doc, object, "unsteady_reason", point->steady ? NULL : point->why_unsteady);
    put_quantity(doc, object, "from_s", quantity_of(point->from_s));
    put_quantity(doc, object, "to_s", quantity_of(point->to_s));
    for (enum channel c = 0; c < CHANNEL_COUNT; c++) {
        const struct channel_stats *stats = &point->channels[c];
        if (!is_measured(c) || stats->n == 0) {
            continue;
        }
        json_t *channel = json_object();
        put_count(doc, channel, "readings", stats->n);
        put_quantity(doc, channel, "mean", quantity_of(stats->mean));
        put_quantity(doc, channel, "lowest", quantity_of(stats->low));
        put_quantity(doc, channel, "highest", quantity_of(stats->high));
        put_quantity(doc, channel, "standard_deviation",
                     stats->n > 1 ? quantity_of(stats->deviation) : quantity_absent());
        put_quantity(doc, channel, "fluctuation", has_ratio(c) ? fluctuation_of(stats) : quantity_absent());
        put_value(doc, channels, channel_info(c)->name, channel);
    }
    put_value(doc, object, "channels", channels);
    return object;
}

enum status render_inspection_json(const struct inspection *inspection, bool compact, char **text, size_t *length)
{
    struct document doc = {0};
    const struct log *log = &inspection->log;
    json_t *root = json_object(), *log_object = json_object(), *points = json_array(), *notes = json_array();
    put_text(&doc, root, "dutyproof", DUTYPROOF_VERSION);
    put_text(&doc, root, "serial", log->serial);
    put_text(&doc, root, "model", log->model);
    put_date(&doc, root, "tested", &log->tested);
    put_text(&doc, root, "tester", log->tester);
    put_text(&doc, log_object, "file", file_base(log->file));
    put_text(&doc, log_object, "sha256", log->sha256);
    put_count(&doc, log_object, "rows", log->rows);
    put_text(&doc, log_object, "kind", log_kind_name(inspection->settled.kind));
    put_value(&doc, root, "log", log_object);
    put_value(&doc, root, "channels", channels_value(&doc, inspection));
    for (size_t i = 0; i < inspection->settled.count; i++) {
        append_value(&doc, points, point_value(&doc, &inspection->settled.points[i]));
    }
    put_value(&doc, root, "points", points);
    for (size_t i = 0; i < inspection->notes.count; i++) {
        json_t *note = json_object();
        put_text(&doc, note, "kind", note_kind_name(inspection->notes.items[i].kind));
        put_text(&doc, note, "text", inspection->notes.items[i].text);
        append_value(&doc, notes, note);
    }
    put_value(&doc, root, "notes", notes);
    return document_end(&doc, root, compact, text, length);
}
