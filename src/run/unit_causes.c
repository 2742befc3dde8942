#include "run/unit_causes.h"

#include <string.h>

/* Instruments whose accuracy is not stated: one standard deviation as a share of the reading, and of a gauge's zero as
 * a share of the head at best flow. Common practice, no source. */
static const double flow_unstated = 0.005, head_unstated = 0.003, power_unstated = 0.005, current_unstated = 0.005,
                    zero_unstated = 0.002;

/* Slip at best flow where the rated speed is not stated. Common practice: submersible motors of two poles have 4 to 5
 * %. */
static const double slip_unstated = 0.04;

/* --- the reference --- */

static bool of_guarantee(const struct model *model, struct model_reference *reference)
{
    const struct duty *duty = &model->duties[0];
    if (model->duty_count == 0 || !duty->flow_m3s.known || !duty->head_m.known) {
        return false;
    }
    struct guarantee guarantee = {duty->flow_m3s.value, duty->head_m.value, duty->input_power_w, quantity_absent(),
                                  model->stages};
    if (!guarantee.input_power_w.known && duty->efficiency.known && !duty->efficiency_of_pump) {
        guarantee.input_power_w = quantity_of(9790.0 * guarantee.flow_m3s * guarantee.head_m / duty->efficiency.value);
    }
    *reference = reference_of_guarantee(&guarantee);
    return true;
}

/* Flow of the best set efficiency on the reference: the greatest Q H / P over 60 parts. */
static double best_flow_of(const struct reference_curves *curves)
{
    struct node_curve head, power;
    double low = curves->flow_m3s[0], high = curves->flow_m3s[curves->node_count - 1], best = high, greatest = 0.0;
    node_curve_make(curves->flow_m3s, curves->mean.of[GOOD_HEAD], curves->node_count, &head);
    node_curve_make(curves->flow_m3s, curves->mean.of[GOOD_POWER], curves->node_count, &power);
    for (int i = 1; i <= 60; i++) {
        double flow = low + (high - low) * i / 60.0, power_w = node_curve_at(&power, flow, NULL);
        double efficiency = power_w > 0.0 ? flow * node_curve_at(&head, flow, NULL) / power_w : 0.0;
        if (efficiency > greatest) {
            greatest = efficiency;
            best = flow;
        }
    }
    return best;
}

/* Input power without load: the motor's curve drawn out to no shaft power. */
static struct quantity no_load_of(const struct motor *motor)
{
    if (motor == NULL || motor->count < 2) {
        return quantity_absent();
    }
    double slope =
        (motor->input_power_w[1] - motor->input_power_w[0]) / (motor->shaft_power_w[1] - motor->shaft_power_w[0]);
    double no_load_w = motor->input_power_w[0] - slope * motor->shaft_power_w[0];
    return no_load_w > 0.0 ? quantity_of(no_load_w) : quantity_absent();
}

static double slip_of(const struct model *model, enum speed_basis basis)
{
    if (basis == SPEED_MEASURED || basis == SPEED_MOTOR) {
        return 0.0; /* readings are at rated speed already */
    }
    if (!model->poles.known || !model->rated_frequency_hz.known || !model->rated_speed_rpm.known) {
        return slip_unstated;
    }
    double synchronous_rpm = 120.0 * model->rated_frequency_hz.value / model->poles.value;
    double slip = 1.0 - model->rated_speed_rpm.value / synchronous_rpm;
    return slip > 0.0 && slip < 0.3 ? slip : slip_unstated;
}

bool reference_of_model(const struct bay *bay, const struct model *model, enum speed_basis basis,
                        struct model_reference *reference)
{
    const struct reference_curves *curves =
        bay->references == NULL ? NULL : reference_find(bay->references, model->name, model->stages);
    if (curves == NULL) {
        if (!of_guarantee(model, reference)) {
            return false;
        }
    } else {
        *reference = (struct model_reference){.curves = *curves, .stages = model->stages};
        bool guaranteed = model->duty_count > 0 && model->duties[0].flow_m3s.known;
        reference->best_flow_m3s = curves->known[GOOD_POWER] ? best_flow_of(curves)
                                   : guaranteed              ? model->duties[0].flow_m3s.value
                                                             : 0.7 * curves->flow_m3s[curves->node_count - 1];
    }
    struct node_curve power;
    const struct reference_curves *own = &reference->curves;
    node_curve_make(own->flow_m3s, own->mean.of[GOOD_POWER], own->node_count, &power);
    double best_w = node_curve_at(&power, reference->best_flow_m3s, NULL);
    reference->no_load_w = quantity_or(no_load_of(model->motor), NO_LOAD_SHARE * best_w);
    reference->slip = slip_of(model, basis);
    reference->speed_measured = basis == SPEED_MEASURED;
    return true;
}

/* --- the readings --- */

/* One standard deviation of a relative expanded uncertainty (95 %). */
static double deviation_of(struct quantity expanded, double unstated)
{
    return expanded.known ? 0.5 * expanded.value : unstated;
}

/* What is left of all after the instruments' part is the scatter. */
static double scatter_of(struct quantity all, struct quantity instrument)
{
    double square =
        all.known ? all.value * all.value - quantity_or(instrument, 0.0) * quantity_or(instrument, 0.0) : 0.0;
    return square > 0.0 ? 0.5 * sqrt(square) : 0.0;
}

static bool is_lone(const struct curve *curve, size_t point)
{
    for (size_t i = 0; curve->known && i < curve->outlier_count; i++) {
        if (curve->outliers[i] == point) {
            return true;
        }
    }
    return false;
}

static bool lies_off(const struct result *result, size_t point)
{
    return is_lone(&result->curves.of[CURVE_HEAD], point) || is_lone(&result->curves.of[CURVE_INPUT_POWER], point);
}

static struct causes_reading reading_of(const struct point *point)
{
    const struct rated_point *at = &point->at_rated;
    const struct point_uncertainty *u = &point->uncertainty;
    struct causes_reading reading = {.flow_m3s = at->flow_m3s.value};
    reading.of[GOOD_HEAD] = at->head_m;
    reading.of[GOOD_POWER] = at->input_power_w;
    reading.of[GOOD_CURRENT] = at->current_a;
    reading.flow_deviation_m3s = scatter_of(u->flow, u->instrument_flow) * fabs(at->flow_m3s.value);
    reading.deviation[GOOD_HEAD] = scatter_of(u->head, u->instrument_head) * fabs(at->head_m.value);
    reading.deviation[GOOD_POWER] = scatter_of(u->input_power, u->instrument_power) * fabs(at->input_power_w.value);
    return reading;
}

/* The readings that count, by rising flow. Returns: how many. */
static size_t take_readings(const struct result *result, struct causes_reading *readings)
{
    size_t count = 0;
    for (size_t i = 0; i < result->point_count; i++) {
        const struct point *point = &result->points[i];
        if (!point->fitted || lies_off(result, i) || !point->at_rated.flow_m3s.known) {
            continue;
        }
        struct causes_reading reading = reading_of(point);
        size_t at = count++;
        for (; at > 0 && readings[at - 1].flow_m3s > reading.flow_m3s; at--) {
            readings[at] = readings[at - 1];
        }
        readings[at] = reading;
    }
    return count;
}

static struct causes_instruments instruments_of(const struct result *result, double best_head_m)
{
    const struct point_uncertainty none = {0};
    size_t middle = result->point_count / 2;
    const struct point_uncertainty *u = result->point_count > 0 ? &result->points[middle].uncertainty : &none;
    return (struct causes_instruments){
        .flow = deviation_of(u->instrument_flow, flow_unstated),
        .of = {deviation_of(u->instrument_head, head_unstated), deviation_of(u->instrument_power, power_unstated),
               current_unstated},
        .head_offset_m = zero_unstated * best_head_m,
    };
}

/* Mean of a reading over the points, as a share of what is rated. */
static struct quantity mean_share(const struct result *result, size_t member, struct quantity rated)
{
    double sum = 0.0;
    size_t count = 0;
    for (size_t i = 0; i < result->point_count; i++) {
        struct quantity q;
        memcpy(&q, (const char *)&result->points[i].as_tested + member, sizeof q);
        if (result->points[i].settled->steady && q.known) {
            sum += q.value;
            count++;
        }
    }
    return count > 0 && rated.known && rated.value > 0.0 ? quantity_of(sum / (double)count / rated.value)
                                                         : quantity_absent();
}

static struct quantity mean_channel(const struct result *result, enum channel channel)
{
    double sum = 0.0;
    size_t count = 0;
    for (size_t i = 0; i < result->point_count; i++) {
        const struct settled_point *settled = result->points[i].settled;
        if (settled->steady && settled->channels[channel].n > 0) {
            sum += settled->channels[channel].mean;
            count++;
        }
    }
    return count > 0 ? quantity_of(sum / (double)count) : quantity_absent();
}

static void find_signs(const struct result *result, struct quantity voltage, struct signs *signs)
{
    struct supply_readings supply = {
        .phases = {.current_a = {mean_channel(result, CH_CURRENT_R), mean_channel(result, CH_CURRENT_Y),
                                 mean_channel(result, CH_CURRENT_B)},
                   .voltage_v = {mean_channel(result, CH_VOLTAGE_RY), mean_channel(result, CH_VOLTAGE_YB),
                                 mean_channel(result, CH_VOLTAGE_BR)}},
        .voltage = voltage,
        .frequency =
            mean_share(result, offsetof(struct operating_point, frequency_hz), result->model->rated_frequency_hz),
    };
    signs_find(&supply, signs);
}

/* --- the steps --- */

static const struct check *failed_check(const struct result *result, enum check_item item, enum verdict verdict)
{
    for (size_t i = 0; i < result->duty_count; i++) {
        for (size_t k = 0; k < result->duties[i].check_count; k++) {
            const struct check *check = &result->duties[i].checks[k];
            if (check->item == item && check->verdict == verdict) {
                return check;
            }
        }
    }
    return NULL;
}

/* Head where the greatest value over the head range was found. */
static struct quantity head_of_greatest(const struct result *result, const struct check *check)
{
    const struct curve *head = &result->curves.of[CURVE_HEAD];
    return head->known && check->at_flow_m3s.known ? quantity_of(curve_at(head, check->at_flow_m3s.value))
                                                   : quantity_absent();
}

/* How far the curve lies above the limit, in m: at guaranteed flow, or past an ellipse. */
static struct quantity head_above(const struct result *result)
{
    for (size_t i = 0; i < result->duty_count; i++) {
        const struct duty_result *duty = &result->duties[i];
        struct quantity head = duty->at_guaranteed_flow.head_m, most = duty->tolerance.head_high_m;
        for (size_t k = 0; k < duty->check_count; k++) {
            const struct check *check = &duty->checks[k];
            if (check->item == CHECK_FLOW_AND_HEAD && check->verdict == VERDICT_FAIL && check->too_high) {
                return head.known && most.known ? quantity_of(head.value - most.value)
                                                : quantity_times(check->margin, -1.0);
            }
        }
    }
    return quantity_absent();
}

static void state_limits(const struct result *result, struct step_facts *facts)
{
    const struct check *current = failed_check(result, CHECK_OVERLOAD_CURRENT, VERDICT_FAIL);
    const struct check *power = failed_check(result, CHECK_OVERLOAD_POWER, VERDICT_FAIL);
    const struct check *efficiency = failed_check(result, CHECK_EFFICIENCY, VERDICT_FAIL);
    if (current != NULL) {
        facts->current_a = current->value;
        facts->current_limit_a = current->limit_high;
        facts->current_at_head_m = head_of_greatest(result, current);
    }
    if (power != NULL) {
        facts->power_w = power->value;
        facts->power_limit_w = power->limit_high;
        facts->power_at_head_m = head_of_greatest(result, power);
    }
    if (efficiency != NULL && failed_check(result, CHECK_FLOW_AND_HEAD, VERDICT_FAIL) == NULL) {
        facts->efficiency = efficiency->value;
        facts->efficiency_limit = efficiency->limit_low;
    }
    facts->head_above_m = head_above(result);
}

/* What was asked for and not reached: heads of the range, and flows of the duties that could not be judged. */
static void state_reach(const struct result *result, size_t fitted, struct step_facts *facts)
{
    const struct curve *head = &result->curves.of[CURVE_HEAD];
    const struct model *model = result->model;
    if (!head->known) {
        facts->points = quantity_of((double)fitted);
        facts->points_needed = fitted < FIT_POINTS_MIN ? quantity_of(FIT_POINTS_MIN) : quantity_absent();
        return;
    }
    double lowest_m, highest_m, at_m3s;
    curve_extremes(head, head->flow_low_m3s, head->flow_high_m3s, &lowest_m, &highest_m, &at_m3s);
    bool overload_open = failed_check(result, CHECK_OVERLOAD_CURRENT, VERDICT_NOT_JUDGED) != NULL ||
                         failed_check(result, CHECK_OVERLOAD_POWER, VERDICT_NOT_JUDGED) != NULL;
    if (overload_open && model->head_low_m.known && lowest_m > model->head_low_m.value) {
        facts->lowest_head_m = quantity_of(lowest_m);
        facts->head_low_needed_m = model->head_low_m;
    }
    if (overload_open && model->head_high_m.known && highest_m < model->head_high_m.value) {
        facts->highest_head_m = quantity_of(highest_m);
        facts->head_high_needed_m = model->head_high_m;
    }
    for (size_t i = 0; i < result->duty_count; i++) {
        struct quantity flow = model->duties[i].flow_m3s;
        if (result->duties[i].verdict == VERDICT_NOT_JUDGED && flow.known && flow.value > head->flow_high_m3s) {
            facts->highest_flow_m3s = quantity_of(head->flow_high_m3s);
            facts->flow_needed_m3s = flow;
        } else if (result->duties[i].verdict == VERDICT_NOT_JUDGED && flow.known && flow.value < head->flow_low_m3s) {
            facts->lowest_flow_m3s = quantity_of(head->flow_low_m3s);
            facts->flow_low_needed_m3s = flow;
        }
    }
}

enum { LONE_MAX = 3 };

static size_t lone_points(const struct result *result, size_t numbers[LONE_MAX])
{
    size_t count = 0;
    for (size_t i = 0; i < result->point_count && count < LONE_MAX; i++) {
        int number = result->points[i].settled->number;
        if (lies_off(result, i) && number > 0) {
            numbers[count++] = (size_t)number;
        }
    }
    return count;
}

static void find_steps(const struct result *result, struct unit_causes *causes)
{
    size_t lone[LONE_MAX], fitted = 0;
    for (size_t i = 0; i < result->point_count; i++) {
        fitted += result->points[i].fitted;
    }
    struct step_facts facts = {
        .passes = result->verdict == VERDICT_PASS,
        .calibration_overdue = result->calibration == CALIBRATION_OVERDUE,
        .routine_fails = result_routine_fails(result),
        .lone_count = lone_points(result, lone),
        .lone_points = lone,
        .signs = &causes->signs,
        .causes = &causes->found,
        .good_units = quantity_of(causes->good_units),
    };
    if (result->verdict == VERDICT_FAIL) {
        facts.conformity_probability = result->certainty.conformance_probability;
    }
    state_limits(result, &facts);
    state_reach(result, fitted, &facts);
    if (facts.passes) {
        facts.lone_count = 0; /* a caution says it; the fit carries it */
    }
    causes->step_count = next_steps_find(&facts, causes->steps);
}

/* --- all together --- */

static void draw_best(const struct result *result, const struct model_reference *reference, struct unit_causes *causes)
{
    const struct cause_found *first = &causes->found.found[0];
    const struct curve *head = &result->curves.of[CURVE_HEAD];
    struct good_unit good;
    bool drawn = causes->found.outcome == CAUSES_NAMED && !first->seen && first->severity.known && head->known;
    if (!drawn) {
        return;
    }
    good_unit_make(reference, head->flow_high_m3s, &good);
    memcpy(causes->curve.known, reference->curves.known, sizeof causes->curve.known);
    causes->curve.count = CAUSE_CURVE_POINTS;
    for (size_t i = 0; i < CAUSE_CURVE_POINTS; i++) {
        double part = (double)i / (CAUSE_CURVE_POINTS - 1);
        double flow = head->flow_low_m3s + part * (head->flow_high_m3s - head->flow_low_m3s);
        struct predicted at = family_at(&good, first->row->family, first->severity.value, flow);
        causes->curve.flow_m3s[i] = flow;
        for (size_t c = 0; c < CURVES; c++) {
            causes->curve.of[c][i] = at.of[c];
        }
    }
}

static void ask(const struct result *result, const struct causes_reading *readings, size_t count,
                struct quantity voltage, struct unit_causes *causes)
{
    struct model_reference reference;
    struct good_unit good;
    const struct cause_table *table = result->bay->causes;
    if (!reference_of_model(result->bay, result->model, result->basis, &reference)) {
        return;
    }
    good_unit_make(&reference, reference.best_flow_m3s, &good);
    struct causes_case of = {
        .reference = &reference,
        .reading_count = count,
        .readings = readings,
        .instruments = instruments_of(result, good.best_head_m),
        .voltage = voltage,
        .units = 1.0,
    };
    causes_find(&of, table, &causes->found);
    causes->good_units = reference.curves.units;
    const struct cause_row *stage = cause_find(table, "missing stage");
    causes->stage_asked = stage != NULL && reference.stages.known && causes->found.outcome != CAUSES_NOT_ASKED;
    causes->stage_stands_out = causes->stage_asked && causes_stand_out(&of, stage, 1.0) >= CAUSES_SEEN_FROM;
    draw_best(result, &reference, causes);
}

enum status unit_causes_find(struct result *result, struct arena *arena)
{
    if (result->bay->causes == NULL) {
        return OK;
    }
    struct unit_causes *causes = arena_alloc(arena, 1, sizeof *causes);
    struct causes_reading *readings = arena_alloc(arena, result->point_count, sizeof *readings);
    if (causes == NULL || readings == NULL) {
        return E_MEMORY;
    }
    struct quantity voltage =
        mean_share(result, offsetof(struct operating_point, voltage_v), result->model->rated_voltage_v);
    size_t count = take_readings(result, readings);
    ask(result, readings, count, voltage, causes);
    find_signs(result, voltage, &causes->signs);
    causes_add_signs(&causes->signs, result->bay->causes, &causes->found);
    find_steps(result, causes);
    result->causes = causes;
    return OK;
}
