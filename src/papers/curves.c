#include "papers/curves.h"

#include "papers/chart.h"
#include "papers/check_words.h"

#include <math.h>
#include <string.h>

/* The plot under way. */
struct drawing {
    const struct document *document;
    const struct result *result;
    const struct figure_units *units;
    struct arena *arena;
    struct plot *plot;
    struct panel *panel;
    enum figure figure; /* of the panel's upright axis */
    struct chart_row rows[CHART_ROWS];
    size_t row_count;
    bool failed;
};

/* --- panels --- */

/* From 0, or from below it where something lies there, to a little more than there is to show. */
static void set_axis(const struct drawing *drawing, struct axis *axis, enum figure figure, struct chart_span span)
{
    double length = span.high - span.low, low = span.low < 0.0 ? span.low - 0.02 * length : 0.0;
    axis->low = figure_shown(figure, drawing->units, low);
    axis->high = figure_shown(figure, drawing->units, length > 0.0 ? span.high + 0.06 * length : 1.0);
}

static const char *axis_name(struct drawing *drawing, const char *name, enum figure figure)
{
    const char *text = arena_format(drawing->arena, "%s, %s", name, figure_unit_name(figure, drawing->units));
    drawing->failed = drawing->failed || text == NULL;
    return text == NULL ? "" : text;
}

/* left, bottom, width, height: shares of the plot. */
static void begin_panel(struct drawing *drawing, const char *name, enum figure figure, struct chart_span flow_m3s,
                        struct chart_span span, const double place[4])
{
    struct panel *panel = plot_panel(drawing->plot, drawing->arena, place[0], place[1], place[2], place[3]);
    drawing->panel = panel;
    drawing->figure = figure;
    if (panel == NULL) {
        drawing->failed = true;
        return;
    }
    set_axis(drawing, &panel->x, FIGURE_FLOW, flow_m3s);
    set_axis(drawing, &panel->y, figure, span);
    panel->x.name = axis_name(drawing, say(drawing->document, "Flow Q"), FIGURE_FLOW);
    panel->y.name = axis_name(drawing, name, figure);
}

/* True when the key of a panel before has told what it is: the name up to its comma. */
static bool is_told(const struct drawing *drawing, const char *name)
{
    size_t length = strcspn(name, ",");
    for (size_t p = 0; p < drawing->plot->panel_count; p++) {
        const struct panel *panel = &drawing->plot->panels[p];
        for (size_t s = 0; s < panel->series_count; s++) {
            const char *other = panel->series[s].name;
            if (strcspn(other, ",") == length && strncmp(other, name, length) == 0) {
                return true;
            }
        }
    }
    return false;
}

static struct series *begin(struct drawing *drawing, enum series_kind kind, enum series_style look, const char *name)
{
    bool told = is_told(drawing, name);
    struct series *series =
        drawing->panel == NULL ? NULL : panel_series(drawing->panel, drawing->arena, kind, look, name);
    drawing->failed = drawing->failed || series == NULL;
    if (series != NULL) {
        series->in_key = !told;
    }
    return series;
}

/* A value in SI; absent: a gap. */
static void put(struct drawing *drawing, struct series *series, double flow_m3s, struct quantity y, struct quantity y2)
{
    double x = figure_shown(FIGURE_FLOW, drawing->units, flow_m3s);
    double first = y.known ? figure_shown(drawing->figure, drawing->units, y.value) : NAN;
    double second = y2.known ? figure_shown(drawing->figure, drawing->units, y2.value) : NAN;
    drawing->failed = !series_add(series, drawing->arena, x, first, second) || drawing->failed;
}

static void gap(struct drawing *drawing, struct series *series)
{
    drawing->failed = !series_add(series, drawing->arena, NAN, NAN, NAN) || drawing->failed;
}

/* --- curves and points --- */

static struct quantity row_value(const struct chart_row *row, size_t at)
{
    struct quantity value;
    memcpy(&value, (const char *)row + at, sizeof value);
    return value;
}

static bool rows_have(const struct drawing *drawing, size_t at)
{
    for (size_t i = 0; i < drawing->row_count; i++) {
        if (row_value(&drawing->rows[i], at).known) {
            return true;
        }
    }
    return false;
}

static void draw_curve(struct drawing *drawing, enum series_style look, const char *name, size_t at)
{
    if (rows_have(drawing, at)) {
        struct series *series = begin(drawing, SERIES_CURVE, look, name);
        for (size_t i = 0; i < drawing->row_count; i++) {
            put(drawing, series, drawing->rows[i].flow_m3s, row_value(&drawing->rows[i], at), quantity_absent());
        }
    }
}

static void draw_band(struct drawing *drawing, const char *name, size_t low_at, size_t high_at)
{
    if (rows_have(drawing, low_at)) {
        struct series *series = begin(drawing, SERIES_BAND, LOOK_ASIDE, name);
        for (size_t i = 0; i < drawing->row_count; i++) {
            const struct chart_row *row = &drawing->rows[i];
            if (row_value(row, low_at).known && row_value(row, high_at).known) {
                put(drawing, series, row->flow_m3s, row_value(row, low_at), row_value(row, high_at));
            }
        }
    }
}

static struct quantity point_value(const struct rated_point *point, size_t at)
{
    struct quantity value;
    memcpy(&value, (const char *)point + at, sizeof value);
    return value;
}

static void draw_points(struct drawing *drawing, bool fitted, enum series_style look, const char *name, size_t at)
{
    struct series *series = NULL;
    for (size_t i = 0; i < drawing->result->point_count; i++) {
        const struct rated_point *rated = chart_point(drawing->result, i);
        if (rated != NULL && drawing->result->points[i].fitted == fitted && point_value(rated, at).known) {
            series = series == NULL ? begin(drawing, SERIES_POINTS, look, name) : series;
            put(drawing, series, rated->flow_m3s.value, point_value(rated, at), quantity_absent());
        }
    }
}

static void draw_all_points(struct drawing *drawing, enum series_style look, const char *measured,
                            const char *not_fitted, size_t at)
{
    draw_points(drawing, true, look, measured, at);
    draw_points(drawing, false, LOOK_ASIDE, not_fitted, at);
}

/* --- guarantees --- */

static void draw_marks(struct drawing *drawing)
{
    struct series *series = NULL;
    for (size_t i = 0; i < drawing->result->duty_count; i++) {
        struct outline_vertex vertices[OUTLINE_VERTICES];
        size_t count = tolerance_outline(&drawing->result->duties[i].tolerance, vertices);
        for (size_t k = 0; k < count; k++) {
            series = series == NULL
                         ? begin(drawing, SERIES_CURVE, LOOK_GUARANTEE, say(drawing->document, "guarantee, tolerance"))
                         : series;
            if (vertices[k].start && series != NULL && series->count > 0) {
                gap(drawing, series);
            }
            put(drawing, series, vertices[k].flow_m3s, quantity_of(vertices[k].head_m), quantity_absent());
        }
    }
}

/* From the origin through the guaranteed point, where a grade reads efficiency or power there. */
static void draw_duty_lines(struct drawing *drawing)
{
    struct series *series = NULL;
    for (size_t i = 0; i < drawing->result->duty_count; i++) {
        const struct duty_result *duty = &drawing->result->duties[i];
        const struct grade *grade = duty->duty->grade;
        bool line = grade != NULL && (grade->efficiency_at == READ_DUTY_LINE || grade->power_at == READ_DUTY_LINE);
        if (line && duty->on_duty_line.flow_m3s.known && duty->on_duty_line.head_m.known) {
            if (series == NULL) {
                series = begin(drawing, SERIES_CURVE, LOOK_LIMIT, say(drawing->document, "duty line"));
            } else {
                gap(drawing, series);
            }
            put(drawing, series, 0.0, quantity_of(0.0), quantity_absent());
            put(drawing, series, 1.03 * duty->on_duty_line.flow_m3s.value,
                quantity_times(duty->on_duty_line.head_m, 1.03), quantity_absent());
        }
    }
}

/* A bar across the guaranteed value and an arm from it to its limit; the key of the head says what it is. */
static void draw_guarantees(struct drawing *drawing, enum check_item item)
{
    struct series *series = NULL;
    double half = drawing->panel == NULL ? 0.0 : 0.025 * (drawing->panel->x.high - drawing->panel->x.low);
    const struct unit *flow = drawing->units->flow;
    for (size_t i = 0; i < drawing->result->duty_count; i++) {
        double flow_m3s, value, limit;
        if (!chart_guarantee(&drawing->result->duties[i], item, &flow_m3s, &value, &limit)) {
            continue;
        }
        if (series == NULL) {
            series = begin(drawing, SERIES_CURVE, LOOK_GUARANTEE, say(drawing->document, "guarantee"));
        } else {
            gap(drawing, series);
        }
        double half_m3s = unit_difference_to_si(flow, half);
        put(drawing, series, flow_m3s - half_m3s, quantity_of(value), quantity_absent());
        put(drawing, series, flow_m3s + half_m3s, quantity_of(value), quantity_absent());
        gap(drawing, series);
        put(drawing, series, flow_m3s, quantity_of(value), quantity_absent());
        put(drawing, series, flow_m3s, quantity_of(limit), quantity_absent());
    }
}

/* The limit of an overload check over all tested flows. */
static struct quantity overload_limit(const struct result *result, enum check_item item)
{
    for (size_t i = 0; i < result->duty_count; i++) {
        for (size_t k = 0; k < result->duties[i].check_count; k++) {
            const struct check *check = &result->duties[i].checks[k];
            if (check->item == item && check->limit_high.known) {
                return check->limit_high;
            }
        }
    }
    return quantity_absent();
}

static void draw_limit(struct drawing *drawing, enum check_item item)
{
    struct quantity limit = overload_limit(drawing->result, item);
    if (limit.known && drawing->row_count > 0) {
        struct series *series = begin(drawing, SERIES_CURVE, LOOK_LIMIT, say(drawing->document, "limit"));
        put(drawing, series, drawing->rows[0].flow_m3s, limit, quantity_absent());
        put(drawing, series, drawing->rows[drawing->row_count - 1].flow_m3s, limit, quantity_absent());
    }
}

/* --- the panels --- */

static void say_missing(struct drawing *drawing, const struct curve *curve)
{
    if (!curve->known && drawing->panel != NULL) {
        char why[CURVE_TEXT];
        const char *text =
            arena_format(drawing->arena, say(drawing->document, "no curve: %.80s"), curve_why_text(curve, why));
        drawing->panel->empty = text == NULL ? "" : text;
        drawing->failed = drawing->failed || text == NULL;
    }
}

static void draw_head(struct drawing *drawing)
{
    draw_band(drawing, say(drawing->document, "95 % band"), offsetof(struct chart_row, head_low_m),
              offsetof(struct chart_row, head_high_m));
    draw_duty_lines(drawing);
    draw_curve(drawing, LOOK_MAIN, say(drawing->document, "fitted"), offsetof(struct chart_row, head_m));
    draw_all_points(drawing, LOOK_MAIN, say(drawing->document, "measured"), say(drawing->document, "not fitted"),
                    offsetof(struct rated_point, head_m));
    draw_marks(drawing);
    say_missing(drawing, &drawing->result->curves.of[CURVE_HEAD]);
}

static void draw_efficiency(struct drawing *drawing)
{
    draw_curve(drawing, LOOK_SECOND, say(drawing->document, "set"), offsetof(struct chart_row, set_efficiency));
    draw_curve(drawing, LOOK_MAIN, say(drawing->document, "pump"), offsetof(struct chart_row, pump_efficiency));
    draw_all_points(drawing, LOOK_SECOND, say(drawing->document, "measured, set"),
                    say(drawing->document, "not fitted, set"), offsetof(struct rated_point, set_efficiency));
    draw_all_points(drawing, LOOK_MAIN, say(drawing->document, "measured, pump"),
                    say(drawing->document, "not fitted, pump"), offsetof(struct rated_point, pump_efficiency));
    draw_guarantees(drawing, CHECK_EFFICIENCY);
}

static void draw_power(struct drawing *drawing)
{
    draw_band(drawing, say(drawing->document, "95 % band"), offsetof(struct chart_row, power_low_w),
              offsetof(struct chart_row, power_high_w));
    draw_limit(drawing, CHECK_OVERLOAD_POWER);
    draw_curve(drawing, LOOK_THIRD, say(drawing->document, "fitted"), offsetof(struct chart_row, power_w));
    draw_all_points(drawing, LOOK_THIRD, say(drawing->document, "measured"), say(drawing->document, "not fitted"),
                    offsetof(struct rated_point, input_power_w));
    draw_guarantees(drawing, CHECK_INPUT_POWER);
    say_missing(drawing, &drawing->result->curves.of[CURVE_INPUT_POWER]);
}

static void draw_current(struct drawing *drawing)
{
    draw_limit(drawing, CHECK_OVERLOAD_CURRENT);
    draw_curve(drawing, LOOK_MAIN, say(drawing->document, "fitted"), offsetof(struct chart_row, current_a));
    draw_all_points(drawing, LOOK_MAIN, say(drawing->document, "measured"), say(drawing->document, "not fitted"),
                    offsetof(struct rated_point, current_a));
    say_missing(drawing, &drawing->result->curves.of[CURVE_CURRENT]);
}

static void reach(struct chart_span *span, struct quantity limit)
{
    if (limit.known && limit.value > span->high) {
        span->high = limit.value;
    }
}

/* One name serves the panels that stand above each other. */
static void leave_x_unnamed(struct drawing *drawing)
{
    if (drawing->panel != NULL) {
        drawing->panel->x.name = "";
    }
}

/* Head at the left, the others beside it, one above the other. */
static void draw_panels(struct drawing *drawing)
{
    const struct document *document = drawing->document;
    struct chart_spans spans = chart_spans_of(drawing->result);
    struct quantity current = overload_limit(drawing->result, CHECK_OVERLOAD_CURRENT);
    size_t beside = current.known ? 3 : 2;
    double height = 1.0 / (double)beside, bottom = 1.0;
    reach(&spans.power_w, overload_limit(drawing->result, CHECK_OVERLOAD_POWER));
    reach(&spans.current_a, current);
    begin_panel(drawing, say(document, "Head H"), FIGURE_HEAD, spans.flow_m3s, spans.head_m,
                (const double[]){0.0, 0.0, 0.52, 1.0});
    draw_head(drawing);
    bottom -= height;
    begin_panel(drawing, say(document, "Efficiency η"), FIGURE_EFFICIENCY, spans.flow_m3s, spans.efficiency,
                (const double[]){0.52, bottom, 0.48, height});
    draw_efficiency(drawing);
    leave_x_unnamed(drawing);
    bottom -= height;
    begin_panel(drawing, say(document, "Input power P₁"), FIGURE_POWER, spans.flow_m3s, spans.power_w,
                (const double[]){0.52, bottom, 0.48, height});
    draw_power(drawing);
    if (current.known) {
        leave_x_unnamed(drawing);
        begin_panel(drawing, say(document, "Current I"), FIGURE_CURRENT, spans.flow_m3s, spans.current_a,
                    (const double[]){0.52, 0.0, 0.48, height});
        draw_current(drawing);
    }
}

struct plot *curves_plot(const struct document *document, const struct result *result, const struct figure_units *units,
                         struct arena *arena)
{
    struct drawing drawing = {.document = document, .result = result, .units = units, .arena = arena};
    drawing.plot = arena_alloc(arena, 1, sizeof *drawing.plot);
    if (drawing.plot == NULL) {
        return NULL;
    }
    *drawing.plot = (struct plot){.name = "curves", .least = 0.45, .most = 0.8};
    drawing.plot->text =
        arena_format(arena,
                     say(document, "Curves at rated speed (by %s): head, efficiency, input power%s over flow, "
                                   "with the measured points and the guarantee with its tolerance."),
                     speed_basis_name(result->basis),
                     overload_limit(result, CHECK_OVERLOAD_CURRENT).known ? say(document, " and current") : "");
    drawing.row_count = chart_rows(&result->curves, drawing.rows);
    draw_panels(&drawing);
    return drawing.failed || drawing.plot->text == NULL ? NULL : drawing.plot;
}
