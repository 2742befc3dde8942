/* One page of charts: all head curves, the spread of the margins, and their run through the batch */
#include "papers/certificate.h"
#include "papers/chart.h"

#include <math.h>
#include <string.h>

enum { BARS_MAX = 40, NAMED_LINES = 3, NAMED_LETTERS = 330 };

/* A chart under way: where it lies, and what its edges stand for in shown units. */
struct plot {
    struct page *page;
    struct area area;
    struct chart_span x, y;
};

static double x_of(const struct plot *plot, double x)
{
    return plot->area.left_mm +
           (x - plot->x.low) / (plot->x.high - plot->x.low) * (plot->area.right_mm - plot->area.left_mm);
}

static double y_of(const struct plot *plot, double y)
{
    return plot->area.bottom_mm -
           (y - plot->y.low) / (plot->y.high - plot->y.low) * (plot->area.bottom_mm - plot->area.top_mm);
}

static void reach(struct chart_span *span, double value)
{
    span->low = fmin(span->low, value);
    span->high = fmax(span->high, value);
}

/* A little more on both sides; never an empty range. */
static struct chart_span roomy(struct chart_span span, double share)
{
    double length = span.high - span.low, more = length > 0.0 ? share * length : fmax(0.5, 0.05 * fabs(span.high));
    return (struct chart_span){span.low - more, span.high + more};
}

static void draw_x_axis(const struct plot *plot, double parts, double least_step)
{
    double step = fmax(chart_step(plot->x.high - plot->x.low, parts), least_step);
    for (double tic = chart_first_tic(plot->x.low, step); tic <= plot->x.high + 1e-9 * step; tic += step) {
        char text[FIGURE_TEXT];
        page_rule(plot->page, PEN_GRID, x_of(plot, tic), plot->area.top_mm, x_of(plot, tic), plot->area.bottom_mm);
        page_put(plot->page, TYPE_TEXT, INK_BLACK, ALIGN_CENTRE, x_of(plot, tic), plot->area.bottom_mm + 2.2, 0.0,
                 chart_tic_text(tic, step, text));
    }
}

static void draw_y_axis(const struct plot *plot, double parts, double least_step)
{
    double step = fmax(chart_step(plot->y.high - plot->y.low, parts), least_step);
    for (double tic = chart_first_tic(plot->y.low, step); tic <= plot->y.high + 1e-9 * step; tic += step) {
        char text[FIGURE_TEXT];
        page_rule(plot->page, PEN_GRID, plot->area.left_mm, y_of(plot, tic), plot->area.right_mm, y_of(plot, tic));
        page_put(plot->page, TYPE_TEXT, INK_BLACK, ALIGN_RIGHT, plot->area.left_mm - 1.2, y_of(plot, tic), 0.0,
                 chart_tic_text(tic, step, text));
    }
}

static void draw_frame(const struct plot *plot)
{
    page_move(plot->page, PEN_THIN, plot->area.left_mm, plot->area.top_mm);
    page_draw(plot->page, PEN_THIN, plot->area.left_mm, plot->area.bottom_mm);
    page_draw(plot->page, PEN_THIN, plot->area.right_mm, plot->area.bottom_mm);
}

static void put_name(const struct plot *plot, const char *name, const char *detail)
{
    double x_mm = plot->area.left_mm - 10.0, y_mm = plot->area.top_mm - 3.0;
    page_put(plot->page, TYPE_TEXT, INK_BLACK, ALIGN_LEFT, x_mm, y_mm, 0.0, name);
    page_put(plot->page, TYPE_TEXT, INK_GREY, ALIGN_LEFT, x_mm + text_width_mm(TYPE_TEXT, name) + 2.0, y_mm,
             plot->area.right_mm - x_mm - text_width_mm(TYPE_TEXT, name) - 2.0, detail);
}

/* --- all head curves --- */

static bool drawn(const struct batch_test *test, const struct batch_section *section)
{
    return test->model == section->model && !test->unread && !test->superseded && test->curve_known;
}

static double curve_flow(const struct batch_test *test, int i)
{
    double share = (double)i / (BATCH_CURVE - 1);
    return test->flow_low_m3s * (1.0 - share) + test->flow_high_m3s * share;
}

static void reach_curves(struct plot *plot, const struct batch *batch, const struct batch_section *section,
                         size_t point, const struct figure_units *units)
{
    const struct batch_duty *duty = &section->head[point].tests[0]->duties[point];
    plot->x = (struct chart_span){0};
    plot->y.low = plot->y.high = figure_shown(FIGURE_HEAD, units, duty->duty->head_m.value);
    for (size_t i = 0; i < batch->count; i++) {
        if (!drawn(&batch->tests[i], section)) {
            continue;
        }
        reach(&plot->x, figure_shown(FIGURE_FLOW, units, batch->tests[i].flow_high_m3s));
        for (int k = 0; k < BATCH_CURVE; k++) {
            reach(&plot->y, figure_shown(FIGURE_HEAD, units, batch->tests[i].head_m[k]));
        }
    }
}

static void draw_curve(const struct plot *plot, const struct batch_test *test, const struct figure_units *units)
{
    enum pen pen = test->verdict == VERDICT_PASS ? PEN_ONE_OF_MANY : PEN_FAILED;
    for (int i = 0; i < BATCH_CURVE; i++) {
        double x_mm = x_of(plot, figure_shown(FIGURE_FLOW, units, curve_flow(test, i)));
        double y_mm = y_of(plot, figure_shown(FIGURE_HEAD, units, test->head_m[i]));
        (i == 0 ? page_move : page_draw)(plot->page, pen, x_mm, y_mm);
    }
}

static void draw_mark(const struct plot *plot, const struct batch_duty *duty, const struct figure_units *units)
{
    struct outline_vertex vertices[OUTLINE_VERTICES];
    for (size_t count = tolerance_outline(&duty->tolerance, vertices), i = 0; i < count; i++) {
        (vertices[i].start ? page_move : page_draw)(plot->page, PEN_GUARANTEE,
                                                    x_of(plot, figure_shown(FIGURE_FLOW, units, vertices[i].flow_m3s)),
                                                    y_of(plot, figure_shown(FIGURE_HEAD, units, vertices[i].head_m)));
    }
}

static double legend(const struct plot *plot, double right_mm, enum pen pen, const char *text)
{
    double y_mm = plot->area.top_mm - 3.0, end_mm = right_mm - text_width_mm(TYPE_TEXT, text) - 1.0;
    page_put(plot->page, TYPE_TEXT, INK_BLACK, ALIGN_RIGHT, right_mm, y_mm, 0.0, text);
    page_rule(plot->page, pen, end_mm - 6.0, y_mm, end_mm, y_mm);
    return end_mm - 9.0;
}

static void draw_curves(struct page *page, const struct batch *batch, const struct batch_section *section, size_t point)
{
    struct figure_units units = figure_units_of(section->model);
    struct plot plot = {.page = page, .area = {24.0, 37.0, CERTIFICATE_RIGHT_MM, 112.0}};
    const struct batch_duty *duty = &section->head[point].tests[0]->duties[point];
    size_t others = 0;
    char name[80];
    reach_curves(&plot, batch, section, point, &units);
    plot.x.high *= 1.04;
    plot.y = roomy(plot.y, 0.05);
    if (!(plot.x.high > 0.0)) {
        return;
    }
    draw_x_axis(&plot, 10.0, 0.0);
    draw_y_axis(&plot, 7.0, 0.0);
    for (size_t i = 0; i < batch->count; i++) {
        if (drawn(&batch->tests[i], section)) {
            others += batch->tests[i].verdict != VERDICT_PASS;
            draw_curve(&plot, &batch->tests[i], &units);
        }
    }
    draw_mark(&plot, duty, &units);
    draw_frame(&plot);
    (void)snprintf(name, sizeof name, "Head H, %s", units.head->name);
    put_name(&plot, name, "");
    double right_mm = legend(&plot, CERTIFICATE_RIGHT_MM, PEN_GUARANTEE, "guarantee, tolerance");
    right_mm = others > 0 ? legend(&plot, right_mm, PEN_FAILED, "fails or not judged") : right_mm;
    (void)legend(&plot, right_mm, PEN_ONE_OF_MANY, "passes");
    (void)snprintf(name, sizeof name, "Flow Q, %s, at rated speed", units.flow->name);
    page_put(page, TYPE_TEXT, INK_BLACK, ALIGN_RIGHT, CERTIFICATE_RIGHT_MM, plot.area.bottom_mm + 5.8, 0.0, name);
}

/* --- one series --- */

/* A series in shown units: metres of head in the model's unit, efficiency in percent. */
struct shown {
    const struct batch_series *series;
    enum figure figure;
    struct figure_units units;
};

static double shown(const struct shown *shown, double si)
{
    return figure_shown(shown->figure, &shown->units, si);
}

static const char *text_of(const struct shown *shown, struct quantity si, char out[FIGURE_TEXT])
{
    return figure_text(shown->figure, &shown->units, si, out);
}

/* --- histogram --- */

struct bars {
    double first, step;
    size_t count, greatest;
    size_t numbers[BARS_MAX];
};

/* Bars whose edges are multiples of a round step, about 1 + log2 n of them (Sturges 1926), and none too thin to see on
 * an axis of so great a length. */
static struct bars count_bars(const struct shown *data, double axis_length)
{
    const struct batch_series *series = data->series;
    double low = shown(data, series->least), high = shown(data, series->greatest);
    double parts = 1.0 + log2((double)series->count + 1.0);
    struct bars bars = {.step = chart_step(fmax(high - low, 0.03 * axis_length * parts), parts)};
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

static void draw_limit(const struct plot *plot, double at)
{
    if (at >= plot->x.low && at <= plot->x.high) {
        page_rule(plot->page, PEN_GUARANTEE, x_of(plot, at), plot->area.top_mm, x_of(plot, at), plot->area.bottom_mm);
    }
}

static void draw_histogram(struct page *page, const struct shown *data, struct area area)
{
    const struct batch_series *series = data->series;
    struct plot plot = {.page = page, .area = area};
    char name[80], detail[200], a[FIGURE_TEXT], b[FIGURE_TEXT], c[FIGURE_TEXT], d[FIGURE_TEXT];
    plot.x = (struct chart_span){fmin(0.0, shown(data, series->least)), fmax(0.0, shown(data, series->greatest))};
    if (series->permitted_high.known) {
        reach(&plot.x, shown(data, series->permitted_high.value));
    }
    struct bars bars = count_bars(data, fmax(plot.x.high - plot.x.low, 1e-3));
    reach(&plot.x, bars.first);
    reach(&plot.x, bars.first + (double)bars.count * bars.step);
    plot.x = roomy(plot.x, 0.04);
    plot.y = (struct chart_span){0.0, (double)bars.greatest * 1.1};
    draw_x_axis(&plot, 6.0, 0.0);
    draw_y_axis(&plot, 4.0, 1.0);
    for (size_t i = 0; i < bars.count; i++) {
        double left = bars.first + (double)i * bars.step;
        if (bars.numbers[i] > 0) {
            page_box(page, PEN_FILL_BAND, x_of(&plot, left), y_of(&plot, (double)bars.numbers[i]),
                     x_of(&plot, left + bars.step), area.bottom_mm);
            page_box(page, PEN_THIN, x_of(&plot, left), y_of(&plot, (double)bars.numbers[i]),
                     x_of(&plot, left + bars.step), area.bottom_mm);
        }
    }
    draw_limit(&plot, 0.0);
    if (series->permitted_high.known) {
        draw_limit(&plot, shown(data, series->permitted_high.value));
    }
    draw_frame(&plot);
    (void)snprintf(name, sizeof name, "%s, %s", series->head ? "Head margin" : "Efficiency margin",
                   figure_unit_name(data->figure, &data->units));
    (void)snprintf(detail, sizeof detail, "n %zu, mean %s, s %s, Cpk %s, Ppk %s", series->count,
                   text_of(data, quantity_of(series->mean), a), text_of(data, series->deviation, b),
                   figure_index(series->cpk, c), figure_index(series->ppk, d));
    put_name(&plot, name, detail);
}

/* --- control chart --- */

static void draw_level(const struct plot *plot, enum pen pen, double at)
{
    if (at >= plot->y.low && at <= plot->y.high) {
        page_rule(plot->page, pen, plot->area.left_mm, y_of(plot, at), plot->area.right_mm, y_of(plot, at));
    }
}

static void draw_individuals(struct page *page, const struct shown *data, struct area area)
{
    const struct batch_series *series = data->series;
    struct plot plot = {.page = page, .area = area, .x = {0.5, (double)series->count + 0.5}};
    char detail[160], a[FIGURE_TEXT], b[FIGURE_TEXT];
    plot.y = (struct chart_span){shown(data, series->least), shown(data, series->greatest)};
    if (series->low.known) {
        reach(&plot.y, shown(data, series->low.value));
        reach(&plot.y, shown(data, series->high.value));
    }
    if (-plot.y.low < 0.0 && plot.y.low < plot.y.high - plot.y.low) { /* the limit, where it is not far below */
        reach(&plot.y, 0.0);
    }
    plot.y = roomy(plot.y, 0.06);
    draw_x_axis(&plot, 8.0, 1.0);
    draw_y_axis(&plot, 4.0, 0.0);
    draw_level(&plot, PEN_GUARANTEE, 0.0);
    draw_level(&plot, PEN_THIN, shown(data, series->mean));
    if (series->low.known) {
        draw_level(&plot, PEN_PUMP, shown(data, series->low.value));
        draw_level(&plot, PEN_PUMP, shown(data, series->high.value));
    }
    for (size_t i = 0; i < series->count; i++) {
        double x_mm = x_of(&plot, (double)i + 1.0), y_mm = y_of(&plot, shown(data, series->values[i]));
        (i == 0 ? page_move : page_draw)(page, PEN_PALE, x_mm, y_mm);
        page_draw(page, PEN_UNIT_POINT, x_mm, y_mm);
        if (series->out_value[i] || series->run[i]) {
            page_draw(page, PEN_RING, x_mm, y_mm);
        }
    }
    draw_frame(&plot);
    (void)snprintf(detail, sizeof detail,
                   series->low.known ? "in test order, control limits %s to %s" : "in test order",
                   text_of(data, series->low, a), text_of(data, series->high, b));
    put_name(&plot, series->head ? "Head margin" : "Efficiency margin", detail);
}

static void draw_ranges(struct page *page, const struct shown *data, struct area area)
{
    const struct batch_series *series = data->series;
    struct plot plot = {.page = page, .area = area, .x = {0.5, (double)series->count + 0.5}};
    char detail[160], a[FIGURE_TEXT];
    /* Ranges are scaled as differences: unit_from_si would add an offset, of which no unit of head or ratio has one. */
    for (size_t i = 1; i < series->count; i++) {
        reach(&plot.y, shown(data, fabs(series->values[i] - series->values[i - 1])));
    }
    if (series->range_high.known) {
        reach(&plot.y, shown(data, series->range_high.value));
    }
    plot.y.high = plot.y.high > 0.0 ? plot.y.high * 1.1 : 1.0;
    draw_x_axis(&plot, 8.0, 1.0);
    draw_y_axis(&plot, 3.0, 0.0);
    if (series->range_high.known) {
        draw_level(&plot, PEN_PUMP, shown(data, series->range_high.value));
        draw_level(&plot, PEN_THIN, shown(data, series->moving_range.value));
    }
    for (size_t i = 1; i < series->count; i++) {
        double range = fabs(series->values[i] - series->values[i - 1]);
        double x_mm = x_of(&plot, (double)i + 1.0), y_mm = y_of(&plot, shown(data, range));
        (i == 1 ? page_move : page_draw)(page, PEN_PALE, x_mm, y_mm);
        page_draw(page, PEN_UNIT_POINT, x_mm, y_mm);
        if (series->out_range[i]) {
            page_draw(page, PEN_RING, x_mm, y_mm);
        }
    }
    draw_frame(&plot);
    (void)snprintf(detail, sizeof detail, "limit %s", text_of(data, series->range_high, a));
    put_name(&plot, "Moving range", detail);
}

/* --- what is out of control --- */

static const char *pattern(const struct batch_series *series, size_t i)
{
    return series->out_value[i] ? "outside the limits" : series->out_range[i] ? "step" : "nine on one side";
}

/* "DN-7 (outside the limits), DN-12 (step)" */
static size_t name_units(struct page *page, const struct batch_series *series, double y_mm)
{
    char text[1600];
    size_t used = 0, left_out = 0;
    int length = snprintf(text, sizeof text, "%s out of control: ", series->head ? "Head" : "Efficiency");
    used = length > 0 ? (size_t)length : 0;
    for (size_t i = 0, named = 0; i < series->count; i++) {
        if (!series->out_value[i] && !series->out_range[i] && !series->run[i]) {
            continue;
        }
        char one[160];
        length = snprintf(one, sizeof one, "%s%.60s (no. %zu: %s)", named > 0 ? ", " : "", series->tests[i]->serial,
                          i + 1, pattern(series, i));
        if (length < 0 || used + (size_t)length + 40 > NAMED_LETTERS) { /* what fits into the lines */
            left_out++;
            continue;
        }
        memcpy(text + used, one, (size_t)length + 1);
        used += (size_t)length;
        named++;
    }
    if (series->out_count == 0) {
        (void)snprintf(text + used, sizeof text - used,
                       series->low.known ? "none" : "at least %d units are needed to tell", (int)SERIES_CHART_MIN);
    } else if (left_out > 0) {
        (void)snprintf(text + used, sizeof text - used, " and %zu more: see batch.json", left_out);
    }
    return page_wrap(page, series->out_count > 0 ? INK_BLACK : INK_GREY, CERTIFICATE_LEFT_MM, y_mm,
                     CERTIFICATE_RIGHT_MM - CERTIFICATE_LEFT_MM, NAMED_LINES, text);
}

static void put_source(struct page *page, double y_mm)
{
    static const char text[] =
        "Margins are those above the least that the grade permits, thick line: a limit. "
        "Control limits (dashed): mean ∓ 2.66 and 3.267 times the mean moving range (ISO 7870-2:2013); "
        "a run of nine on one side of the mean: ISO 8258:1991, from memory. "
        "A drift is the bay's or the line's: "
        "compare with a reference set before blaming either (common practice, no source). "
        "Superseded tests are left out.";
    (void)page_wrap(page, INK_GREY, CERTIFICATE_LEFT_MM, y_mm, CERTIFICATE_RIGHT_MM - CERTIFICATE_LEFT_MM, 3, text);
}

static void draw_series(struct page *page, const struct shown *data, double left_mm, double right_mm)
{
    draw_histogram(page, data, (struct area){left_mm, 126.0, right_mm, 162.0});
    if (data->series->count > 1) {
        draw_individuals(page, data, (struct area){left_mm, 173.0, right_mm, 213.0});
        draw_ranges(page, data, (struct area){left_mm, 222.0, right_mm, 244.0});
    }
}

void certificate_charts(struct certificate *certificate, const struct batch_section *section, size_t duty)
{
    char over[200], title[200];
    (void)snprintf(over, sizeof over, "Batch %.150s: curves, margins and drift", certificate->batch->list->name);
    (void)snprintf(title, sizeof title, section->duty_count > 1 ? "Model %.150s, point %zu" : "Model %.150s",
                   section->model->name, duty + 1);
    certificate_page(certificate, over, title);
    struct page *page = certificate->page;
    const struct batch_series *head = &section->head[duty], *efficiency = &section->efficiency[duty];
    struct shown data = {head, FIGURE_HEAD, figure_units_of(section->model)};
    draw_curves(page, certificate->batch, section, duty);
    draw_series(page, &data, 24.0, 101.0);
    double y_mm = 250.5;
    y_mm += (double)name_units(page, head, y_mm) * TEXT_LEADING_MM;
    if (efficiency->count > 0) {
        data = (struct shown){efficiency, FIGURE_EFFICIENCY, data.units};
        draw_series(page, &data, 119.0, CERTIFICATE_RIGHT_MM);
        (void)name_units(page, efficiency, y_mm);
    } else {
        page_put(page, TYPE_TEXT, INK_GREY, ALIGN_LEFT, 109.0, 123.0, 0.0,
                 "No efficiency is guaranteed or could be read.");
    }
    put_source(page, 275.0);
}
