#include "verdict/judge.h"

#include "physics/motor.h"
#include "verdict/judge_geometry.h"
#include "verdict/judge_overload.h"

#include <math.h>

/* --- one check --- */

struct reason judging_tested(const struct judging *judging, enum check_reason code, enum which_curve curve)
{
    const struct curve *tested = &judging->curves->of[curve];
    return (struct reason){
        .code = code, .curve = curve, .low_m3s = tested->flow_low_m3s, .high_m3s = tested->flow_high_m3s};
}

struct check judging_begin(const struct judging *judging, enum check_item item, enum dimension dimension)
{
    return (struct check){
        .item = item,
        .dimension = dimension,
        .verdict = VERDICT_NOT_JUDGED,
        .reason = judging->refusal,
        .source = {.grade = judging->grade},
    };
}

void judging_add(struct judging *judging, struct check check)
{
    if (judging->result->check_count < CHECKS_MAX) {
        judging->result->checks[judging->result->check_count++] = check;
    }
}

void check_round(const struct judging *judging, struct check *check, const char *guarantee_text)
{
    struct rounding rounding = rounding_of(judging->duty, check->dimension, guarantee_text);
    check->compared = rounding_apply(&rounding, check->value);
    check->accept_low = rounding_edge(&rounding, check->limit_low, false);
    check->accept_high = rounding_edge(&rounding, check->limit_high, true);
}

bool judged_at_most(double a, double b)
{
    return a <= b + JUDGE_RESOLUTION * fabs(b);
}

static bool judged_at_least(double a, double b)
{
    return a >= b - JUDGE_RESOLUTION * fabs(b);
}

void check_decide(struct check *check)
{
    struct quantity value = check->compared.known ? check->compared : check->value;
    if (!value.known || (!check->limit_low.known && !check->limit_high.known)) {
        return;
    }
    double above = check->limit_low.known ? value.value - check->limit_low.value : INFINITY;
    double below = check->limit_high.known ? check->limit_high.value - value.value : INFINITY;
    bool inside = (!check->limit_low.known || judged_at_least(value.value, check->limit_low.value)) &&
                  (!check->limit_high.known || judged_at_most(value.value, check->limit_high.value));
    check->margin = quantity_of(fmin(above, below));
    check->too_high = below < above;
    check->verdict = inside ? VERDICT_PASS : VERDICT_FAIL;
}

/* --- what the curves say --- */

bool curve_ends_above(const struct curve *head, double head_m)
{
    return !judged_at_most(curve_at(head, head->flow_high_m3s), head_m);
}

static struct quantity read_at(const struct curve *curve, double flow_m3s)
{
    return curve_covers(curve, flow_m3s) ? quantity_of(curve_at(curve, flow_m3s)) : quantity_absent();
}

static struct quantity read_efficiency(const struct curves *curves, bool of_pump, double flow_m3s)
{
    double efficiency;
    bool known = of_pump ? curves_pump_efficiency(curves, flow_m3s, &efficiency)
                         : curves_set_efficiency(curves, flow_m3s, &efficiency);
    return known ? quantity_of(efficiency) : quantity_absent();
}

/* Reads the curves at the guaranteed flow, at the guaranteed head and on the duty line, where tested. */
static void read_curves(struct judging *judging)
{
    const struct curves *curves = judging->curves;
    struct duty_result *result = judging->result;
    struct quantity flow = judging->duty->flow_m3s, head = judging->duty->head_m;
    double found_m3s;
    if (flow.known) {
        result->at_guaranteed_flow.head_m = read_at(&curves->of[CURVE_HEAD], flow.value);
        result->at_guaranteed_flow.input_power_w = read_at(&curves->of[CURVE_INPUT_POWER], flow.value);
        result->at_guaranteed_flow.current_a = read_at(&curves->of[CURVE_CURRENT], flow.value);
        result->at_guaranteed_flow.set_efficiency = read_efficiency(curves, false, flow.value);
        result->at_guaranteed_flow.pump_efficiency = read_efficiency(curves, true, flow.value);
    }
    if (head.known && !curve_ends_above(&curves->of[CURVE_HEAD], head.value) &&
        curve_cross(&curves->of[CURVE_HEAD], head.value, 0, &found_m3s)) {
        result->at_guaranteed_head.flow_m3s = quantity_of(found_m3s);
    }
    if (flow.known && head.known && flow.value > 0 &&
        curve_cross(&curves->of[CURVE_HEAD], 0, head.value / flow.value, &found_m3s)) {
        result->on_duty_line.flow_m3s = quantity_of(found_m3s);
        result->on_duty_line.head_m = read_at(&curves->of[CURVE_HEAD], found_m3s);
        result->on_duty_line.input_power_w = read_at(&curves->of[CURVE_INPUT_POWER], found_m3s);
        result->on_duty_line.set_efficiency = read_efficiency(curves, false, found_m3s);
        result->on_duty_line.pump_efficiency = read_efficiency(curves, true, found_m3s);
    }
}

/* --- the tolerance --- */

struct quantity rated_input_power(const struct model *model)
{
    struct quantity rated = model->rated_power_w, efficiency = model->motor_efficiency;
    if (!rated.known) {
        return rated;
    }
    if (model->motor != NULL) {
        return motor_input_power(model->motor, rated.value);
    }
    return efficiency.known && efficiency.value > 0 ? quantity_of(rated.value / efficiency.value) : quantity_absent();
}

/* The greatest shaft power of the pump over the tested flows, and what it was taken from. */
static struct quantity greatest_shaft_power(const struct judging *judging, enum shaft_power_from *from)
{
    const struct curve *shaft = &judging->curves->of[CURVE_SHAFT_POWER],
                       *input = &judging->curves->of[CURVE_INPUT_POWER];
    struct quantity efficiency = judging->model->motor_efficiency;
    double least, greatest, at;
    if (shaft->known) {
        *from = SHAFT_POWER_BY_TEST;
        curve_extremes(shaft, shaft->flow_low_m3s, shaft->flow_high_m3s, &least, &greatest, &at);
        return quantity_of(greatest);
    }
    if (input->known && efficiency.known) {
        *from = SHAFT_POWER_BY_INPUT;
        curve_extremes(input, input->flow_low_m3s, input->flow_high_m3s, &least, &greatest, &at);
        return quantity_of(greatest * efficiency.value);
    }
    *from = SHAFT_POWER_RATED;
    return judging->model->rated_power_w;
}

/* Sets the tolerance and its source, and refuses a grade that is not for this pump. */
static void find_tolerance(struct judging *judging)
{
    const struct grade *grade = judging->grade;
    struct limit_source *source = &judging->source;
    struct tolerance *tolerance = &judging->result->tolerance;
    source->grade = grade;
    source->shaft_power_w = greatest_shaft_power(judging, &source->shaft_power_from);
    *tolerance = tolerance_of(judging->duty, source->shaft_power_w);
    if (grade == NULL || judging->refusal.code != REASON_NONE || grade->efficiency_rule != EFFICIENCY_SMALL_PUMP) {
        return;
    }
    if (tolerance->scope == TOLERANCE_POWER_NOT_KNOWN) {
        judging->refusal.code = REASON_SHAFT_POWER_UNKNOWN;
    } else if (tolerance->scope == TOLERANCE_POWER_TOO_GREAT) {
        judging->refusal = (struct reason){.code = REASON_SHAFT_POWER_TOO_HIGH,
                                           .value = source->shaft_power_w.value,
                                           .shaft_power_from = source->shaft_power_from};
    } else {
        source->basis = LIMIT_BY_SMALL_PUMP_RULE;
    }
}

/* --- efficiency and input power --- */

/* Why a reading is absent: the place is not on the tested curve, or the quantity was not measured. */
static struct reason not_read(const struct judging *judging, enum grade_reading at, enum which_curve needs)
{
    const struct curves *curves = judging->curves;
    const struct curve *head = &curves->of[CURVE_HEAD], *curve = &curves->of[needs];
    bool on_line = at == READ_DUTY_LINE;
    struct quantity flow = on_line ? judging->result->on_duty_line.flow_m3s : judging->duty->flow_m3s;
    if (on_line && !(judging->duty->flow_m3s.known && judging->duty->head_m.known)) {
        return (struct reason){.code = REASON_NO_DUTY_LINE};
    }
    if (!curve->known) {
        return (struct reason){.code = REASON_NO_CURVE, .curve = needs, .why = curve->why};
    }
    if (on_line && !flow.known) {
        return judging_tested(judging, REASON_LINE_NOT_MET, CURVE_HEAD);
    }
    if (!flow.known) {
        return (struct reason){.code = REASON_NO_FLOW};
    }
    enum which_curve short_of = curve_covers(head, flow.value) ? needs : CURVE_HEAD;
    bool covers = curve_covers(&curves->of[short_of], flow.value);
    struct reason reason = judging_tested(judging, covers ? REASON_NOT_COMPUTABLE : REASON_OUTSIDE_CURVE, short_of);
    reason.value = flow.value;
    return reason;
}

/* Finishes a check whose value and limit are set: the reason where one of them is absent, else the verdict. */
static void finish(struct judging *judging, struct check check, enum grade_reading at, enum which_curve needs,
                   const char *guarantee_text)
{
    bool limited = check.limit_low.known || check.limit_high.known;
    check.place = at == READ_DUTY_LINE ? PLACE_DUTY_LINE : PLACE_GUARANTEED_FLOW;
    check.source = judging->source;
    if (judging->refusal.code == REASON_NONE && !limited) {
        check.reason.code = REASON_BLANK_TOLERANCE;
    } else if (judging->refusal.code == REASON_NONE && !check.value.known) {
        check.reason = not_read(judging, at, needs);
    }
    if (check.reason.code == REASON_NONE) {
        check_round(judging, &check, guarantee_text);
        check_decide(&check);
    }
    judging_add(judging, check);
}

static void judge_efficiency(struct judging *judging)
{
    const struct duty *duty = judging->duty;
    const struct duty_result *result = judging->result;
    if (!duty->efficiency.known) {
        return;
    }
    bool of_pump = duty->efficiency_of_pump;
    struct check check = judging_begin(judging, CHECK_EFFICIENCY, DIM_RATIO);
    enum grade_reading at = judging->grade == NULL ? READ_DUTY_LINE : judging->grade->efficiency_at;
    struct quantity on_line = of_pump ? result->on_duty_line.pump_efficiency : result->on_duty_line.set_efficiency;
    struct quantity at_flow =
        of_pump ? result->at_guaranteed_flow.pump_efficiency : result->at_guaranteed_flow.set_efficiency;
    check.of_pump = of_pump;
    check.value = at == READ_DUTY_LINE ? on_line : at_flow;
    check.guaranteed = duty->efficiency;
    check.limit_low = judging->refusal.code == REASON_NONE ? result->tolerance.efficiency_low : quantity_absent();
    finish(judging, check, at, of_pump ? CURVE_SHAFT_POWER : CURVE_INPUT_POWER, duty->efficiency_text);
}

static void judge_input_power(struct judging *judging)
{
    const struct duty *duty = judging->duty;
    const struct duty_result *result = judging->result;
    if (!duty->input_power_w.known) {
        return;
    }
    struct check check = judging_begin(judging, CHECK_INPUT_POWER, DIM_POWER);
    enum grade_reading at = judging->grade == NULL ? READ_DUTY_LINE : judging->grade->power_at;
    check.value = at == READ_DUTY_LINE ? result->on_duty_line.input_power_w : result->at_guaranteed_flow.input_power_w;
    check.guaranteed = duty->input_power_w;
    check.limit_high = judging->refusal.code == REASON_NONE ? result->tolerance.input_power_high_w : quantity_absent();
    finish(judging, check, at, CURVE_INPUT_POWER, duty->input_power_text);
}

/* --- the duty --- */

static struct reason refusal_of(const struct judging *judging, const char *why_no_curve)
{
    const struct duty *duty = judging->duty;
    const struct curve *head = &judging->curves->of[CURVE_HEAD];
    if (duty->grade == NULL) {
        bool named = duty->grade_name != NULL && duty->grade_name[0] != '\0';
        return (struct reason){.code = named ? REASON_UNKNOWN_GRADE : REASON_NO_GRADE};
    }
    if (head->known) {
        return (struct reason){.code = REASON_NONE};
    }
    return (struct reason){
        .code = REASON_NO_HEAD_CURVE, .curve = CURVE_HEAD, .why = head->why, .no_curve = why_no_curve};
}

/* What the model leaves open. */
static unsigned not_stated(const struct judging *judging)
{
    const struct model *model = judging->model;
    const struct duty *duty = judging->duty;
    bool first = duty == &model->duties[0], range = model->head_low_m.known && model->head_high_m.known;
    const bool open[] = {!duty->flow_m3s.known,
                         !duty->head_m.known,
                         !duty->efficiency.known,
                         !duty->input_power_w.known,
                         first && !range,
                         first && range && !model->rated_current_a.known,
                         first && range && !rated_input_power(model).known};
    unsigned bits = 0;
    for (size_t i = 0; i < sizeof open / sizeof open[0]; i++) {
        bits |= open[i] ? 1U << i : 0;
    }
    return bits;
}

struct duty_result judge_duty(const struct model *model, const struct duty *duty, const struct curves *curves,
                              const char *why_no_curve)
{
    static const struct curves no_curves = {.gravity_m_s2 = 0};
    struct duty_result result = {.duty = duty, .verdict = VERDICT_PASS};
    struct judging judging = {.model = model, .duty = duty, .grade = duty->grade, .result = &result};
    judging.curves = curves == NULL ? &no_curves : curves;
    judging.refusal = refusal_of(&judging, why_no_curve);
    read_curves(&judging);
    find_tolerance(&judging);
    judge_flow_and_head(&judging);
    judge_efficiency(&judging);
    judge_input_power(&judging);
    if (duty == &model->duties[0]) {
        judge_overload(&judging);
    }
    result.not_stated = not_stated(&judging);
    for (size_t i = 0; i < result.check_count; i++) {
        result.verdict = verdict_worse(result.verdict, result.checks[i].verdict);
    }
    return result;
}
