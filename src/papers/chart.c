#include "papers/chart.h"

#include <math.h>
#include <string.h>

/* --- curves --- */

static void sample_banded(const struct curve *curve, double flow_m3s, struct quantity *value, struct quantity *low,
                          struct quantity *high)
{
    if (curve->known && curve_covers(curve, flow_m3s)) {
        double middle = curve_at(curve, flow_m3s), band = curve_band(curve, flow_m3s);
        *value = quantity_of(middle);
        *low = quantity_of(middle - band);
        *high = quantity_of(middle + band);
    }
}

size_t chart_rows(const struct curves *curves, struct chart_row rows[CHART_ROWS])
{
    const struct curve *widest =
        curves->of[CURVE_HEAD].known ? &curves->of[CURVE_HEAD] : &curves->of[CURVE_INPUT_POWER];
    if (!widest->known) {
        return 0;
    }
    for (size_t i = 0; i < CHART_ROWS; i++) {
        double share = (double)i / CHART_SAMPLES, efficiency;
        struct chart_row *row = &rows[i];
        *row = (struct chart_row){.flow_m3s = widest->flow_low_m3s * (1.0 - share) + widest->flow_high_m3s * share};
        sample_banded(&curves->of[CURVE_HEAD], row->flow_m3s, &row->head_m, &row->head_low_m, &row->head_high_m);
        sample_banded(&curves->of[CURVE_INPUT_POWER], row->flow_m3s, &row->power_w, &row->power_low_w,
                      &row->power_high_w);
        if (curves->of[CURVE_CURRENT].known && curve_covers(&curves->of[CURVE_CURRENT], row->flow_m3s)) {
            row->current_a = quantity_of(curve_at(&curves->of[CURVE_CURRENT], row->flow_m3s));
        }
        if (curves_set_efficiency(curves, row->flow_m3s, &efficiency)) {
            row->set_efficiency = quantity_of(efficiency);
        }
        if (curves_pump_efficiency(curves, row->flow_m3s, &efficiency)) {
            row->pump_efficiency = quantity_of(efficiency);
        }
    }
    return CHART_ROWS;
}

/* --- marks --- */

bool chart_guarantee(const struct duty_result *duty, enum check_item item, double *flow_m3s, double *value,
                     double *limit)
{
    const struct grade *grade = duty->duty->grade;
    for (size_t i = 0; i < duty->check_count; i++) {
        const struct check *check = &duty->checks[i];
        if (check->item != item || !check->guaranteed.known || !duty->duty->flow_m3s.known) {
            continue;
        }
        bool line =
            grade != NULL && (item == CHECK_EFFICIENCY ? grade->efficiency_at : grade->power_at) == READ_DUTY_LINE;
        struct quantity bound = item == CHECK_EFFICIENCY ? check->limit_low : check->limit_high;
        *flow_m3s =
            line ? quantity_or(duty->on_duty_line.flow_m3s, duty->duty->flow_m3s.value) : duty->duty->flow_m3s.value;
        *value = check->guaranteed.value;
        *limit = quantity_or(bound, *value);
        return true;
    }
    return false;
}

/* --- axes --- */

static void reach(struct chart_span *span, struct quantity value)
{
    if (value.known) {
        span->low = value.value < span->low ? value.value : span->low;
        span->high = value.value > span->high ? value.value : span->high;
    }
}

static void reach_curve(struct chart_span *span, const struct curve *curve)
{
    double least, greatest, at;
    if (curve->known) {
        curve_extremes(curve, curve->flow_low_m3s, curve->flow_high_m3s, &least, &greatest, &at);
        reach(span, quantity_of(greatest));
    }
}

static void reach_duty(struct chart_spans *spans, const struct duty_result *duty)
{
    struct outline_vertex vertices[OUTLINE_VERTICES];
    double flow_m3s, value, limit;
    for (size_t count = tolerance_outline(&duty->tolerance, vertices), i = 0; i < count; i++) {
        reach(&spans->flow_m3s, quantity_of(vertices[i].flow_m3s));
        reach(&spans->head_m, quantity_of(vertices[i].head_m));
    }
    if (chart_guarantee(duty, CHECK_EFFICIENCY, &flow_m3s, &value, &limit)) {
        reach(&spans->efficiency, quantity_of(value));
    }
    if (chart_guarantee(duty, CHECK_INPUT_POWER, &flow_m3s, &value, &limit)) {
        reach(&spans->power_w, quantity_of(limit));
    }
}

const struct rated_point *chart_point(const struct result *result, size_t i)
{
    const struct rated_point *rated = &result->points[i].at_rated;
    return rated->translated && rated->flow_m3s.known ? rated : NULL;
}

struct chart_spans chart_spans_of(const struct result *result)
{
    struct chart_spans spans = {0};
    for (size_t i = 0; i < result->point_count; i++) {
        const struct rated_point *rated = chart_point(result, i);
        if (rated != NULL) {
            reach(&spans.flow_m3s, rated->flow_m3s);
            reach(&spans.head_m, rated->head_m);
            reach(&spans.efficiency, rated->set_efficiency);
            reach(&spans.efficiency, rated->pump_efficiency);
            reach(&spans.power_w, rated->input_power_w);
            reach(&spans.current_a, rated->current_a);
        }
    }
    for (size_t i = 0; i < result->duty_count; i++) {
        reach_duty(&spans, &result->duties[i]);
    }
    reach_curve(&spans.head_m, &result->curves.of[CURVE_HEAD]);
    reach_curve(&spans.power_w, &result->curves.of[CURVE_INPUT_POWER]);
    reach_curve(&spans.current_a, &result->curves.of[CURVE_CURRENT]);
    reach(&spans.efficiency, result->best_known ? quantity_of(result->best.set_efficiency) : quantity_absent());
    return spans;
}
