#include "papers/check_words.h"

#include "base/text.h"

#include <math.h>
#include <stdio.h>

/* A check whose words are being found. */
struct wording {
    const struct check *check;
    const struct duty *duty;
    struct arena *arena;
};

const char *check_name(const struct check *check)
{
    switch (check->item) {
    case CHECK_FLOW_AND_HEAD: return "flow and head";
    case CHECK_EFFICIENCY: return check->of_pump ? "pump efficiency" : "set efficiency";
    case CHECK_INPUT_POWER: return "input power";
    case CHECK_OVERLOAD_CURRENT: return "current over head range";
    case CHECK_OVERLOAD_POWER: return "input power over head range";
    }
    return "";
}

static const char *curve_name(enum which_curve curve)
{
    static const char *const names[CURVE_COUNT] = {[CURVE_HEAD] = "head",
                                                   [CURVE_INPUT_POWER] = "input power",
                                                   [CURVE_CURRENT] = "current",
                                                   [CURVE_SHAFT_POWER] = "shaft power",
                                                   [CURVE_DENSITY] = "density"};
    return curve < CURVE_COUNT ? names[curve] : "";
}

char *curve_why_text(const struct curve *curve, char out[CURVE_TEXT])
{
    size_t count = curve->why.count, of = curve->why.of;
    switch (curve->why.cause) {
    case CURVE_NO_TEST: (void)snprintf(out, CURVE_TEXT, "no test"); break;
    case CURVE_NOT_MEASURED: (void)snprintf(out, CURVE_TEXT, "not measured at any point"); break;
    case CURVE_FEW_POINTS:
        (void)snprintf(out, CURVE_TEXT, "%zu point%s, a curve needs at least %zu", count, count == 1 ? "" : "s", of);
        break;
    case CURVE_NOT_FINITE: (void)snprintf(out, CURVE_TEXT, "point %zu of %zu is not a finite number", of, count); break;
    case CURVE_ONE_FLOW: (void)snprintf(out, CURVE_TEXT, "all %zu points lie at one flow", count); break;
    case CURVE_NOT_DETERMINED:
        (void)snprintf(out, CURVE_TEXT, "the points do not determine a curve of degree %zu", of);
        break;
    case CURVE_FEW_FOR_DEGREE:
        (void)snprintf(out, CURVE_TEXT, "%zu points do not carry a curve of degree %zu", count, of);
        break;
    case CURVE_FEW_FLOWS:
        (void)snprintf(out, CURVE_TEXT, "the points lie at %zu distinct flows, the curve needs %zu", count, of);
        break;
    case CURVE_OUT_OF_MEMORY: (void)snprintf(out, CURVE_TEXT, "out of memory"); break;
    case CURVE_BY_CRITERION:
        (void)snprintf(out, CURVE_TEXT, "degree %zu: lowest AICc of degrees 2 to %zu", curve->degree, of);
        break;
    case CURVE_AS_ASKED: (void)snprintf(out, CURVE_TEXT, "degree %zu: as asked", curve->degree); break;
    case CURVE_TOO_FEW_TO_CHOOSE:
        (void)snprintf(out, CURVE_TEXT, "degree %zu: too few points to choose another", curve->degree);
        break;
    }
    return out;
}

/* --- quantities in a sentence --- */

enum { VALUE_TEXT = 80 };

/* The duty's unit of a dimension, SI where it has none of its own; NULL for a plain number. */
static const struct unit *unit_of(const struct duty *duty, enum dimension dimension)
{
    const char *own = NULL, *si = NULL;
    switch (dimension) {
    case DIM_FLOW: own = duty->flow_unit, si = "m3/s"; break;
    case DIM_LENGTH: own = duty->head_unit, si = "m"; break;
    case DIM_POWER: own = duty->power_unit, si = "W"; break;
    default: break;
    }
    const struct unit *unit = own == NULL ? NULL : unit_find(dimension, own);
    return unit == NULL && si != NULL ? unit_find(dimension, si) : unit;
}

/* "12.35 L/s", four significant digits. */
static char *value_text(const struct wording *wording, enum dimension dimension, double si, char out[VALUE_TEXT])
{
    char number[32];
    const struct unit *unit = unit_of(wording->duty, dimension);
    (void)number_format(unit == NULL ? si : unit_from_si(unit, si), 4, number, sizeof number);
    (void)snprintf(out, VALUE_TEXT, "%s%s%.40s", number, unit == NULL ? "" : " ", unit == NULL ? "" : unit->name);
    return out;
}

/* "2.000 to 11.50 L/s". */
static char *range_text(const struct wording *wording, enum dimension dimension, double low_si, double high_si,
                        char out[VALUE_TEXT])
{
    char number[32], high[VALUE_TEXT];
    const struct unit *unit = unit_of(wording->duty, dimension);
    (void)number_format(unit == NULL ? low_si : unit_from_si(unit, low_si), 4, number, sizeof number);
    (void)snprintf(out, VALUE_TEXT, "%s to %s", number, value_text(wording, dimension, high_si, high));
    return out;
}

/* --- where --- */

static const char *head_range(const struct wording *wording)
{
    const struct check *check = wording->check;
    char range[VALUE_TEXT], flow[VALUE_TEXT];
    (void)range_text(wording, DIM_LENGTH, check->range_low_m, check->range_high_m, range);
    return check->at_flow_m3s.known ? arena_format(wording->arena, "%s, at %s", range,
                                                   value_text(wording, DIM_FLOW, check->at_flow_m3s.value, flow))
                                    : arena_format(wording->arena, "head %s", range);
}

/* How far the curve is from the ellipse's edge, as head and as flow. */
static const char *ellipse(const struct wording *wording)
{
    const struct check *check = wording->check;
    char head[VALUE_TEXT], flow[VALUE_TEXT];
    bool fails = check->verdict == VERDICT_FAIL;
    if (!check->margin.known) {
        return "ellipse about the guarantee";
    }
    const char *side = check->too_high ? "high" : "low";
    (void)value_text(wording, DIM_LENGTH, fabs(check->margin.value), head);
    (void)value_text(wording, DIM_FLOW, fabs(quantity_or(check->margin_m3s, 0.0)), flow);
    return arena_format(wording->arena, "ellipse about the guarantee: the curve lies %s%s%s %s %s", head,
                        check->margin_m3s.known ? " or " : "", check->margin_m3s.known ? flow : "",
                        fails ? "too" : "within its edge on the side of too", side);
}

static const char *where(const struct wording *wording)
{
    switch (wording->check->place) {
    case PLACE_NONE: return "";
    case PLACE_GUARANTEED_FLOW: return "at guaranteed flow";
    case PLACE_GUARANTEED_HEAD: return "at guaranteed head";
    case PLACE_GUARANTEED_HEAD_ALONE:
        return "at guaranteed head alone: the guaranteed flow lies outside the tested flows";
    case PLACE_ABOVE_HEAD: return "above guaranteed head at all tested flows";
    case PLACE_BELOW_HEAD: return "below guaranteed head at all tested flows";
    case PLACE_ELLIPSE: return ellipse(wording);
    case PLACE_THROUGH_POINT: return "the curve passes through the guaranteed point";
    case PLACE_DUTY_LINE: return "on the duty line";
    case PLACE_HEAD_RANGE: return head_range(wording);
    }
    return "";
}

/* --- source --- */

/* "3.700 kW (the rated power)" */
static char *shaft_power_text(const struct wording *wording, double power_w, enum shaft_power_from from,
                              char out[2 * VALUE_TEXT])
{
    static const char *const by[] = {[SHAFT_POWER_BY_TEST] = "from the test",
                                     [SHAFT_POWER_BY_INPUT] = "from input power and motor efficiency",
                                     [SHAFT_POWER_RATED] = "the rated power"};
    char power[VALUE_TEXT];
    (void)snprintf(out, 2 * VALUE_TEXT, "%s (%s)", value_text(wording, DIM_POWER, power_w, power), by[from]);
    return out;
}

static const char *source(const struct wording *wording)
{
    const struct limit_source *by = &wording->check->source;
    const char *grade = by->grade == NULL ? "" : by->grade->source;
    static const char brought[] = "current brought to rated voltage and speed as I k³ V / V rated, "
                                  "k the ratio of speeds; without a voltage as I k³ (common practice, no source)";
    char power[2 * VALUE_TEXT];
    switch (by->basis) {
    case LIMIT_BY_GRADE: return grade;
    case LIMIT_BY_SMALL_PUMP_RULE:
        return arena_format(wording->arena, "%s; greatest shaft power %s", grade,
                            shaft_power_text(wording, by->shaft_power_w.value, by->shaft_power_from, power));
    case LIMIT_RATED_CURRENT:
        return by->grade == NULL
                   ? arena_format(wording->arena, "rated current of the model; %s", brought)
                   : arena_format(wording->arena, "rated current of the model, with the tolerance of %s; %s", grade,
                                  brought);
    case LIMIT_RATED_POWER_BY_CURVE: return "rated power of the model, by its motor's curve";
    case LIMIT_RATED_POWER_BY_EFFICIENCY: return "rated power of the model, by its motor's efficiency";
    }
    return "";
}

/* --- why it is not judged --- */

static const char *unknown_grade(const struct wording *wording)
{
    const char *name = text_shown(wording->arena, wording->duty->grade_name, 40);
    return name == NULL ? NULL
                        : arena_format(wording->arena, "grade '%s' is not known (models.csv, column grade)", name);
}

static const char *power_too_high(const struct wording *wording)
{
    const struct reason *reason = &wording->check->reason;
    char power[2 * VALUE_TEXT];
    return arena_format(wording->arena, "grade '%s' is for shaft power up to 10 kW; greatest shaft power here %s",
                        wording->duty->grade->name,
                        shaft_power_text(wording, reason->value, reason->shaft_power_from, power));
}

/* The quantity whose tolerance is blank. */
static const char *blank_name(const struct wording *wording)
{
    enum dimension dimension = wording->check->reason.dimension;
    return dimension == DIM_FLOW ? "flow" : dimension == DIM_LENGTH ? "head" : check_name(wording->check);
}

/* An overload says what was not measured, the others what they need. */
static const char *no_curve(const struct wording *wording)
{
    const struct check *check = wording->check;
    const struct curve missing = {.why = check->reason.why};
    const char *needs = curve_name(check->reason.curve);
    char why[CURVE_TEXT];
    (void)curve_why_text(&missing, why);
    return check->place == PLACE_HEAD_RANGE
               ? arena_format(wording->arena, "%s: %s", needs, why)
               : arena_format(wording->arena, "%s needs %s: %s", check_name(check), needs, why);
}

static const char *no_head_curve(const struct wording *wording)
{
    const struct reason *reason = &wording->check->reason;
    const struct curve missing = {.why = reason->why};
    char why[CURVE_TEXT];
    return reason->no_curve != NULL ? reason->no_curve
                                    : arena_format(wording->arena, "no head curve: %s", curve_why_text(&missing, why));
}

static const char *outside(const struct wording *wording, const char *tested)
{
    const struct reason *reason = &wording->check->reason;
    /* of an efficiency that lacks shaft or input power */
    char flow[VALUE_TEXT];
    return arena_format(wording->arena, "flow %s lies outside the %s of %s",
                        value_text(wording, DIM_FLOW, reason->value, flow), tested, curve_name(reason->curve));
}

static const char *range_reason(const struct wording *wording, const char *tested)
{
    const struct reason *reason = &wording->check->reason;
    char range[VALUE_TEXT], heads[VALUE_TEXT];
    (void)range_text(wording, DIM_LENGTH, wording->check->range_low_m, wording->check->range_high_m, range);
    if (reason->code == REASON_RANGE_IN_PART) {
        return arena_format(wording->arena, "head range %s was wholly tested, but %s only at %s", range,
                            curve_name(reason->curve), tested);
    }
    (void)range_text(wording, DIM_LENGTH, reason->least_m, reason->greatest_m, heads);
    return arena_format(wording->arena, "head range %s was not wholly tested: heads %s at %s", range, heads, tested);
}

/* Reasons that are about the tested flows. */
static const char *tested_reason(const struct wording *wording)
{
    const struct reason *reason = &wording->check->reason;
    char flows[VALUE_TEXT], value[VALUE_TEXT], tested[VALUE_TEXT + 16];
    (void)snprintf(tested, sizeof tested, "tested flows %s",
                   range_text(wording, DIM_FLOW, reason->low_m3s, reason->high_m3s, flows));
    switch (reason->code) {
    case REASON_FLOW_NOT_TESTED:
        return arena_format(wording->arena, "guaranteed flow %s lies outside the %s",
                            value_text(wording, DIM_FLOW, reason->value, value), tested);
    case REASON_CURVE_ABOVE:
        return arena_format(wording->arena, "the head curve lies above the guaranteed head %s to the end of the %s",
                            value_text(wording, DIM_LENGTH, reason->value, value), tested);
    case REASON_CURVE_BELOW:
        return arena_format(wording->arena, "the head curve lies below the guaranteed head %s throughout the %s",
                            value_text(wording, DIM_LENGTH, reason->value, value), tested);
    case REASON_LINE_NOT_MET:
        return arena_format(
            wording->arena,
            "the line from the origin through the guaranteed point does not meet the head curve within the %s", tested);
    case REASON_OUTSIDE_CURVE: return outside(wording, tested);
    default: return range_reason(wording, tested);
    }
}

static const char *reason(const struct wording *wording)
{
    const struct check *check = wording->check;
    switch (check->reason.code) {
    case REASON_NONE: return "";
    case REASON_NO_GRADE: return "no grade is stated for this duty (models.csv, column grade)";
    case REASON_UNKNOWN_GRADE: return unknown_grade(wording);
    case REASON_NO_HEAD_CURVE: return no_head_curve(wording);
    case REASON_SHAFT_POWER_UNKNOWN:
        return "shaft power is not known, so that it is open whether the rule for pumps up to 10 kW applies";
    case REASON_SHAFT_POWER_TOO_HIGH: return power_too_high(wording);
    case REASON_NO_FLOW_AND_HEAD: return "guaranteed flow and head are not stated (models.csv)";
    case REASON_NO_FLOW: return "guaranteed flow is not stated (models.csv)";
    case REASON_NO_HEAD: return "guaranteed head is not stated (models.csv)";
    case REASON_NOT_POSITIVE: return "guaranteed flow and head must be greater than 0 (models.csv)";
    case REASON_BLANK_TOLERANCE:
        return arena_format(wording->arena, "the profile states no tolerance for %s (fill grades.csv)",
                            blank_name(wording));
    case REASON_NO_DUTY_LINE: return "guaranteed flow and head are not both stated, so that there is no duty line";
    case REASON_NO_CURVE: return no_curve(wording);
    case REASON_NOT_COMPUTABLE:
        return arena_format(wording->arena, "%s needs %s greater than 0 and a density of the water", check_name(check),
                            curve_name(check->reason.curve));
    case REASON_FLOW_NOT_TESTED:
    case REASON_CURVE_ABOVE:
    case REASON_CURVE_BELOW:
    case REASON_LINE_NOT_MET:
    case REASON_OUTSIDE_CURVE:
    case REASON_RANGE_NOT_TESTED:
    case REASON_RANGE_IN_PART: return tested_reason(wording);
    }
    return "";
}

enum status check_words_of(const struct check *check, const struct duty *duty, struct arena *arena,
                           struct check_words *words)
{
    struct wording wording = {check, duty, arena};
    *words = (struct check_words){where(&wording), reason(&wording), source(&wording)};
    if (words->where == NULL || words->reason == NULL || words->source == NULL) {
        *words = (struct check_words){"", "", ""};
        return E_MEMORY;
    }
    return OK;
}

const char *not_stated_text(unsigned not_stated, struct arena *arena)
{
    static const char *const names[] = {"flow",
                                        "head",
                                        "efficiency",
                                        "input power",
                                        "head range",
                                        "rated current",
                                        "motor data for the rated input power"};
    const char *list = "";
    for (size_t i = 0; i < sizeof names / sizeof names[0] && list != NULL; i++) {
        if ((not_stated >> i & 1U) != 0) {
            list = arena_format(arena, "%s%s%s", list, *list == '\0' ? "" : ", ", names[i]);
        }
    }
    return list;
}
