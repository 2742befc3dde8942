/* How likely the true values conform, given what was measured (JCGM 106:2012, clause 7, without prior knowledge of the
 * product). */
#include "certainty/conformance.h"

#include <gsl/gsl_randist.h>
#include <gsl/gsl_rng.h>
#include <math.h>

/* Draws for the probability that several checks hold together; 1 % of the distance between 0 and 1 at worst. */
enum { JOINT_DRAWS = 4000 };

static enum duty_number number_of(enum check_item item)
{
    switch (item) {
    case CHECK_FLOW_AND_HEAD: return NUMBER_HEAD;
    case CHECK_EFFICIENCY: return NUMBER_EFFICIENCY;
    case CHECK_INPUT_POWER: return NUMBER_INPUT_POWER;
    case CHECK_OVERLOAD_CURRENT: return NUMBER_CURRENT_MAX;
    case CHECK_OVERLOAD_POWER: return NUMBER_POWER_MAX;
    }
    return NUMBER_COUNT;
}

/* The heads at guaranteed flow for which the curve, moved up or down as a whole, still meets the grade's mark. */
static void accept_heads(const struct duty_result *duty, const struct curve *head, double *low, double *high)
{
    double at_m = duty->at_guaranteed_flow.head_m.value;
    struct tolerance_room room = tolerance_room_of(&duty->tolerance, head, duty->at_guaranteed_head.flow_m3s);
    *low = room.fall_m.known ? at_m - room.fall_m.value : -INFINITY;
    *high = room.rise_m.known ? at_m + room.rise_m.value : INFINITY;
}

static void accept_check(const struct uncertainty_budget *budget, size_t d, const struct check *check,
                         enum duty_number number)
{
    struct duty_certainty *out = &budget->certainty->duties[d];
    if (number == NUMBER_HEAD) {
        accept_heads(&budget->input->duties[d], &budget->chain->curves.of[CURVE_HEAD], &out->accept_low[number],
                     &out->accept_high[number]);
    } else {
        out->value[number] = check->value.value;
        out->accept_low[number] = check->accept_low.known ? check->accept_low.value : -INFINITY;
        out->accept_high[number] = check->accept_high.known ? check->accept_high.value : INFINITY;
    }
    out->judged[number] = true;
}

static double inside(const struct spread *error, double value, double low, double high)
{
    double above = isfinite(low) ? spread_probability(error, value - low) : 1.0;
    double under = isfinite(high) ? spread_probability(error, value - high) : 0.0;
    return fmax(0.0, above - under);
}

/* Lower triangle L of a covariance C = L L', skipping directions that it does not have. */
static void factor(double *covariance, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        for (size_t j = 0; j <= i; j++) {
            double sum = covariance[i * count + j];
            for (size_t k = 0; k < j; k++) {
                sum -= covariance[i * count + k] * covariance[j * count + k];
            }
            double diagonal = covariance[j * count + j];
            if (i == j) {
                covariance[i * count + i] = sum > 0.0 ? sqrt(sum) : 0.0;
            } else {
                covariance[i * count + j] = diagonal > 0.0 ? sum / diagonal : 0.0;
            }
        }
    }
}

/* One draw of the errors of all forms: each instrument's error once, the scatter by its covariance. */
static void draw_errors(const struct uncertainty_budget *budget, gsl_rng *rng, double *normal, double *error)
{
    size_t count = budget->form_count;
    for (size_t f = 0; f < count; f++) {
        normal[f] = gsl_ran_gaussian_ziggurat(rng, 1.0);
        error[f] = 0.0;
        for (size_t g = 0; g <= f; g++) {
            error[f] += budget->random[f * count + g] * normal[g];
        }
    }
    for (int c = 0; c < CHANNEL_COUNT; c++) {
        const struct instrument *instrument = budget->sensitivity.instrument[c];
        if (!budget->sensitivity.used[c] || instrument == NULL || (int)budget->sensitivity.first[c] != c) {
            continue;
        }
        double unit = instrument->distribution == DISTRIBUTION_NORMAL ? gsl_ran_gaussian_ziggurat(rng, 1.0)
                                                                      : gsl_ran_flat(rng, -1.0, 1.0) * sqrt(3.0);
        for (size_t f = 0; f < count; f++) {
            error[f] += unit * budget->common[(size_t)c * count + f];
        }
    }
}

static bool all_inside(const struct uncertainty_budget *budget, const double *error)
{
    for (size_t d = 0; d < budget->input->duty_count; d++) {
        const struct duty_certainty *out = &budget->certainty->duties[d];
        for (int n = 0; n < NUMBER_COUNT; n++) {
            double value = out->value[n] - error[d * NUMBER_COUNT + (size_t)n];
            if (out->judged[n] && !(value >= out->accept_low[n] && value <= out->accept_high[n])) {
                return false;
            }
        }
    }
    return true;
}

/* All checks together; single is the one probability when only one check is in doubt. */
static enum status find_joint(struct uncertainty_budget *budget, struct quantity *joint)
{
    gsl_rng *rng = gsl_rng_alloc(gsl_rng_mt19937);
    double *normal = arena_alloc(budget->scratch, 2 * budget->form_count, sizeof *normal);
    if (rng == NULL || normal == NULL) {
        gsl_rng_free(rng);
        return E_MEMORY;
    }
    gsl_rng_set(rng, budget->input->seed);
    factor(budget->random, budget->form_count);
    size_t conforming = 0;
    for (int draw = 0; draw < JOINT_DRAWS; draw++) {
        draw_errors(budget, rng, normal, normal + budget->form_count);
        conforming += all_inside(budget, normal + budget->form_count) ? 1 : 0;
    }
    gsl_rng_free(rng);
    *joint = quantity_of((double)conforming / JOINT_DRAWS);
    return OK;
}

enum status budget_conformance(struct uncertainty_budget *budget)
{
    struct quantity *whole = &budget->certainty->conformance_probability;
    size_t judged = 0, doubtful = 0;
    bool complete = true;
    double least = 1.0;
    for (size_t d = 0; d < budget->input->duty_count; d++) {
        struct duty_certainty *out = &budget->certainty->duties[d];
        for (size_t c = 0; c < budget->input->duties[d].check_count; c++) {
            const struct check *check = &budget->input->duties[d].checks[c];
            enum duty_number number = number_of(check->item);
            if (check->verdict == VERDICT_NOT_JUDGED || !out->known[number]) {
                complete = false;
                continue;
            }
            accept_check(budget, d, check, number);
            double p =
                inside(&out->error[number], out->value[number], out->accept_low[number], out->accept_high[number]);
            out->conformance_probability[c] = quantity_of(p);
            judged++;
            least = fmin(least, p);
            doubtful += p < 0.9999 ? 1 : 0;
        }
    }
    if (!complete || judged == 0) {
        return OK;
    }
    if (doubtful <= 1 || least < 1e-4) {
        *whole = quantity_of(least);
        return OK;
    }
    budget->certainty->conformance_drawn = true;
    return find_joint(budget, whole);
}
