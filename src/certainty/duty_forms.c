/* The numbers of a duty point as linear forms of the points' values: to first order, what moves them and how much. */
#include "certainty/duty_forms.h"

#include <math.h>

/* Polynomials that are orthonormal on the points: x p_j = beta_j+1 p_j+1 + alpha_j p_j + beta_j p_j-1. */
struct basis {
    double center, scale; /* x = (flow - center) / scale */
    double alpha[FIT_DEGREE_MAX + 1], beta[FIT_DEGREE_MAX + 2];
};

/* p_k at x; *older, unless NULL, becomes p_k-1. */
static double basis_value(const struct basis *basis, size_t k, double x, double *older)
{
    double before = 0.0, p = 1.0 / basis->beta[0];
    for (size_t j = 0; j < k; j++) {
        double next = ((x - basis->alpha[j]) * p - (j > 0 ? basis->beta[j] * before : 0.0)) / basis->beta[j + 1];
        before = p;
        p = next;
    }
    if (older != NULL) {
        *older = before;
    }
    return p;
}

static double basis_x(const struct basis *basis, double flow_m3s)
{
    return (flow_m3s - basis->center) / basis->scale;
}

static void basis_build(struct basis *basis, const double *flow_m3s, size_t count, size_t degree)
{
    double low = flow_m3s[0], high = flow_m3s[0];
    for (size_t i = 1; i < count; i++) {
        low = fmin(low, flow_m3s[i]);
        high = fmax(high, flow_m3s[i]);
    }
    *basis = (struct basis){.center = 0.5 * (low + high), .scale = high > low ? 0.5 * (high - low) : 1.0};
    basis->beta[0] = sqrt((double)count);
    for (size_t k = 0; k < degree; k++) {
        double older, square = 0.0;
        for (size_t i = 0; i < count; i++) {
            double x = basis_x(basis, flow_m3s[i]), p = basis_value(basis, k, x, NULL);
            basis->alpha[k] += x * p * p;
        }
        for (size_t i = 0; i < count; i++) {
            double x = basis_x(basis, flow_m3s[i]), p = basis_value(basis, k, x, &older);
            double rest = (x - basis->alpha[k]) * p - (k > 0 ? basis->beta[k] * older : 0.0);
            square += rest * rest;
        }
        basis->beta[k + 1] = sqrt(square);
    }
}

void fit_weights(const double *flow_m3s, size_t count, size_t degree, double flow_at_m3s, double *weight)
{
    struct basis basis;
    basis_build(&basis, flow_m3s, count, degree);
    double at = basis_x(&basis, flow_at_m3s);
    for (size_t i = 0; i < count; i++) {
        double x = basis_x(&basis, flow_m3s[i]);
        weight[i] = 0.0;
        for (size_t k = 0; k <= degree; k++) {
            weight[i] += basis_value(&basis, k, x, NULL) * basis_value(&basis, k, at, NULL);
        }
    }
}

/* Adds factor x (change of a curve's value at a flow) to a form. Status: E_MEMORY. */
static enum status form_add(struct uncertainty_budget *budget, struct form *form, enum which_curve which,
                            double flow_m3s, double factor)
{
    const struct chain *chain = budget->chain;
    const struct curve *curve = &budget->chain->curves.of[which];
    size_t count = curve->points;
    double *flow = arena_alloc(budget->scratch, 2 * count, sizeof *flow), *weight = flow + count;
    if (flow == NULL) {
        return E_MEMORY;
    }
    if (form->weight[which] == NULL) {
        form->weight[which] = arena_alloc(budget->scratch, chain->count, sizeof *form->weight[which]);
        if (form->weight[which] == NULL) {
            return E_MEMORY;
        }
    }
    for (size_t k = 0; k < count; k++) {
        flow[k] = chain->at_rated[chain->point_of[which][k]].flow_m3s.value;
    }
    fit_weights(flow, count, curve->degree, flow_m3s, weight);
    for (size_t k = 0; k < count; k++) {
        form->weight[which][chain->point_of[which][k]] += factor * weight[k];
    }
    if (budget->finer[which].known) {
        form->choice += factor * (curve_at(&budget->finer[which], flow_m3s) - curve_at(curve, flow_m3s));
    }
    return OK;
}

/* eta = f Q H / P at a flow that is fixed, or (line true) that moves with the head curve along the line from the
 * origin. */
static enum status form_efficiency(struct uncertainty_budget *budget, struct form *form, enum which_curve power,
                                   double flow_m3s, bool line)
{
    const struct curves *curves = &budget->chain->curves;
    const struct curve *spent = &budget->chain->curves.of[power];
    if (!curves->of[CURVE_HEAD].known || !spent->known || !curves->of[CURVE_DENSITY].known) {
        return OK;
    }
    double head_m = curve_at(&curves->of[CURVE_HEAD], flow_m3s), power_w = curve_at(spent, flow_m3s);
    double efficiency = curves_specific_weight(curves, flow_m3s) * flow_m3s * head_m / power_w;
    double by_head = efficiency / head_m, by_power = -efficiency / power_w;
    if (line) {
        double along = efficiency * (1.0 / flow_m3s + curve_slope(&curves->of[CURVE_HEAD], flow_m3s) / head_m -
                                     curve_slope(spent, flow_m3s) / power_w);
        by_head += along / (head_m / flow_m3s - curve_slope(&curves->of[CURVE_HEAD], flow_m3s));
    }
    form->known = isfinite(by_head) && isfinite(by_power);
    if (!form->known || form_add(budget, form, CURVE_HEAD, flow_m3s, by_head) != OK) {
        return form->known ? E_MEMORY : OK;
    }
    if (form_add(budget, form, power, flow_m3s, by_power) != OK) {
        return E_MEMORY;
    }
    return form_add(budget, form, CURVE_DENSITY, flow_m3s, efficiency / curve_at(&curves->of[CURVE_DENSITY], flow_m3s));
}

/* A curve's value at a flow that is fixed, or that moves with the head curve: on the line from the origin (line_slope >
 * 0), or at a fixed head (line_slope 0). */
static enum status form_value(struct uncertainty_budget *budget, struct form *form, enum which_curve which,
                              double flow_m3s, bool moves, double line_slope)
{
    const struct curves *curves = &budget->chain->curves;
    const struct curve *curve = &budget->chain->curves.of[which];
    if (!curve->known) {
        return OK;
    }
    form->known = true;
    if (form_add(budget, form, which, flow_m3s, 1.0) != OK) {
        return E_MEMORY;
    }
    double fall = line_slope - curve_slope(&curves->of[CURVE_HEAD], flow_m3s);
    if (moves && curves->of[CURVE_HEAD].known && fall > 0.0) {
        return form_add(budget, form, CURVE_HEAD, flow_m3s, curve_slope(curve, flow_m3s) / fall);
    }
    return OK;
}

static bool known_flow(struct quantity flow_m3s)
{
    return flow_m3s.known && flow_m3s.value > 0.0;
}

/* Head and set efficiency at guaranteed flow. */
static enum status forms_at_flow(struct uncertainty_budget *budget, const struct duty_result *duty,
                                 struct duty_certainty *out, struct form *forms)
{
    struct quantity flow = duty->duty->flow_m3s;
    if (duty->at_guaranteed_flow.head_m.known && budget->chain->curves.of[CURVE_HEAD].known) {
        out->value[NUMBER_HEAD] = duty->at_guaranteed_flow.head_m.value;
        if (form_value(budget, &forms[NUMBER_HEAD], CURVE_HEAD, flow.value, false, 0.0) != OK) {
            return E_MEMORY;
        }
    }
    if (!duty->at_guaranteed_flow.set_efficiency.known || !known_flow(flow)) {
        return OK;
    }
    out->value[NUMBER_SET_EFFICIENCY] = duty->at_guaranteed_flow.set_efficiency.value;
    return form_efficiency(budget, &forms[NUMBER_SET_EFFICIENCY], CURVE_INPUT_POWER, flow.value, false);
}

/* Efficiency and input power where the grade reads them. */
static enum status forms_judged(struct uncertainty_budget *budget, const struct duty_result *duty, struct form *forms)
{
    const struct duty *guaranteed = duty->duty;
    struct quantity at_flow = guaranteed->flow_m3s, on_line = duty->on_duty_line.flow_m3s;
    bool efficiency_line = guaranteed->grade == NULL || guaranteed->grade->efficiency_at == READ_DUTY_LINE;
    bool power_line = guaranteed->grade == NULL || guaranteed->grade->power_at == READ_DUTY_LINE;
    enum which_curve spent = guaranteed->efficiency_of_pump ? CURVE_SHAFT_POWER : CURVE_INPUT_POWER;
    struct quantity flow = efficiency_line ? on_line : at_flow;
    if (known_flow(flow) &&
        form_efficiency(budget, &forms[NUMBER_EFFICIENCY], spent, flow.value, efficiency_line) != OK) {
        return E_MEMORY;
    }
    flow = power_line ? on_line : at_flow;
    if (!known_flow(flow) || !known_flow(at_flow)) {
        return OK;
    }
    double slope = quantity_or(guaranteed->head_m, 0.0) / at_flow.value;
    return form_value(budget, &forms[NUMBER_INPUT_POWER], CURVE_INPUT_POWER, flow.value, power_line, slope);
}

/* The greatest value over the head range that a check was decided by; a flow at an end of the range moves with the head
 * curve. */
static enum status form_greatest(struct uncertainty_budget *budget, struct form *form, enum which_curve which,
                                 const struct check *check)
{
    if (!check->at_flow_m3s.known) {
        return OK;
    }
    return form_value(budget, form, which, check->at_flow_m3s.value, check->at_range_end, 0.0);
}

/* The greatest current and input power over the head range: the model's, so they stand with its first duty. */
static enum status forms_overload(struct uncertainty_budget *budget, const struct duty_result *duty, struct form *forms)
{
    enum status status = OK;
    for (size_t c = 0; c < duty->check_count && status == OK; c++) {
        const struct check *check = &duty->checks[c];
        if (check->item == CHECK_OVERLOAD_CURRENT) {
            status = form_greatest(budget, &forms[NUMBER_CURRENT_MAX], CURVE_CURRENT, check);
        } else if (check->item == CHECK_OVERLOAD_POWER) {
            status = form_greatest(budget, &forms[NUMBER_POWER_MAX], CURVE_INPUT_POWER, check);
        }
    }
    return status;
}

enum status budget_forms(struct uncertainty_budget *budget, size_t d)
{
    const struct duty_result *duty = &budget->input->duties[d];
    struct form *forms = &budget->forms[d * NUMBER_COUNT];
    if (forms_at_flow(budget, duty, &budget->certainty->duties[d], forms) != OK ||
        forms_judged(budget, duty, forms) != OK) {
        return E_MEMORY;
    }
    return forms_overload(budget, duty, forms);
}
