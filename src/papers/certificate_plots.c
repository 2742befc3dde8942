#include "papers/certificate.h"

#include <math.h>
#include <string.h>

enum { BARS_MAX = 40 };

/* The plot under way. */
struct drawing {
    const struct document *document;
    struct arena *arena;
    struct figure_units units;
    struct plot *plot;
    struct panel *panel;
    bool failed;
};

static bool begin_plot(struct drawing *drawing, const char *name, const char *text, double least, double most)
{
    drawing->plot = arena_alloc(drawing->arena, 1, sizeof *drawing->plot);
    if (drawing->plot == NULL || text == NULL) {
        return false;
    }
    *drawing->plot = (struct plot){.name = name, .text = text, .least = least, .most = most};
    return true;
}

/* place: left, bottom, width, height, as shares of the plot. */
static struct panel *begin_panel(struct drawing *drawing, const double place[4], const char *x_name, const char *y_name)
{
    drawing->panel = plot_panel(drawing->plot, drawing->arena, place[0], place[1], place[2], place[3]);
    drawing->failed = drawing->failed || drawing->panel == NULL || x_name == NULL || y_name == NULL;
    if (drawing->panel != NULL) {
        drawing->panel->x.name = x_name == NULL ? "" : x_name;
        drawing->panel->y.name = y_name == NULL ? "" : y_name;
    }
    return drawing->panel;
}

static struct series *begin(struct drawing *drawing, enum series_kind kind, enum series_style look, const char *name,
                            bool in_key)
{
    struct series *series = panel_series(drawing->panel, drawing->arena, kind, look, name);
    drawing->failed = drawing->failed || series == NULL;
    if (series != NULL) {
        series->in_key = in_key;
    }
    return series;
}

static void put(struct drawing *drawing, struct series *series, double x, double y)
{
    drawing->failed = !series_add(series, drawing->arena, x, y, NAN) || drawing->failed;
}

static void gap(struct drawing *drawing, struct series *series)
{
    if (series != NULL && series->count > 0) {
        put(drawing, series, NAN, NAN);
    }
}

static void reach(struct axis *axis, double value)
{
    axis->low = fmin(axis->low, value);
    axis->high = fmax(axis->high, value);
}

/* A little more on both sides; never an empty range. */
static void make_roomy(struct axis *axis, double share)
{
    double length = axis->high - axis->low, more = length > 0.0 ? share * length : fmax(0.5, 0.05 * fabs(axis->high));
    axis->low -= more;
    axis->high += more;
}

/* --- all head curves --- */

static bool drawn(const struct batch_test *test, const struct batch_section *section)
{
    return test->model == section->model && !test->unread && !test->superseded && test->curve_known;
}

static void draw_test(struct drawing *drawing, struct series *series, const struct batch_test *test)
{
    gap(drawing, series);
    for (int i = 0; i < BATCH_CURVE; i++) {
        double share = (double)i / (BATCH_CURVE - 1);
        double flow_m3s = test->flow_low_m3s * (1.0 - share) + test->flow_high_m3s * share;
        double x = figure_shown(FIGURE_FLOW, &drawing->units, flow_m3s);
        double y = figure_shown(FIGURE_HEAD, &drawing->units, test->head_m[i]);
        put(drawing, series, x, y);
        reach(&drawing->panel->x, x);
        reach(&drawing->panel->y, y);
    }
}

static void draw_tests(struct drawing *drawing, const struct batch *batch, const struct batch_section *section,
                       bool passes)
{
    struct series *series = NULL;
    for (size_t i = 0; i < batch->count; i++) {
        const struct batch_test *test = &batch->tests[i];
        if (drawn(test, section) && (test->verdict == VERDICT_PASS) == passes) {
            series = series != NULL ? series
                                    : begin(drawing, SERIES_CURVE, passes ? LOOK_ASIDE : LOOK_FAILED,
                                            passes ? say(drawing->document, "passes")
                                                   : say(drawing->document, "fails or not judged"),
                                            true);
            draw_test(drawing, series, test);
        }
    }
}

static void draw_mark(struct drawing *drawing, struct series *series, const struct batch_duty *duty)
{
    struct outline_vertex vertices[OUTLINE_VERTICES];
    for (size_t count = tolerance_outline(&duty->tolerance, vertices), i = 0; i < count; i++) {
        if (vertices[i].start) {
            gap(drawing, series);
        }
        double y = figure_shown(FIGURE_HEAD, &drawing->units, vertices[i].head_m);
        put(drawing, series, figure_shown(FIGURE_FLOW, &drawing->units, vertices[i].flow_m3s), y);
        reach(&drawing->panel->y, y);
    }
}

struct plot *certificate_curves(const struct document *document, const struct batch *batch,
                                const struct batch_section *section, struct arena *arena)
{
    struct drawing drawing = {.document = document, .arena = arena, .units = figure_units_of(section->model)};
    const char *text = arena_format(
        arena, say(document, "Head curves of all units of model %.80s, with the guarantee and its tolerance."),
        section->model->name);
    if (!begin_plot(&drawing, "head curves", text, 0.42, 0.55)) {
        return NULL;
    }
    struct panel *panel =
        begin_panel(&drawing, (const double[]){0.0, 0.0, 1.0, 1.0},
                    arena_format(arena, say(document, "Flow Q, %s, at rated speed"), drawing.units.flow->name),
                    arena_format(arena, say(document, "Head H, %s"), drawing.units.head->name));
    if (panel == NULL) {
        return NULL;
    }
    panel->x.parts = 10.0;
    panel->y.low = INFINITY;
    panel->y.high = -INFINITY;
    draw_tests(&drawing, batch, section, true);
    draw_tests(&drawing, batch, section, false);
    struct series *marks = begin(&drawing, SERIES_CURVE, LOOK_GUARANTEE, say(document, "guarantee, tolerance"), true);
    for (size_t duty = 0; duty < section->duty_count; duty++) {
        if (section->head[duty].count > 0) {
            draw_mark(&drawing, marks, &section->head[duty].tests[0]->duties[duty]);
        }
    }
    panel->x.high *= 1.04;
    make_roomy(&panel->y, 0.05);
    return drawing.failed ? NULL : drawing.plot;
}

/* --- one series: its histogram and its run through the batch --- */

/* A series in shown units: head in the model's unit, efficiency in percent. */
struct shown {
    struct drawing *drawing;
    const struct batch_series *series;
    enum figure figure;
    const char *name; /* "Head margin, m" */
};

static double shown(const struct shown *data, double si)
{
    return figure_shown(data->figure, &data->drawing->units, si);
}

struct bars {
    double first, step;
    size_t count, greatest;
    size_t numbers[BARS_MAX];
};

static double round_step(double length, double parts)
{
    double ten = pow(10.0, floor(log10(length / parts))), times = length / parts / ten;
    return ten * (times < 1.5 ? 1.0 : times < 3.5 ? 2.0 : times < 7.5 ? 5.0 : 10.0);
}

/* Bars whose edges are multiples of a round step, about 1 + log2 n of them (Sturges 1926), and none too thin to see on
 * an axis of so great a length. */
static struct bars count_bars(const struct shown *data, double axis_length)
{
    const struct batch_series *series = data->series;
    double low = shown(data, series->least), high = shown(data, series->greatest);
    double parts = 1.0 + log2((double)series->count + 1.0);
    struct bars bars = {.step = round_step(fmax(high - low, 0.03 * axis_length * parts), parts)};
    bars.first = bars.step * floor(low / bars.step + 1e-9);
    for (size_t i = 0; i < series->count; i++) {
        double place = floor((shown(data, series->values[i]) - bars.first) / bars.step + 1e-9);
        size_t bar = place < 0.0 ? 0 : place >= BARS_MAX ? BARS_MAX - 1 : (size_t)place;
        bars.numbers[bar]++;
        bars.count = bar + 1 > bars.count ? bar + 1 : bars.count;
        bars.greatest = bars.numbers[bar] > bars.greatest ? bars.numbers[bar] : bars.greatest;
    }
    return bars;
}

static void draw_bars(struct drawing *drawing, const struct bars *bars)
{
    struct series *series = begin(drawing, SERIES_BARS, LOOK_ASIDE, say(drawing->document, "units in a bar"), false);
    for (size_t i = 0; i < bars->count; i++) {
        double left = bars->first + (double)i * bars->step, right = left + bars->step, top = (double)bars->numbers[i];
        if (bars->numbers[i] > 0) {
            gap(drawing, series);
            put(drawing, series, left, 0.0);
            put(drawing, series, right, 0.0);
            put(drawing, series, right, top);
            put(drawing, series, left, top);
            put(drawing, series, left, 0.0);
        }
    }
}

/* An upright line from bottom to top of the panel. */
static void draw_upright(struct drawing *drawing, struct series *series, double at)
{
    const struct panel *panel = drawing->panel;
    if (at >= panel->x.low && at <= panel->x.high) {
        gap(drawing, series);
        put(drawing, series, at, panel->y.low);
        put(drawing, series, at, panel->y.high);
    }
}

static void draw_histogram(const struct shown *data, const double place[4])
{
    struct drawing *drawing = data->drawing;
    const struct batch_series *series = data->series;
    struct panel *panel = begin_panel(drawing, place, data->name, say(drawing->document, "Units"));
    if (panel == NULL) {
        return;
    }
    panel->x.low = fmin(0.0, shown(data, series->least));
    panel->x.high = fmax(0.0, shown(data, series->greatest));
    if (series->permitted_high.known) {
        reach(&panel->x, shown(data, series->permitted_high.value));
    }
    struct bars bars = count_bars(data, fmax(panel->x.high - panel->x.low, 1e-3));
    reach(&panel->x, bars.first);
    reach(&panel->x, bars.first + (double)bars.count * bars.step);
    make_roomy(&panel->x, 0.04);
    panel->y.high = (double)bars.greatest * 1.1;
    panel->y.whole = true;
    draw_bars(drawing, &bars);
    struct series *limits =
        begin(drawing, SERIES_CURVE, LOOK_GUARANTEE, say(drawing->document, "limit of the grade"), true);
    draw_upright(drawing, limits, 0.0);
    if (series->permitted_high.known) {
        draw_upright(drawing, limits, shown(data, series->permitted_high.value));
    }
}

static void draw_level(struct drawing *drawing, struct series *series, double at)
{
    const struct panel *panel = drawing->panel;
    if (at >= panel->y.low && at <= panel->y.high) {
        gap(drawing, series);
        put(drawing, series, panel->x.low, at);
        put(drawing, series, panel->x.high, at);
    }
}

/* The course of values through the batch, a sign a unit, rings about what is out of control. */
static void draw_course(const struct shown *data, bool ranges)
{
    struct drawing *drawing = data->drawing;
    const struct batch_series *series = data->series;
    struct series *course = begin(drawing, SERIES_CURVE, LOOK_ASIDE, say(drawing->document, "course"), false);
    for (size_t i = ranges; i < series->count; i++) {
        double value = ranges ? fabs(series->values[i] - series->values[i - 1]) : series->values[i];
        put(drawing, course, (double)i + 1.0, shown(data, value));
    }
    struct series *units = begin(drawing, SERIES_POINTS, LOOK_MAIN, say(drawing->document, "unit"), false);
    for (size_t i = ranges; i < series->count; i++) {
        double value = ranges ? fabs(series->values[i] - series->values[i - 1]) : series->values[i];
        put(drawing, units, (double)i + 1.0, shown(data, value));
    }
    struct series *rings = NULL;
    for (size_t i = ranges; i < series->count; i++) {
        if (ranges ? series->out_range[i] : series->out_value[i] || series->run[i]) {
            rings = rings != NULL
                        ? rings
                        : begin(drawing, SERIES_POINTS, LOOK_RING, say(drawing->document, "out of control"), true);
            double value = ranges ? fabs(series->values[i] - series->values[i - 1]) : series->values[i];
            put(drawing, rings, (double)i + 1.0, shown(data, value));
        }
    }
}

static void draw_individuals(const struct shown *data, const double place[4])
{
    struct drawing *drawing = data->drawing;
    const struct batch_series *series = data->series;
    struct panel *panel = begin_panel(drawing, place, say(drawing->document, "Unit, in test order"), data->name);
    if (panel == NULL) {
        return;
    }
    panel->x = (struct axis){panel->x.name, 0.5, (double)series->count + 0.5, true, 5.0};
    panel->y.low = shown(data, series->least);
    panel->y.high = shown(data, series->greatest);
    if (series->low.known) {
        reach(&panel->y, shown(data, series->low.value));
        reach(&panel->y, shown(data, series->high.value));
    }
    if (panel->y.low > 0.0 && panel->y.low < panel->y.high - panel->y.low) { /* the limit, where it is not far below */
        panel->y.low = 0.0;
    }
    make_roomy(&panel->y, 0.06);
    draw_level(drawing, begin(drawing, SERIES_CURVE, LOOK_GUARANTEE, say(drawing->document, "least permitted"), false),
               0.0);
    draw_level(drawing, begin(drawing, SERIES_CURVE, LOOK_ASIDE, say(drawing->document, "mean"), true),
               shown(data, series->mean));
    if (series->low.known) {
        struct series *limits = begin(drawing, SERIES_CURVE, LOOK_LIMIT, say(drawing->document, "control limit"), true);
        draw_level(drawing, limits, shown(data, series->low.value));
        draw_level(drawing, limits, shown(data, series->high.value));
    }
    draw_course(data, false);
}

static void draw_ranges(const struct shown *data, const double place[4], const char *name)
{
    struct drawing *drawing = data->drawing;
    const struct batch_series *series = data->series;
    struct panel *panel = begin_panel(drawing, place, say(drawing->document, "Unit, in test order"), name);
    if (panel == NULL) {
        return;
    }
    panel->x = (struct axis){panel->x.name, 0.5, (double)series->count + 0.5, true, 5.0};
    for (size_t i = 1; i < series->count; i++) {
        reach(&panel->y, shown(data, fabs(series->values[i] - series->values[i - 1])));
    }
    if (series->range_high.known) {
        reach(&panel->y, shown(data, series->range_high.value));
    }
    panel->y.high = panel->y.high > 0.0 ? panel->y.high * 1.1 : 1.0;
    if (series->range_high.known) {
        draw_level(drawing, begin(drawing, SERIES_CURVE, LOOK_LIMIT, say(drawing->document, "control limit"), true),
                   shown(data, series->range_high.value));
        draw_level(drawing, begin(drawing, SERIES_CURVE, LOOK_ASIDE, say(drawing->document, "mean"), true),
                   shown(data, series->moving_range.value));
    }
    draw_course(data, true);
}

static void draw_series(struct drawing *drawing, const struct batch_series *series, double bottom, double height)
{
    enum figure figure = series->head ? FIGURE_HEAD : FIGURE_EFFICIENCY;
    const char *unit = figure_unit_name(figure, &drawing->units);
    struct shown data = {drawing, series, figure, NULL};
    data.name = arena_format(drawing->arena,
                             series->head ? say(drawing->document, "Head margin, %s")
                                          : say(drawing->document, "Efficiency margin, %s"),
                             unit);
    const char *range = arena_format(drawing->arena, say(drawing->document, "Moving range, %s"), unit);
    draw_histogram(&data, (const double[]){0.0, bottom, 0.33, height});
    draw_individuals(&data, (const double[]){0.33, bottom, 0.34, height});
    draw_ranges(&data, (const double[]){0.67, bottom, 0.33, height}, range);
}

struct plot *certificate_charts(const struct document *document, const struct batch_section *section, size_t duty,
                                struct arena *arena)
{
    struct drawing drawing = {.document = document, .arena = arena, .units = figure_units_of(section->model)};
    bool both = section->efficiency[duty].count > 0;
    const char *text =
        arena_format(arena,
                     say(document, "Margins of model %.80s: how often each was met, "
                                   "and in the order of testing with their control limits and moving ranges; head%s."),
                     section->model->name, both ? say(document, " above, efficiency below") : "");
    if (!begin_plot(&drawing, "charts", text, both ? 0.52 : 0.28, both ? 0.62 : 0.34)) {
        return NULL;
    }
    draw_series(&drawing, &section->head[duty], both ? 0.5 : 0.0, both ? 0.5 : 1.0);
    if (both) {
        draw_series(&drawing, &section->efficiency[duty], 0.0, 0.5);
    }
    return drawing.failed ? NULL : drawing.plot;
}
