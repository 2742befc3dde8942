#include "verdict/judge.h"

#include "base/text.h"
#include "physics/motor.h"
#include "verdict/judge_geometry.h"
#include "verdict/judge_overload.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

/* The rule for small pumps. Source: ISO 9906:2012, 4.4.2 (from memory, confirm). */
#define SMALL_PUMP_MAX_W 10e3

enum { REASON_MAX = 400 };

/* --- verdicts --- */

const char *verdict_name(enum verdict verdict)
{
    switch (verdict) {
    case VERDICT_PASS: return "pass";
    case VERDICT_FAIL: return "fail";
    case VERDICT_NOT_JUDGED: return "not judged";
    }
    return "";
}

enum verdict verdict_worse(enum verdict a, enum verdict b)
{
    if (a == VERDICT_FAIL || b == VERDICT_FAIL) {
        return VERDICT_FAIL;
    }
    return a == VERDICT_NOT_JUDGED || b == VERDICT_NOT_JUDGED ? VERDICT_NOT_JUDGED : VERDICT_PASS;
}

/* --- texts --- */

const char *judging_say(struct judging *judging, const char *fmt, ...)
{
    char text[REASON_MAX];
    va_list args;
    va_start(args, fmt);
    int length = vsnprintf(text, sizeof text, fmt, args);
    va_end(args);
    const char *copy = length < 0 ? NULL : arena_text(judging->arena, text, strlen(text));
    if (copy == NULL) {
        judging->status = E_MEMORY;
        return "";
    }
    return copy;
}

/* The duty's unit of a dimension, SI where it has none of its own. */
static const struct unit *shown_unit(const struct judging *judging, enum dimension dimension)
{
    const struct duty *duty = judging->duty;
    const char *own = NULL, *si = NULL;
    switch (dimension) {
    case DIM_FLOW: own = duty->flow_unit, si = "m3/s"; break;
    case DIM_LENGTH: own = duty->head_unit, si = "m"; break;
    case DIM_POWER: own = duty->power_unit, si = "W"; break;
    case DIM_CURRENT: si = "A"; break;
    default: break;
    }
    const struct unit *unit = own == NULL ? NULL : unit_find(dimension, own);
    return unit == NULL && si != NULL ? unit_find(dimension, si) : unit;
}

static double in_unit(const struct unit *unit, double si)
{
    return unit == NULL ? si : unit_from_si(unit, si);
}

const char *judging_shown(struct judging *judging, enum dimension dimension, double si)
{
    char number[32];
    const struct unit *unit = shown_unit(judging, dimension);
    number_format(in_unit(unit, si), 4, number, sizeof number);
    return judging_say(judging, "%s%s%s", number, unit == NULL ? "" : " ", unit == NULL ? "" : unit->name);
}

const char *judging_shown_range(struct judging *judging, enum dimension dimension, double low_si, double high_si)
{
    char low[32];
    number_format(in_unit(shown_unit(judging, dimension), low_si), 4, low, sizeof low);
    return judging_say(judging, "%s to %s", low, judging_shown(judging, dimension, high_si));
}

const char *judging_tested(struct judging *judging, const struct curve *curve)
{
    return judging_say(judging, "tested flows %s",
                       judging_shown_range(judging, DIM_FLOW, curve->flow_low_m3s, curve->flow_high_m3s));
}

/* --- one check --- */

struct check judging_begin(const struct judging *judging, enum check_item item, const char *name,
                           enum dimension dimension)
{
    return (struct check){
        .item = item,
        .name = name,
        .dimension = dimension,
        .verdict = VERDICT_NOT_JUDGED,
        .reason = judging->refusal,
        .where = "",
        .source = judging->grade == NULL ? "" : judging->grade->source,
    };
}

void judging_add(struct judging *judging, struct check check)
{
    if (judging->result->check_count < CHECKS_MAX) {
        judging->result->checks[judging->result->check_count++] = check;
    }
}

struct quantity judging_rounded(const struct judging *judging, const struct check *check, const char *guarantee_text)
{
    int places = guarantee_text == NULL ? 0 : number_significant(guarantee_text);
    if (judging->grade == NULL || judging->grade->rounding != ROUND_IS2 || places < 1 || !check->value.known) {
        return quantity_absent();
    }
    const struct unit *unit = shown_unit(judging, check->dimension);
    double rounded = number_round(in_unit(unit, check->value.value), places);
    return quantity_of(unit == NULL ? rounded : unit_to_si(unit, rounded));
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

/* --- tolerances of efficiency and input power --- */

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
static struct quantity greatest_shaft_power(const struct judging *judging, const char **from)
{
    const struct curve *shaft = &judging->curves->of[CURVE_SHAFT_POWER],
                       *input = &judging->curves->of[CURVE_INPUT_POWER];
    struct quantity efficiency = judging->model->motor_efficiency;
    double least, greatest, at;
    if (shaft->known) {
        *from = "from the test";
        curve_extremes(shaft, shaft->flow_low_m3s, shaft->flow_high_m3s, &least, &greatest, &at);
        return quantity_of(greatest);
    }
    if (input->known && efficiency.known) {
        *from = "from input power and motor efficiency";
        curve_extremes(input, input->flow_low_m3s, input->flow_high_m3s, &least, &greatest, &at);
        return quantity_of(greatest * efficiency.value);
    }
    *from = "the rated power";
    return judging->model->rated_power_w;
}

struct tolerances {
    struct quantity efficiency_minus, power_plus;
    const char *source;
};

/* tau_eta = 10 (1 - P2max / 10 kW) + 7 %, tau_P = sqrt(7^2 + tau_eta^2) %. Above 10 kW the rule refuses the whole duty.
 */
static struct tolerances small_pump_tolerances(struct judging *judging)
{
    const char *from;
    struct quantity power_w = greatest_shaft_power(judging, &from);
    if (!power_w.known || !(power_w.value > 0)) {
        judging->refusal =
            "shaft power is not known, so that it is open whether the rule for pumps up to 10 kW applies";
    } else if (!judged_at_most(power_w.value, SMALL_PUMP_MAX_W)) {
        judging->refusal =
            judging_say(judging, "grade '%s' is for shaft power up to 10 kW; greatest shaft power here %s (%s)",
                        judging->grade->name, judging_shown(judging, DIM_POWER, power_w.value), from);
    }
    if (judging->refusal != NULL) {
        return (struct tolerances){0};
    }
    double efficiency = (10 * (1 - power_w.value / SMALL_PUMP_MAX_W) + 7) / 100;
    return (struct tolerances){
        .efficiency_minus = quantity_of(efficiency),
        .power_plus = quantity_of(sqrt(0.07 * 0.07 + efficiency * efficiency)),
        .source = judging_say(judging, "%s; greatest shaft power %s (%s)", judging->grade->source,
                              judging_shown(judging, DIM_POWER, power_w.value), from),
    };
}

static struct tolerances tolerances_of(struct judging *judging)
{
    const struct grade *grade = judging->grade;
    if (grade == NULL || judging->refusal != NULL) {
        return (struct tolerances){.source = grade == NULL ? "" : grade->source};
    }
    if (grade->efficiency_rule == EFFICIENCY_SMALL_PUMP) {
        return small_pump_tolerances(judging);
    }
    return (struct tolerances){
        .efficiency_minus =
            judging->duty->efficiency_of_pump ? grade->efficiency_minus_pump : grade->efficiency_minus_set,
        .power_plus = grade->power_plus,
        .source = grade->source,
    };
}

/* --- efficiency and input power --- */

/* Why a reading is absent: the place is not on the tested curve, or the quantity was not measured. */
static const char *not_read(struct judging *judging, enum grade_reading at, const char *name, const char *needs,
                            const struct curve *curve)
{
    const struct curve *head = &judging->curves->of[CURVE_HEAD];
    bool on_line = at == READ_DUTY_LINE;
    struct quantity flow = on_line ? judging->result->on_duty_line.flow_m3s : judging->duty->flow_m3s;
    if (on_line && !(judging->duty->flow_m3s.known && judging->duty->head_m.known)) {
        return "guaranteed flow and head are not both stated, so that there is no duty line";
    }
    if (!curve->known) {
        return judging_say(judging, "%s needs %s: %s", name, needs, curve->why);
    }
    if (on_line && !flow.known) {
        return judging_say(
            judging, "the line from the origin through the guaranteed point does not meet the head curve within the %s",
            judging_tested(judging, head));
    }
    if (!flow.known) {
        return "guaranteed flow is not stated (models.csv)";
    }
    const struct curve *short_of = curve_covers(head, flow.value) ? curve : head;
    if (curve_covers(short_of, flow.value)) {
        return judging_say(judging, "%s needs %s greater than 0 and a density of the water", name, needs);
    }
    return judging_say(judging, "flow %s lies outside the %s of %s", judging_shown(judging, DIM_FLOW, flow.value),
                       judging_tested(judging, short_of), short_of == head ? "head" : needs);
}

static const char *reading_name(enum grade_reading at)
{
    return at == READ_DUTY_LINE ? "on the duty line" : "at guaranteed flow";
}

/* Finishes a check whose value and limit are set: the reason where one of them is absent, else the verdict. */
static void finish(struct judging *judging, struct check check, const char *no_value, const char *guarantee_text)
{
    bool limited = check.limit_low.known || check.limit_high.known;
    if (judging->refusal == NULL && !limited) {
        check.reason = judging_say(judging, "the profile states no tolerance for %s (fill grades.csv)", check.name);
    } else if (judging->refusal == NULL && !check.value.known) {
        check.reason = no_value;
    }
    if (check.reason == NULL) {
        check.compared = judging_rounded(judging, &check, guarantee_text);
        check_decide(&check);
    }
    judging_add(judging, check);
}

static void judge_efficiency(struct judging *judging, const struct tolerances *tolerances)
{
    const struct duty *duty = judging->duty;
    const struct duty_result *result = judging->result;
    if (!duty->efficiency.known) {
        return;
    }
    bool of_pump = duty->efficiency_of_pump;
    struct check check =
        judging_begin(judging, CHECK_EFFICIENCY, of_pump ? "pump efficiency" : "set efficiency", DIM_RATIO);
    enum grade_reading at = judging->grade == NULL ? READ_DUTY_LINE : judging->grade->efficiency_at;
    struct quantity on_line = of_pump ? result->on_duty_line.pump_efficiency : result->on_duty_line.set_efficiency;
    struct quantity at_flow =
        of_pump ? result->at_guaranteed_flow.pump_efficiency : result->at_guaranteed_flow.set_efficiency;
    check.where = reading_name(at);
    check.value = at == READ_DUTY_LINE ? on_line : at_flow;
    check.guaranteed = duty->efficiency;
    if (tolerances->efficiency_minus.known) {
        check.limit_low = quantity_times(duty->efficiency, 1 - tolerances->efficiency_minus.value);
    }
    check.source = tolerances->source;
    const char *no_value =
        of_pump ? not_read(judging, at, check.name, "shaft power", &judging->curves->of[CURVE_SHAFT_POWER])
                : not_read(judging, at, check.name, "input power", &judging->curves->of[CURVE_INPUT_POWER]);
    finish(judging, check, no_value, duty->efficiency_text);
}

static void judge_input_power(struct judging *judging, const struct tolerances *tolerances)
{
    const struct duty *duty = judging->duty;
    const struct duty_result *result = judging->result;
    if (!duty->input_power_w.known) {
        return;
    }
    struct check check = judging_begin(judging, CHECK_INPUT_POWER, "input power", DIM_POWER);
    enum grade_reading at = judging->grade == NULL ? READ_DUTY_LINE : judging->grade->power_at;
    check.where = reading_name(at);
    check.value = at == READ_DUTY_LINE ? result->on_duty_line.input_power_w : result->at_guaranteed_flow.input_power_w;
    check.guaranteed = duty->input_power_w;
    if (tolerances->power_plus.known) {
        check.limit_high = quantity_times(duty->input_power_w, 1 + tolerances->power_plus.value);
    }
    check.source = tolerances->source;
    const char *no_value = not_read(judging, at, check.name, "input power", &judging->curves->of[CURVE_INPUT_POWER]);
    finish(judging, check, no_value, duty->input_power_text);
}

/* --- the duty --- */

static const char *refusal_of(struct judging *judging, const char *why_no_curve)
{
    const struct duty *duty = judging->duty;
    if (duty->grade == NULL && (duty->grade_name == NULL || duty->grade_name[0] == '\0')) {
        return "no grade is stated for this duty (models.csv, column grade)";
    }
    if (duty->grade == NULL) {
        const char *name = text_shown(judging->arena, duty->grade_name, 40);
        if (name == NULL) {
            judging->status = E_MEMORY;
            return "";
        }
        return judging_say(judging, "grade '%s' is not known (models.csv, column grade)", name);
    }
    if (judging->curves->of[CURVE_HEAD].known) {
        return NULL;
    }
    return why_no_curve != NULL ? why_no_curve
                                : judging_say(judging, "no head curve: %s", judging->curves->of[CURVE_HEAD].why);
}

/* What the model leaves open, in the order of the checks. */
static const char *list_not_stated(struct judging *judging)
{
    const struct model *model = judging->model;
    const struct duty *duty = judging->duty;
    bool first = duty == &model->duties[0], range = model->head_low_m.known && model->head_high_m.known;
    const struct {
        bool open;
        const char *name;
    } items[] = {
        {!duty->flow_m3s.known, "flow"},
        {!duty->head_m.known, "head"},
        {!duty->efficiency.known, "efficiency"},
        {!duty->input_power_w.known, "input power"},
        {first && !range, "head range"},
        {first && range && !model->rated_current_a.known, "rated current"},
        {first && range && !rated_input_power(model).known, "motor data for the rated input power"},
    };
    const char *list = "";
    for (size_t i = 0; i < sizeof items / sizeof items[0]; i++) {
        if (items[i].open) {
            list = judging_say(judging, "%s%s%s", list, list[0] == '\0' ? "" : ", ", items[i].name);
        }
    }
    return list;
}

enum status judge_duty(const struct model *model, const struct duty *duty, const struct curves *curves,
                       const char *why_no_curve, struct arena *arena, struct duty_result *result)
{
    static const struct curves no_curves = {.of = {[CURVE_HEAD].why = "no test", [CURVE_INPUT_POWER].why = "no test"}};
    struct judging judging = {.model = model, .duty = duty, .grade = duty->grade, .arena = arena, .result = result};
    judging.curves = curves == NULL ? &no_curves : curves;
    *result = (struct duty_result){.duty = duty, .verdict = VERDICT_PASS};
    judging.refusal = refusal_of(&judging, why_no_curve);
    read_curves(&judging);
    struct tolerances tolerances = tolerances_of(&judging);
    judge_flow_and_head(&judging);
    judge_efficiency(&judging, &tolerances);
    judge_input_power(&judging, &tolerances);
    if (duty == &model->duties[0]) {
        judge_overload(&judging);
    }
    result->not_stated = list_not_stated(&judging);
    for (size_t i = 0; i < result->check_count; i++) {
        result->verdict = verdict_worse(result->verdict, result->checks[i].verdict);
    }
    return judging.status;
}
