#include "papers/label_paper.h"

#include <math.h>

enum { BINS = 60 };

/* The strip under way. */
struct strip {
    const struct document *document;
    const struct label_batch *batch;
    const struct label_line *line;
    struct arena *arena;
    struct panel *panel;
    bool failed;
};

static struct series *begin(struct strip *strip, enum series_kind kind, enum series_style look, const char *name,
                            bool in_key)
{
    struct series *series = panel_series(strip->panel, strip->arena, kind, look, name);
    strip->failed = strip->failed || series == NULL;
    if (series != NULL) {
        series->in_key = in_key;
    }
    return series;
}

static void put(struct strip *strip, struct series *series, double x, double y)
{
    strip->failed = !series_add(series, strip->arena, x, y, NAN) || strip->failed;
}

static void widen(struct axis *axis, double value)
{
    axis->low = fmin(axis->low, value);
    axis->high = fmax(axis->high, value);
}

/* All units, before and after the change, and the edges on either side of the mean. */
static void set_axis(const struct strip *strip, struct axis *axis)
{
    const struct label_line *line = strip->line;
    axis->low = axis->high = line->mean.value;
    for (size_t i = 0; i < line->count; i++) {
        const struct label_unit *unit = &strip->batch->units[line->units[i]];
        widen(axis, unit->label.index.value);
        if (unit->changed.known) {
            widen(axis, unit->changed.index.value);
        }
    }
    double below = -INFINITY, above = INFINITY;
    for (size_t c = 0; c < line->tally_count; c++) {
        double edge = line->tallies[c].edge;
        below = edge <= line->mean.value ? fmax(below, edge) : below;
        above = edge > line->mean.value ? fmin(above, edge) : above;
    }
    widen(axis, isfinite(below) ? below : axis->low);
    widen(axis, isfinite(above) ? above : axis->high);
    double pad = axis->high > axis->low ? 0.08 * (axis->high - axis->low) : 0.05;
    axis->low -= pad;
    axis->high += pad;
    axis->parts = 8.0;
}

/* A sign a unit, in one of the bins of the axis; those of one bin stand on each other. Returns: the greatest pile. */
static size_t put_units(struct strip *strip, bool changed)
{
    const struct label_line *line = strip->line;
    const struct axis *axis = &strip->panel->x;
    size_t piles[BINS + 1] = {0}, greatest = 0;
    struct series *series = NULL;
    for (size_t i = 0; i < line->count; i++) {
        const struct label_unit *unit = &strip->batch->units[line->units[i]];
        const struct label_result *label = changed ? &unit->changed : &unit->label;
        double at = label->known ? floor((label->index.value - axis->low) / (axis->high - axis->low) * BINS) : -1.0;
        if (at >= 0.0 && at <= BINS) {
            series = series != NULL
                         ? series
                         : begin(strip, SERIES_POINTS, changed ? LOOK_THIRD : LOOK_MAIN,
                                 changed ? say(strip->document, "what if") : say(strip->document, "units"), true);
            size_t pile = ++piles[(size_t)at];
            greatest = pile > greatest ? pile : greatest;
            put(strip, series, axis->low + (at + 0.5) * (axis->high - axis->low) / BINS, (double)pile);
        }
    }
    return greatest;
}

static void put_upright(struct strip *strip, struct series *series, double at)
{
    if (series != NULL && series->count > 0) {
        put(strip, series, NAN, NAN);
    }
    put(strip, series, at, 0.0);
    put(strip, series, at, strip->panel->y.high);
}

/* An edge a class, its name above it. */
static void put_edges(struct strip *strip)
{
    const struct axis *axis = &strip->panel->x;
    struct series *edges = NULL;
    for (size_t c = 0; c < strip->line->tally_count; c++) {
        const struct label_tally *tally = &strip->line->tallies[c];
        if (tally->edge >= axis->low && tally->edge <= axis->high) {
            edges = edges != NULL
                        ? edges
                        : begin(strip, SERIES_CURVE, LOOK_LIMIT, say(strip->document, "edge of a class"), true);
            put_upright(strip, edges, tally->edge);
            strip->failed =
                !panel_word(strip->panel, strip->arena, tally->edge, 0.94, tally->class_name) || strip->failed;
        }
    }
}

struct plot *label_strip(const struct document *document, const struct label_batch *batch,
                         const struct label_line *line, struct arena *arena)
{
    struct strip strip = {.document = document, .batch = batch, .line = line, .arena = arena};
    struct plot *plot = arena_alloc(arena, 1, sizeof *plot);
    const char *text = arena_format(
        arena,
        say(document, "Index of each of %zu units of model %.80s, and their mean, against the classes of %.80s."),
        line->count, line->model->name, line->typical->scheme);
    if (plot == NULL || text == NULL) {
        return NULL;
    }
    *plot = (struct plot){.name = "strip of classes", .text = text, .least = 0.24, .most = 0.3};
    strip.panel = plot_panel(plot, arena, 0.0, 0.0, 1.0, 1.0);
    if (strip.panel == NULL) {
        return NULL;
    }
    strip.panel->x.name = say(document, "Index");
    strip.panel->y.name = say(document, "Units");
    strip.panel->y.whole = true;
    strip.panel->y.parts = 3.0;
    set_axis(&strip, &strip.panel->x);
    size_t most = put_units(&strip, false), changed = batch->changed ? put_units(&strip, true) : 0;
    most = changed > most ? changed : most;
    strip.panel->y.high = (double)(most < 3 ? 3 : most) + 1.0;
    put_edges(&strip);
    put_upright(&strip, begin(&strip, SERIES_CURVE, LOOK_GUARANTEE, say(document, "mean"), true), line->mean.value);
    strip.failed = !panel_word(strip.panel, arena, line->mean.value, 0.78, say(document, "mean")) || strip.failed;
    plot->title = arena_format(arena,
                               line->count == 1 ? say(document, "%.80s, model %.80s: %zu unit")
                                                : say(document, "%.80s, model %.80s: %zu units"),
                               line->typical->scheme, line->model->name, line->count);
    strip.failed = strip.failed || plot->title == NULL;
    return strip.failed ? NULL : plot;
}
