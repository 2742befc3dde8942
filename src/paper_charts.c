#include "chart.h"
#include "paper.h"

#include <math.h>
#include <string.h>

/* One chart under way: where it lies, and what its edges stand for in SI. */
struct chart {
    struct paper *paper;
    struct area area;
    enum figure figure;
    struct chart_span flow_m3s, y;
};

static double x_of(const struct chart *chart, double flow_m3s)
{
    double share = (flow_m3s - chart->flow_m3s.low) / (chart->flow_m3s.high - chart->flow_m3s.low);
    return chart->area.left_mm + share * (chart->area.right_mm - chart->area.left_mm);
}

static double y_of(const struct chart *chart, double y_si)
{
    double share = (y_si - chart->y.low) / (chart->y.high - chart->y.low);
    return chart->area.bottom_mm - share * (chart->area.bottom_mm - chart->area.top_mm);
}

/* --- axes --- */

/* A little more than what there is to show; never an empty range. */
static struct chart_span roomy(struct chart_span span)
{
    double length = span.high - span.low;
    return length > 0.0
               ? (struct chart_span){span.low < 0.0 ? span.low - 0.02 * length : 0.0, span.high + 0.06 * length}
               : (struct chart_span){0.0, 1.0};
}

static void draw_y_axis(const struct chart *chart, double parts)
{
    struct page *page = &chart->paper->page;
    const struct unit *unit = figure_unit(chart->figure, &chart->paper->units);
    double low = unit_from_si(unit, chart->y.low), high = unit_from_si(unit, chart->y.high);
    double step = chart_step(high - low, parts);
    for (double tic = chart_first_tic(low, step); tic <= high; tic += step) {
        char text[FIGURE_TEXT];
        double y_mm = y_of(chart, unit_to_si(unit, tic));
        page_rule(page, PEN_GRID, chart->area.left_mm, y_mm, chart->area.right_mm, y_mm);
        page_put(page, TYPE_TEXT, INK_BLACK, ALIGN_RIGHT, chart->area.left_mm - 1.2, y_mm, 0.0,
                 chart_tic_text(tic, step, text));
    }
}

static void draw_x_axis(const struct chart *chart, bool labels)
{
    struct page *page = &chart->paper->page;
    const struct unit *unit = chart->paper->units.flow;
    double low = unit_from_si(unit, chart->flow_m3s.low), high = unit_from_si(unit, chart->flow_m3s.high);
    double step = chart_step(high - low, 5.0);
    for (double tic = chart_first_tic(low, step); tic <= high; tic += step) {
        char text[FIGURE_TEXT];
        double x_mm = x_of(chart, unit_to_si(unit, tic));
        page_rule(page, PEN_GRID, x_mm, chart->area.top_mm, x_mm, chart->area.bottom_mm);
        if (labels) {
            page_put(page, TYPE_TEXT, INK_BLACK, ALIGN_CENTRE, x_mm, chart->area.bottom_mm + 2.2, 0.0,
                     chart_tic_text(tic, step, text));
        }
    }
}

static void draw_frame(const struct chart *chart, const char *name, double parts, bool last)
{
    struct page *page = &chart->paper->page;
    char text[128];
    draw_x_axis(chart, last);
    draw_y_axis(chart, parts);
    page_move(page, PEN_THIN, chart->area.left_mm, chart->area.top_mm);
    page_draw(page, PEN_THIN, chart->area.left_mm, chart->area.bottom_mm);
    page_draw(page, PEN_THIN, chart->area.right_mm, chart->area.bottom_mm);
    (void)snprintf(text, sizeof text, "%s, %s", name, figure_unit_name(chart->figure, &chart->paper->units));
    page_put(page, TYPE_TEXT, INK_BLACK, ALIGN_LEFT, chart->area.left_mm - 9.0, chart->area.top_mm - 2.6, 0.0, text);
}

/* --- curves and points --- */

static struct quantity row_value(const struct chart_row *row, size_t at)
{
    struct quantity value;
    memcpy(&value, (const char *)row + at, sizeof value);
    return value;
}

/* One quantity of the rows, at its offset in struct chart_row. */
static void draw_curve(const struct chart *chart, enum pen pen, const struct chart_row *rows, size_t count, size_t at)
{
    bool start = true;
    for (size_t i = 0; i < count; i++) {
        struct quantity value = row_value(&rows[i], at);
        if (!value.known) {
            start = true;
            continue;
        }
        (start ? page_move : page_draw)(&chart->paper->page, pen, x_of(chart, rows[i].flow_m3s),
                                        y_of(chart, value.value));
        start = false;
    }
}

/* The area between two quantities of the rows: out along the one and back along the other. Filled areas cost the most
 * by the vertex, and a band bends little: every third row will do. */
static void draw_band(const struct chart *chart, const struct chart_row *rows, size_t count, size_t low_at,
                      size_t high_at)
{
    enum { STRIDE = 3 };
    bool start = true;
    size_t steps = count > 0 ? (count - 1) / STRIDE + 1 : 0;
    for (size_t k = 0; k < 2 * steps; k++) {
        const struct chart_row *row = &rows[STRIDE * (k < steps ? k : 2 * steps - 1 - k)];
        struct quantity value = row_value(row, k < steps ? low_at : high_at);
        if (value.known) {
            double y_si = fmin(fmax(value.value, chart->y.low), chart->y.high);
            (start ? page_move : page_draw)(&chart->paper->page, PEN_FILL_BAND, x_of(chart, row->flow_m3s),
                                            y_of(chart, y_si));
            start = false;
        }
    }
}

_Static_assert(CHART_SAMPLES % 3 == 0, "the band ends where the curve ends");

/* One quantity of the points, at its offset in struct rated_point. */
static void draw_points(const struct chart *chart, enum pen pen, size_t at)
{
    const struct result *result = chart->paper->result;
    for (size_t i = 0; i < result->point_count; i++) {
        const struct rated_point *rated = chart_point(result, i);
        struct quantity value = {0};
        if (rated != NULL) {
            memcpy(&value, (const char *)rated + at, sizeof value);
        }
        if (value.known) {
            page_draw(&chart->paper->page, result->points[i].fitted ? pen : PEN_UNFITTED_POINT,
                      x_of(chart, rated->flow_m3s.value), y_of(chart, value.value));
        }
    }
}

static void draw_marks(const struct chart *chart)
{
    const struct result *result = chart->paper->result;
    for (size_t i = 0; i < result->duty_count; i++) {
        struct chart_vertex vertices[MARK_VERTICES];
        size_t count = chart_mark(&result->duties[i], vertices);
        for (size_t k = 0; k < count; k++) {
            (vertices[k].start ? page_move : page_draw)(
                &chart->paper->page, PEN_GUARANTEE, x_of(chart, vertices[k].flow_m3s), y_of(chart, vertices[k].head_m));
        }
    }
}

/* A bar across the guaranteed value and an arm from it to its limit. */
static void draw_guarantees(const struct chart *chart, enum check_item item)
{
    static const double half_bar_mm = 1.1;
    const struct result *result = chart->paper->result;
    for (size_t i = 0; i < result->duty_count; i++) {
        double flow_m3s, value, limit;
        if (chart_guarantee(&result->duties[i], item, &flow_m3s, &value, &limit)) {
            double x_mm = x_of(chart, flow_m3s), y_mm = y_of(chart, value);
            page_rule(&chart->paper->page, PEN_GUARANTEE, x_mm - half_bar_mm, y_mm, x_mm + half_bar_mm, y_mm);
            page_rule(&chart->paper->page, PEN_GUARANTEE, x_mm, y_mm, x_mm, y_of(chart, limit));
        }
    }
}

/* --- legends --- */

enum sample { SAMPLE_LINE, SAMPLE_POINT, SAMPLE_AREA, SAMPLE_CROSS };

/* Puts one entry with its right end at right_mm, in the row of the chart's name. Returns: its left end, mm. */
static double legend(const struct chart *chart, double right_mm, enum pen pen, enum sample sample, const char *text)
{
    struct page *page = &chart->paper->page;
    double y_mm = chart->area.top_mm - 2.6, width_mm = sample == SAMPLE_POINT || sample == SAMPLE_CROSS ? 2.6 : 5.0;
    double end_mm = right_mm - text_width_mm(TYPE_TEXT, text) - 1.0, start_mm = end_mm - width_mm;
    double middle_mm = (start_mm + end_mm) / 2.0;
    page_put(page, TYPE_TEXT, INK_BLACK, ALIGN_RIGHT, right_mm, y_mm, 0.0, text);
    switch (sample) {
    case SAMPLE_LINE: page_rule(page, pen, start_mm, y_mm, end_mm, y_mm); break;
    case SAMPLE_POINT: page_draw(page, pen, middle_mm, y_mm); break;
    case SAMPLE_AREA: page_box(page, pen, start_mm, y_mm - 0.8, end_mm, y_mm + 0.8); break;
    case SAMPLE_CROSS:
        page_rule(page, pen, start_mm, y_mm, end_mm, y_mm);
        page_rule(page, pen, middle_mm, y_mm - 1.1, middle_mm, y_mm + 1.1);
        break;
    }
    return start_mm - 2.5;
}

static bool any_point(const struct result *result, bool fitted)
{
    bool any = false;
    for (size_t i = 0; i < result->point_count; i++) {
        any = any || (chart_point(result, i) != NULL && result->points[i].fitted == fitted);
    }
    return any;
}

static void head_legend(const struct chart *chart)
{
    const struct result *result = chart->paper->result;
    double right_mm = chart->area.right_mm;
    if (result->duty_count > 0) {
        right_mm = legend(chart, right_mm, PEN_GUARANTEE, SAMPLE_CROSS, "guarantee, tolerance");
    }
    if (result->curves.head.known) {
        right_mm = legend(chart, right_mm, PEN_FILL_BAND, SAMPLE_AREA, "95 % band");
        right_mm = legend(chart, right_mm, PEN_HEAD, SAMPLE_LINE, "fitted");
    }
    if (any_point(result, false)) {
        right_mm = legend(chart, right_mm, PEN_UNFITTED_POINT, SAMPLE_POINT, "not fitted");
    }
    if (any_point(result, true)) {
        (void)legend(chart, right_mm, PEN_HEAD_POINT, SAMPLE_POINT, "measured");
    }
}

/* --- the three charts --- */

static void missing(const struct chart *chart, const struct curve *curve)
{
    if (!curve->known) {
        char text[256];
        (void)snprintf(text, sizeof text, "no curve: %.200s", curve->why[0] != '\0' ? curve->why : "too few points");
        page_put(&chart->paper->page, TYPE_TEXT, INK_GREY, ALIGN_CENTRE,
                 (chart->area.left_mm + chart->area.right_mm) / 2.0, chart->area.bottom_mm - 4.0,
                 chart->area.right_mm - chart->area.left_mm - 4.0, text);
    }
}

static void draw_head(const struct chart *chart, const struct chart_row *rows, size_t count)
{
    draw_frame(chart, "Head H", 5.0, false);
    draw_band(chart, rows, count, offsetof(struct chart_row, head_low_m), offsetof(struct chart_row, head_high_m));
    draw_curve(chart, PEN_HEAD, rows, count, offsetof(struct chart_row, head_m));
    draw_marks(chart);
    draw_points(chart, PEN_HEAD_POINT, offsetof(struct rated_point, head_m));
    head_legend(chart);
    missing(chart, &chart->paper->result->curves.head);
}

static void draw_efficiency(const struct chart *chart, const struct chart_row *rows, size_t count)
{
    const struct result *result = chart->paper->result;
    bool pump = false;
    for (size_t i = 0; i < result->point_count; i++) {
        pump = pump || result->points[i].at_rated.pump_efficiency.known;
    }
    draw_frame(chart, "Efficiency η", 3.0, false);
    draw_curve(chart, PEN_EFFICIENCY, rows, count, offsetof(struct chart_row, set_efficiency));
    draw_curve(chart, PEN_PUMP, rows, count, offsetof(struct chart_row, pump_efficiency));
    draw_guarantees(chart, CHECK_EFFICIENCY);
    draw_points(chart, PEN_EFFICIENCY_POINT, offsetof(struct rated_point, set_efficiency));
    draw_points(chart, PEN_PUMP_POINT, offsetof(struct rated_point, pump_efficiency));
    double right_mm = chart->area.right_mm;
    if (pump) {
        right_mm = legend(chart, right_mm, PEN_PUMP, SAMPLE_LINE, "pump");
    }
    (void)legend(chart, right_mm, PEN_EFFICIENCY, SAMPLE_LINE, "set");
}

static void draw_power(const struct chart *chart, const struct chart_row *rows, size_t count)
{
    draw_frame(chart, "Input power P₁", 3.0, true);
    draw_band(chart, rows, count, offsetof(struct chart_row, power_low_w), offsetof(struct chart_row, power_high_w));
    draw_curve(chart, PEN_POWER, rows, count, offsetof(struct chart_row, power_w));
    draw_guarantees(chart, CHECK_INPUT_POWER);
    draw_points(chart, PEN_POWER_POINT, offsetof(struct rated_point, input_power_w));
    missing(chart, &chart->paper->result->curves.input_power);
}

void paper_charts(struct paper *paper, struct area area)
{
    static const double name_mm = 5.5, axis_mm = 8.0, numbers_mm = 9.0;
    const struct result *result = paper->result;
    struct chart_spans spans = chart_spans_of(result);
    struct chart_row rows[CHART_ROWS];
    char text[160];
    if (!(spans.flow_m3s.high > spans.flow_m3s.low)) {
        page_put(&paper->page, TYPE_TEXT, INK_GREY, ALIGN_LEFT, area.left_mm, area.top_mm + 2.0, 0.0,
                 "no curves: there is no range of flow at rated speed");
        return;
    }
    size_t count = chart_rows(&result->curves, rows);
    double room_mm = area.bottom_mm - area.top_mm - 3.0 * name_mm - axis_mm, top_mm = area.top_mm + name_mm;
    struct chart chart = {.paper = paper, .flow_m3s = roomy(spans.flow_m3s)};
    chart.area = (struct area){area.left_mm + numbers_mm, top_mm, area.right_mm, top_mm + 0.44 * room_mm};
    chart.figure = FIGURE_HEAD;
    chart.y = roomy(spans.head_m);
    draw_head(&chart, rows, count);
    chart.area.top_mm = chart.area.bottom_mm + name_mm;
    chart.area.bottom_mm = chart.area.top_mm + 0.28 * room_mm;
    chart.figure = FIGURE_EFFICIENCY;
    chart.y = roomy(spans.efficiency);
    draw_efficiency(&chart, rows, count);
    chart.area.top_mm = chart.area.bottom_mm + name_mm;
    chart.area.bottom_mm = area.bottom_mm - axis_mm;
    chart.figure = FIGURE_POWER;
    chart.y = roomy(spans.power_w);
    draw_power(&chart, rows, count);
    (void)snprintf(text, sizeof text, "Flow Q, %s, at rated speed (by %s)", paper->units.flow->name,
                   speed_basis_name(result->basis));
    page_put(&paper->page, TYPE_TEXT, INK_BLACK, ALIGN_RIGHT, area.right_mm, area.bottom_mm - 1.8, 0.0, text);
}
