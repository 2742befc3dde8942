/* chart.h - what the curves of a result look like, in SI, ready to be drawn (private to the renderers)
 */
#ifndef DUTYPROOF_CHART_H
#define DUTYPROOF_CHART_H

#include "papers/figures.h"
#include "run/result.h"

enum { CHART_SAMPLES = 24, CHART_ROWS = CHART_SAMPLES + 1 };

/* The curves at one flow; absent outside a curve's tested range. */
struct chart_row {
    double flow_m3s;
    struct quantity head_m, head_low_m, head_high_m; /* low and high: the 95 % band */
    struct quantity set_efficiency, pump_efficiency;
    struct quantity power_w, power_low_w, power_high_w;
    struct quantity current_a;
};

/* Samples the curves over their tested range. Returns: number of rows; 0 when there is no curve. */
size_t chart_rows(const struct curves *curves, struct chart_row rows[CHART_ROWS]);

/* A guaranteed efficiency or input power and its limit, at the flow where the grade reads it. Returns: false when there
 * is none. */
bool chart_guarantee(const struct duty_result *duty, enum check_item item, double *flow_m3s, double *value,
                     double *limit);

/* What an axis must hold. 0 is always in it. */
struct chart_span {
    double low, high;
};

struct chart_spans {
    struct chart_span flow_m3s, head_m, efficiency, power_w, current_a;
};

struct chart_spans chart_spans_of(const struct result *result);

/* Point number i at rated speed, or NULL when it is not drawn: no flow, or not translated. */
const struct rated_point *chart_point(const struct result *result, size_t i);

#endif
