#include "certainty/uncertainty.h"

#include "certainty/conformance.h"
#include "certainty/duty_forms.h"

#include <gsl/gsl_cdf.h>
#include <math.h>
#include <string.h>

/* Scatter about a curve this unlikely (one-sided) from the scatter of the readings alone is lack of fit, and then
 * speaks for the random part instead of it. Source of the test: Draper & Smith, Applied Regression Analysis. */
static const double lack_of_fit_tail = 0.01;
static const double two_sided_95 = 0.975;

/* Change of a point's value at its flow per unit of a reading: the value's own change less what the curve does over the
 * flow's change. */
static double off_curve(const struct uncertainty_budget *budget, const struct reading_effect *effect, size_t i,
                        enum which_curve which)
{
    const struct curve *curve = &budget->chain->curves.of[which];
    return effect->value[which] - curve_slope(curve, budget->chain->at_rated[i].flow_m3s.value) * effect->flow;
}

/* Change of a form per unit of the reading of one point. */
static double form_change(const struct uncertainty_budget *budget, const struct form *form,
                          const struct reading_effect *effect, size_t i)
{
    double sum = 0.0;
    for (int k = 0; k < CURVE_COUNT; k++) {
        enum which_curve which = (enum which_curve)k;
        if (form->weight[k] != NULL && form->weight[k][i] != 0.0) {
            sum += form->weight[k][i] * off_curve(budget, effect, i, which);
        }
    }
    return sum;
}

/* Independent readings that the means of a point are worth, by the channel with the fewest that matters to a curve. */
static double independent_readings(const struct uncertainty_budget *budget, enum which_curve which, size_t i)
{
    double fewest = INFINITY;
    for (int c = 0; c < CHANNEL_COUNT; c++) {
        const struct reading_effect *effect = budget->sensitivity.used[c] ? &budget->sensitivity.effect[c][i] : NULL;
        if (effect != NULL && effect->standard_error > 0.0 && off_curve(budget, effect, i, which) != 0.0) {
            fewest = fmin(fewest, budget->settled->points[i].channels[c].effective_n);
        }
    }
    return fewest;
}

/* Whether the noise of a record remembers itself for so long that a stretch does not show its size: then the scatter of
 * the points about the curve does. */
static bool hides_scatter(const struct uncertainty_budget *budget, enum which_curve which)
{
    static const double enough =
        4.0; /* on the mean over the points; below it intervals came out too narrow or too wide */
    const struct curve *curve = &budget->chain->curves.of[which];
    double sum = 0.0, counted = 0.0;
    for (size_t p = 0; p < curve->points; p++) {
        double readings = independent_readings(budget, which, budget->chain->point_of[which][p]);
        sum += isfinite(readings) ? readings : 0.0;
        counted += isfinite(readings) ? 1.0 : 0.0;
    }
    return budget->settled->kind == LOG_CONTINUOUS_RECORD && counted > 0.0 && sum < enough * counted;
}

/* Whether a curve's points lie further from it than the scatter of their readings explains. */
static bool lacks_fit(const struct uncertainty_budget *budget, enum which_curve which)
{
    const struct curve *curve = &budget->chain->curves.of[which];
    double sum = 0.0, freedom = 0.0;
    if (hides_scatter(budget, which)) {
        return true;
    }
    for (size_t p = 0; p < curve->points; p++) {
        size_t i = budget->chain->point_of[which][p];
        size_t readings = budget->settled->points[i].readings;
        if (readings < 2) {
            return true;
        }
        sum += budget->variance[which][i];
        freedom += (double)readings - 1.0;
    }
    double expected = sum / (double)curve->points, found = curve->residual * curve->residual;
    return found > expected * gsl_cdf_fdist_Qinv(lack_of_fit_tail, (double)curve->freedom, freedom);
}

/* The variance of each point about each curve from the scatter of its readings. */
static void add_up_scatter(struct uncertainty_budget *budget)
{
    for (int c = 0; c < CHANNEL_COUNT; c++) {
        for (size_t i = 0; budget->sensitivity.used[c] && i < budget->chain->count; i++) {
            const struct reading_effect *effect = &budget->sensitivity.effect[c][i];
            for (int k = 0; k < CURVE_COUNT; k++) {
                if (budget->chain->curves.of[k].known) {
                    double moved = off_curve(budget, effect, i, (enum which_curve)k) * effect->standard_error;
                    budget->variance[k][i] += moved * moved;
                }
            }
        }
    }
}

/* Adds to the share of a source; the list stands largest first, and the smallest fall off its end. */
static void share_add(struct duty_certainty *out, enum channel channel, bool instrument, double variance)
{
    struct uncertainty_share share = {.channel = channel, .instrument = instrument, .share = variance};
    size_t at = 0;
    if (!(variance > 0.0)) {
        return;
    }
    while (at < out->share_count && (out->shares[at].channel != channel || out->shares[at].instrument != instrument)) {
        at++;
    }
    if (at < out->share_count) {
        share.share += out->shares[at].share;
    } else if (at < SHARES_KEPT) {
        out->share_count++;
    } else if (out->shares[--at].share >= variance) {
        return;
    }
    for (; at > 0 && out->shares[at - 1].share < share.share; at--) {
        out->shares[at] = out->shares[at - 1];
    }
    out->shares[at] = share;
}

/* How far a form moves when an instrument errs by its limit at all channels that err together, and all points. */
static double form_limit(const struct uncertainty_budget *budget, const struct form *form, enum channel first)
{
    double limit = 0.0;
    for (int c = (int)first; c < CHANNEL_COUNT; c++) {
        if (!budget->sensitivity.used[c] || budget->sensitivity.first[c] != first) {
            continue;
        }
        for (size_t i = 0; i < budget->chain->count; i++) {
            const struct reading_effect *effect = &budget->sensitivity.effect[c][i];
            limit += form_change(budget, form, effect, i) * effect->limit;
        }
    }
    return limit;
}

/* One instrument moves all points together; channel: the first that it is read on. */
static void add_instrument(struct uncertainty_budget *budget, enum channel channel)
{
    const struct instrument *instrument = budget->sensitivity.instrument[channel];
    for (size_t f = 0; f < budget->form_count; f++) {
        if (!budget->forms[f].known) {
            continue;
        }
        double limit = form_limit(budget, &budget->forms[f], channel);
        double deviation = limit_deviation(instrument, limit);
        budget->common[(size_t)channel * budget->form_count + f] = deviation;
        if (instrument->distribution == DISTRIBUTION_NORMAL) {
            spread_add_normal(budget_error(budget, f), fabs(deviation), INFINITY);
        } else {
            spread_add_rectangular(budget_error(budget, f), fabs(limit));
        }
        if (f % NUMBER_COUNT == NUMBER_SET_EFFICIENCY) {
            share_add(&budget->certainty->duties[f / NUMBER_COUNT], channel, true, deviation * deviation);
        }
    }
}

/* The scatter of one channel's readings, another at each point. */
static void add_readings(struct uncertainty_budget *budget, enum channel channel, double *moved)
{
    for (size_t i = 0; i < budget->chain->count; i++) {
        const struct reading_effect *effect = &budget->sensitivity.effect[channel][i];
        for (size_t f = 0; f < budget->form_count; f++) {
            moved[f] = 0.0;
            if (budget->forms[f].known && effect->standard_error > 0.0) {
                moved[f] = form_change(budget, &budget->forms[f], effect, i) * effect->standard_error;
                spread_add_normal(budget_error(budget, f), fabs(moved[f]), effect->freedom);
            }
        }
        for (size_t f = 0; f < budget->form_count; f++) {
            for (size_t g = 0; moved[f] != 0.0 && g < budget->form_count; g++) {
                budget->random[f * budget->form_count + g] += moved[f] * moved[g];
            }
        }
    }
}

/* The scatter of the points about a curve whose readings do not explain it. */
static void add_residual(struct uncertainty_budget *budget, enum which_curve which)
{
    const struct curve *curve = &budget->chain->curves.of[which];
    double variance = curve->residual * curve->residual;
    for (size_t f = 0; f < budget->form_count; f++) {
        const double *a = budget->forms[f].weight[which];
        for (size_t g = 0; budget->forms[f].known && a != NULL && g < budget->form_count; g++) {
            const double *b = budget->forms[g].weight[which];
            double sum = 0.0;
            for (size_t i = 0; b != NULL && i < budget->chain->count; i++) {
                sum += a[i] * b[i] * variance;
            }
            budget->random[f * budget->form_count + g] += sum;
            if (f == g) {
                spread_add_normal(budget_error(budget, f), sqrt(sum), (double)curve->freedom);
                if (f % NUMBER_COUNT == NUMBER_SET_EFFICIENCY) {
                    share_add(&budget->certainty->duties[f / NUMBER_COUNT], CHANNEL_COUNT, false, sum);
                }
            }
        }
    }
}

/* The part of the set efficiency's variance that one channel's scatter makes. */
static void share_readings(struct uncertainty_budget *budget, enum channel channel)
{
    for (size_t d = 0; d < budget->input->duty_count; d++) {
        const struct form *form = &budget->forms[d * NUMBER_COUNT + NUMBER_SET_EFFICIENCY];
        double sum = 0.0;
        for (size_t i = 0; form->known && i < budget->chain->count; i++) {
            const struct reading_effect *effect = &budget->sensitivity.effect[channel][i];
            double moved = form_change(budget, form, effect, i) * effect->standard_error;
            sum += moved * moved;
        }
        share_add(&budget->certainty->duties[d], channel, false, sum);
    }
}

/* Without the accuracy of these nothing can be said; the others are left out with a caution. */
static bool is_primary(enum channel channel)
{
    return channel != CH_FREQUENCY && channel != CH_SPEED && channel != CH_WATER_TEMPERATURE &&
           channel != CH_WATER_LEVEL && channel != CH_FILLING_TIME && channel != CH_METER_TIME &&
           channel != CH_METER_REVOLUTIONS;
}

/* Which numbers rest on a channel. */
static bool number_needs(const struct uncertainty_budget *budget, size_t f, enum channel channel)
{
    double most = 0.0;
    for (size_t i = 0; i < budget->chain->count; i++) {
        const struct reading_effect *effect = &budget->sensitivity.effect[channel][i];
        most = fmax(most, fabs(form_change(budget, &budget->forms[f], effect, i)));
    }
    return most > 0.0;
}

static enum status make_room(struct uncertainty_budget *budget)
{
    struct certainty *certainty = budget->certainty;
    budget->form_count = budget->input->duty_count * NUMBER_COUNT;
    certainty->duties = arena_alloc(budget->arena, budget->input->duty_count, sizeof *certainty->duties);
    certainty->points = arena_alloc(budget->arena, budget->chain->count, sizeof *certainty->points);
    budget->forms = arena_alloc(budget->scratch, budget->form_count, sizeof *budget->forms);
    budget->random = arena_alloc(budget->scratch, budget->form_count * budget->form_count, sizeof *budget->random);
    budget->common = arena_alloc(budget->scratch, CHANNEL_COUNT * budget->form_count, sizeof *budget->common);
    bool made = certainty->duties != NULL && certainty->points != NULL && budget->forms != NULL &&
                budget->random != NULL && budget->common != NULL;
    for (int k = 0; k < CURVE_COUNT; k++) {
        budget->variance[k] = arena_alloc(budget->scratch, budget->chain->count, sizeof *budget->variance[k]);
        made = made && budget->variance[k] != NULL;
    }
    return made ? OK : E_MEMORY;
}

/* The degree of a curve is chosen from the data and may be one too low. What one degree more would change counts as an
 * error of its own: where the degree is right it is of the size of the scatter, where it is too low it is the bias. */
static void add_choice(struct uncertainty_budget *budget)
{
    for (size_t f = 0; f < budget->form_count; f++) {
        double choice = budget->forms[f].choice;
        if (budget->forms[f].known && choice != 0.0) {
            spread_add_normal(budget_error(budget, f), fabs(choice), INFINITY);
            budget->random[f * budget->form_count + f] += choice * choice;
            if (f % NUMBER_COUNT == NUMBER_SET_EFFICIENCY) {
                share_add(&budget->certainty->duties[f / NUMBER_COUNT], CHANNEL_COUNT, false, choice * choice);
            }
        }
    }
}

static enum status fit_finer(struct uncertainty_budget *budget)
{
    struct chain finer = *budget->chain;
    finer.flow_m3s = arena_alloc(budget->scratch, 2 * finer.count, sizeof *finer.flow_m3s);
    if (finer.flow_m3s == NULL) {
        return E_MEMORY;
    }
    finer.value = finer.flow_m3s + finer.count;
    for (int k = 0; k < CURVE_COUNT; k++) {
        const struct curve *curve = &budget->chain->curves.of[k];
        finer.degree[k] = curve->known && curve->freedom > 1 ? curve->degree + 1 : 0;
    }
    if (chain_fit(&finer) != OK) {
        return E_MEMORY;
    }
    for (int k = 0; k < CURVE_COUNT; k++) {
        budget->finer[k] = finer.curves.of[k];
    }
    return OK;
}

/* Carries every source to every number of every duty. */
static enum status add_sources(struct uncertainty_budget *budget)
{
    double *moved = arena_alloc(budget->scratch, budget->form_count, sizeof *moved);
    if (moved == NULL) {
        return E_MEMORY;
    }
    add_up_scatter(budget);
    const struct curves *curves = &budget->chain->curves;
    bool by_residual = (curves->of[CURVE_HEAD].known && lacks_fit(budget, CURVE_HEAD)) ||
                       (curves->of[CURVE_INPUT_POWER].known && lacks_fit(budget, CURVE_INPUT_POWER));
    budget->certainty->scatter_by_residual = by_residual;
    for (int c = 0; c < CHANNEL_COUNT; c++) {
        enum channel channel = (enum channel)c;
        if (!budget->sensitivity.used[c]) {
            continue;
        }
        budget->missing[c] = budget->sensitivity.instrument[c] == NULL;
        if (!budget->missing[c] && budget->sensitivity.first[c] == channel) {
            add_instrument(budget, channel);
        }
        if (!by_residual) {
            add_readings(budget, channel, moved);
            share_readings(budget, channel);
        }
    }
    add_choice(budget);
    for (int k = 0; k < CURVE_COUNT; k++) {
        if (by_residual && budget->chain->curves.of[k].known) {
            add_residual(budget, (enum which_curve)k);
        }
    }
    return OK;
}

static void settle_numbers(struct uncertainty_budget *budget)
{
    for (size_t f = 0; f < budget->form_count; f++) {
        bool known = budget->forms[f].known && spread_deviation(budget_error(budget, f)) > 0.0;
        for (int c = 0; known && c < CHANNEL_COUNT; c++) {
            known = !(budget->missing[c] && is_primary((enum channel)c) && number_needs(budget, f, (enum channel)c));
        }
        budget->certainty->duties[f / NUMBER_COUNT].known[f % NUMBER_COUNT] = known;
    }
    for (size_t d = 0; d < budget->input->duty_count; d++) {
        struct duty_certainty *out = &budget->certainty->duties[d];
        double whole = spread_deviation(&out->error[NUMBER_SET_EFFICIENCY]);
        for (size_t s = 0; s < out->share_count; s++) {
            out->shares[s].share /= whole * whole;
        }
        if (out->known[NUMBER_HEAD]) {
            out->head_m = quantity_of(spread_expanded(&out->error[NUMBER_HEAD]));
        }
        if (out->known[NUMBER_SET_EFFICIENCY]) {
            out->set_efficiency = quantity_of(spread_expanded(&out->error[NUMBER_SET_EFFICIENCY]));
        }
    }
}

/* 95 % half-width of a stated limit alone. */
static double limit_expanded(const struct instrument *instrument, double limit)
{
    return instrument->distribution == DISTRIBUTION_NORMAL ? limit : 0.95 * limit;
}

/* The parts of a point's relative uncertainty: flow, head, input power, set efficiency. */
struct point_parts {
    double instrument[4], random[4]; /* squares */
    bool known[4], missing[4];
};

/* What instruments do to point i; those that err together add up before they are squared. */
static void add_point_instruments(const struct uncertainty_budget *budget, size_t i, struct point_parts *parts)
{
    double limit[CHANNEL_COUNT][4] = {{0}};
    for (int c = 0; c < CHANNEL_COUNT; c++) {
        const struct instrument *instrument = budget->sensitivity.instrument[c];
        for (int k = 0; budget->sensitivity.used[c] && k < 4; k++) {
            const struct reading_effect *effect = &budget->sensitivity.effect[c][i];
            bool moves = effect->relative[k] != 0.0;
            double signed_limit = instrument != NULL ? limit_expanded(instrument, effect->limit) : 0.0;
            parts->known[k] = parts->known[k] || (moves && signed_limit != 0.0);
            parts->missing[k] = parts->missing[k] || (moves && instrument == NULL && is_primary((enum channel)c));
            limit[budget->sensitivity.first[c]][k] += effect->relative[k] * signed_limit;
        }
    }
    for (int c = 0; c < CHANNEL_COUNT; c++) {
        for (int k = 0; k < 4; k++) {
            parts->instrument[k] += limit[c][k] * limit[c][k];
        }
    }
}

/* Scatter of the readings of point i. */
static void add_point_scatter(const struct uncertainty_budget *budget, size_t i, struct point_parts *parts)
{
    for (int c = 0; c < CHANNEL_COUNT; c++) {
        const struct reading_effect *effect = budget->sensitivity.used[c] ? &budget->sensitivity.effect[c][i] : NULL;
        if (effect == NULL || !(effect->standard_error > 0.0)) {
            continue;
        }
        double scatter = effect->standard_error * gsl_cdf_tdist_Pinv(two_sided_95, effect->freedom);
        for (int k = 0; k < 4; k++) {
            parts->random[k] += effect->relative[k] * effect->relative[k] * scatter * scatter;
        }
    }
}

/* A single reading shows no scatter of its own: that of the points about the curve stands in for head and power, which
 * includes what the flow's scatter does to them. The flow's own is not known then. */
static void add_point_residual(const struct uncertainty_budget *budget, size_t i, struct point_parts *parts)
{
    const struct curve *const curves[] = {&budget->chain->curves.of[CURVE_HEAD],
                                          &budget->chain->curves.of[CURVE_INPUT_POWER]};
    const struct quantity values[] = {budget->chain->at_rated[i].head_m, budget->chain->at_rated[i].input_power_w};
    parts->known[0] = false;
    for (int k = 0; k < 2; k++) {
        double part = curves[k]->student_t * curves[k]->residual / values[k].value;
        bool known = curves[k]->known && values[k].known && isfinite(part);
        parts->known[k + 1] = parts->known[k + 1] && known;
        parts->known[3] = parts->known[3] && known;
        parts->random[k + 1] += known ? part * part : 0.0;
        parts->random[3] += known ? part * part : 0.0;
    }
}

/* As the test standard combines it, point by point. */
static void find_point(const struct uncertainty_budget *budget, size_t i)
{
    struct point_parts parts = {0};
    add_point_instruments(budget, i, &parts);
    struct point_parts instruments = parts;
    if (budget->settled->points[i].readings > 1) {
        add_point_scatter(budget, i, &parts);
    } else {
        add_point_residual(budget, i, &parts);
    }
    struct point_uncertainty *out = &budget->certainty->points[i];
    struct quantity *const all[4] = {&out->flow, &out->head, &out->input_power, &out->set_efficiency};
    struct quantity *const alone[3] = {&out->instrument_flow, &out->instrument_head, &out->instrument_power};
    for (int k = 0; k < 4; k++) {
        if (parts.known[k] && !parts.missing[k]) {
            *all[k] = quantity_of(sqrt(parts.instrument[k] + parts.random[k]));
        }
        if (k < 3 && instruments.known[k] && !parts.missing[k]) {
            *alone[k] = quantity_of(sqrt(parts.instrument[k]));
        }
    }
}

/* Marks what was left out for want of a stated accuracy. */
static void mark_missing(struct uncertainty_budget *budget)
{
    for (int c = 0; c < CHANNEL_COUNT; c++) {
        budget->certainty->missing |= budget->missing[c] ? UINT32_C(1) << c : 0;
    }
}

/* The largest relative uncertainties of one quantity near the duty point: of the instruments alone, and over all. */
struct largest {
    double instrument, overall;
};

/* Within 10 % of guaranteed flow, where the standard's figures hold: low flows, where any meter is poor, are not held
 * against a bay. */
static bool near_duty(const struct uncertainty_budget *budget, size_t i)
{
    struct quantity duty = budget->chain->model->duties[0].flow_m3s;
    const struct rated_point *rated = &budget->chain->at_rated[i];
    return duty.known && budget->chain->usable[i] && rated->translated && rated->flow_m3s.known &&
           rated->head_m.known && fabs(rated->flow_m3s.value - duty.value) <= 0.1 * duty.value;
}

static struct largest largest_near_duty(const struct uncertainty_budget *budget, enum class_quantity which)
{
    struct largest largest = {0};
    for (size_t i = 0; i < budget->chain->count; i++) {
        const struct point_uncertainty *u = &budget->certainty->points[i];
        if (near_duty(budget, i)) {
            const struct quantity alone[] = {u->instrument_flow, u->instrument_head, u->instrument_power};
            const struct quantity whole[] = {u->flow, u->head, u->input_power};
            largest.instrument = fmax(largest.instrument, quantity_or(alone[which], 0.0));
            largest.overall = fmax(largest.overall, quantity_or(whole[which], 0.0));
        }
    }
    return largest;
}

/* A bay that is not good enough for the grade that it judges by. */
static void compare_with_class(struct uncertainty_budget *budget)
{
    struct certainty *certainty = budget->certainty;
    const struct grade_class *limits = budget->input->grade_class;
    if (limits == NULL) {
        return;
    }
    const struct quantity permitted[] = {limits->systematic_flow, limits->systematic_head, limits->systematic_power};
    const struct quantity overall[] = {limits->overall_flow, limits->overall_head, limits->overall_power};
    for (int k = 0; k < CLASS_QUANTITIES; k++) {
        enum class_quantity which = (enum class_quantity)k;
        struct largest found = largest_near_duty(budget, which);
        if (permitted[k].known && found.instrument > permitted[k].value) {
            certainty->excesses[certainty->excess_count++] =
                (struct class_excess){which, true, found.instrument, permitted[k].value};
        } else if (overall[k].known && found.overall > overall[k].value) {
            certainty->excesses[certainty->excess_count++] =
                (struct class_excess){which, false, found.overall, overall[k].value};
        }
    }
}

enum status uncertainty_find(const struct certainty_input *input, struct arena *arena, struct arena *scratch,
                             struct certainty *certainty)
{
    struct uncertainty_budget budget = {.input = input,
                                        .chain = input->chain,
                                        .settled = input->settled,
                                        .certainty = certainty,
                                        .arena = arena,
                                        .scratch = scratch};
    *certainty = (struct certainty){0};
    if (make_room(&budget) != OK ||
        sensitivity_find(input->chain, input->settled, &budget.sensitivity, scratch) != OK) {
        return E_MEMORY;
    }
    if (fit_finer(&budget) != OK) {
        return E_MEMORY;
    }
    for (size_t d = 0; d < input->duty_count; d++) {
        if (budget_forms(&budget, d) != OK) {
            return E_MEMORY;
        }
    }
    if (add_sources(&budget) != OK) {
        return E_MEMORY;
    }
    settle_numbers(&budget);
    for (size_t i = 0; i < input->chain->count; i++) {
        find_point(&budget, i);
    }
    mark_missing(&budget);
    compare_with_class(&budget);
    return budget_conformance(&budget);
}
