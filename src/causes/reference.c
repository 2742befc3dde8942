#include "causes/reference.h"

#include <math.h>

/* Head and input power against the guaranteed point's, at shares of guaranteed flow. Common practice, no source: the
 * mean of what radial and mixed-flow bowls do; the engine's spread for a guarantee alone covers from a flat to a steep
 * one. */
static const struct {
    double flow, head, power;
} form[] = {{0.0, 1.32, 0.66}, {0.4, 1.25, 0.80}, {0.8, 1.08, 0.95}, {1.0, 1.0, 1.0}, {1.3, 0.76, 1.02}};

static const double built_above_guarantee = 1.015;

struct model_reference reference_of_guarantee(const struct guarantee *guarantee)
{
    struct model_reference reference = {.stages = guarantee->stages, .best_flow_m3s = guarantee->flow_m3s};
    struct reference_curves *curves = &reference.curves;
    curves->node_count = sizeof form / sizeof *form;
    curves->known[GOOD_HEAD] = true;
    curves->known[GOOD_POWER] = guarantee->input_power_w.known;
    curves->known[GOOD_CURRENT] = guarantee->current_a.known;
    for (size_t i = 0; i < curves->node_count; i++) {
        /* Current follows power less than in proportion: the magnetising part stays (cos phi 0.8 assumed). */
        double current = 0.36 + 0.64 * form[i].power;
        curves->flow_m3s[i] = form[i].flow * guarantee->flow_m3s;
        curves->mean.of[GOOD_HEAD][i] = form[i].head * built_above_guarantee * guarantee->head_m;
        curves->mean.of[GOOD_POWER][i] = form[i].power * guarantee->input_power_w.value;
        curves->mean.of[GOOD_CURRENT][i] = current * guarantee->current_a.value;
    }
    reference.no_load_w = NO_LOAD_SHARE * quantity_or(guarantee->input_power_w, 0.0);
    return reference;
}

/* Horner's scheme over Newton's form, with the first two derivatives. */
static struct node_end newton_at(const struct node_curve *curve, double x)
{
    struct node_end at = {.at = x};
    for (size_t i = curve->count; i-- > 0;) {
        double step = x - curve->node[i];
        at.bend = at.bend * step + at.slope;
        at.slope = at.slope * step + at.value;
        at.value = at.value * step + curve->coefficient[i];
    }
    return at;
}

void node_curve_make(const double *node, const double *value, size_t count, struct node_curve *curve)
{
    curve->count = count;
    for (size_t i = 0; i < count; i++) {
        curve->node[i] = node[i];
        curve->coefficient[i] = value[i];
    }
    for (size_t order = 1; order < count; order++) {
        for (size_t i = count - 1; i >= order; i--) {
            double rise = curve->coefficient[i] - curve->coefficient[i - 1];
            curve->coefficient[i] = rise / (node[i] - node[i - order]);
        }
    }
    curve->low = newton_at(curve, node[0]);
    curve->high = newton_at(curve, node[count - 1]);
}

static const struct node_end *end_beyond(const struct node_curve *curve, double x)
{
    return x < curve->low.at ? &curve->low : x > curve->high.at ? &curve->high : NULL;
}

/* Between the nodes: value, and slope where it is asked for. */
static double between(const struct node_curve *curve, double x, double *slope)
{
    double value = 0.0, derivative = 0.0;
    for (size_t i = curve->count; i-- > 0;) {
        double step = x - curve->node[i];
        derivative = derivative * step + value;
        value = value * step + curve->coefficient[i];
    }
    if (slope != NULL) {
        *slope = derivative;
    }
    return value;
}

double node_curve_at(const struct node_curve *curve, double x, double *slope)
{
    const struct node_end *end = end_beyond(curve, x);
    if (end == NULL) {
        return between(curve, x, slope);
    }
    double step = x - end->at;
    if (slope != NULL) {
        *slope = end->slope + 2.0 * end->bend * step;
    }
    return end->value + step * (end->slope + step * end->bend);
}

double node_curve_doubt(const struct node_curve *curve, double x)
{
    const struct node_end *end = end_beyond(curve, x);
    return end == NULL ? 0.0 : fabs(end->bend) * (x - end->at) * (x - end->at);
}
