#include "verdict/tolerance.h"

#include "base/text.h"

#include <math.h>

/* The rule for small pumps. Source: ISO 9906:2012, 4.4.2 (from memory, confirm). */
#define SMALL_PUMP_MAX_W 10e3

static struct quantity limit_of(struct quantity guaranteed, struct quantity tolerance, double sign)
{
    return tolerance.known ? quantity_times(guaranteed, 1 + sign * tolerance.value) : quantity_absent();
}

/* --- rounding --- */

struct rounding rounding_of(const struct duty *duty, enum dimension dimension, const char *text)
{
    const char *own = dimension == DIM_FLOW     ? duty->flow_unit
                      : dimension == DIM_LENGTH ? duty->head_unit
                      : dimension == DIM_POWER  ? duty->power_unit
                                                : NULL;
    bool rounds = duty->grade != NULL && duty->grade->rounding == ROUND_IS2 && text != NULL;
    int places = rounds ? number_significant(text) : 0;
    return (struct rounding){.places = places > 0 ? places : 0, .unit = own != NULL ? unit_find(dimension, own) : NULL};
}

struct quantity rounding_apply(const struct rounding *rounding, struct quantity value)
{
    const struct unit *unit = rounding->unit;
    if (rounding->places < 1 || !value.known) {
        return quantity_absent();
    }
    double rounded = number_round(unit == NULL ? value.value : unit_from_si(unit, value.value), rounding->places);
    return quantity_of(unit == NULL ? rounded : unit_to_si(unit, rounded));
}

static bool accepted(const struct rounding *rounding, double value, double limit, bool upper)
{
    double rounded = rounding_apply(rounding, quantity_of(value)).value, slack = JUDGE_RESOLUTION * fabs(limit);
    return upper ? rounded <= limit + slack : rounded >= limit - slack;
}

/* Rounding never falls, so that bisection finds where it steps over the limit: one place is at most the value itself.
 */
struct quantity rounding_edge(const struct rounding *rounding, struct quantity limit, bool upper)
{
    if (rounding->places < 1 || !limit.known || !(limit.value > 0)) {
        return limit;
    }
    double good = upper ? 0 : 3 * limit.value, bad = upper ? 3 * limit.value : 0;
    for (int i = 0; i < 80; i++) {
        double middle = good + (bad - good) / 2;
        *(accepted(rounding, middle, limit.value, upper) ? &good : &bad) = middle;
    }
    return quantity_of(good);
}

/* --- limits --- */

static void set_flow_and_head(struct tolerance *tolerance)
{
    const struct grade *grade = tolerance->grade;
    struct quantity flow = tolerance->flow_m3s, head = tolerance->head_m;
    bool one_sided = grade->geometry == GEOMETRY_UNILATERAL, minimum = grade->geometry == GEOMETRY_MINIMUM;
    if (grade->geometry == GEOMETRY_ELLIPSE) {
        tolerance->ellipse_flow_m3s = quantity_or(quantity_times(flow, quantity_or(grade->flow_minus, 0)), 0);
        tolerance->ellipse_head_m = quantity_or(quantity_times(head, quantity_or(grade->head_minus, 0)), 0);
        return;
    }
    tolerance->flow_low_m3s = one_sided ? flow : limit_of(flow, grade->flow_minus, -1);
    tolerance->head_low_m = one_sided ? head : limit_of(head, grade->head_minus, -1);
    tolerance->flow_high_m3s = minimum ? quantity_absent() : limit_of(flow, grade->flow_plus, +1);
    tolerance->head_high_m = minimum ? quantity_absent() : limit_of(head, grade->head_plus, +1);
}

/* tau_eta = 10 (1 - P2max / 10 kW) + 7 %, tau_P = sqrt(7^2 + tau_eta^2) %. Above 10 kW the rule refuses the duty. */
static enum tolerance_scope small_pump(struct quantity shaft_w, struct quantity *efficiency, struct quantity *power)
{
    if (!shaft_w.known || !(shaft_w.value > 0)) {
        return TOLERANCE_POWER_NOT_KNOWN;
    }
    if (!(shaft_w.value <= SMALL_PUMP_MAX_W * (1 + JUDGE_RESOLUTION))) {
        return TOLERANCE_POWER_TOO_GREAT;
    }
    double tau = (10 * (1 - shaft_w.value / SMALL_PUMP_MAX_W) + 7) / 100;
    *efficiency = quantity_of(tau);
    *power = quantity_of(sqrt(0.07 * 0.07 + tau * tau));
    return TOLERANCE_APPLIES;
}

struct tolerance tolerance_of(const struct duty *duty, struct quantity greatest_shaft_power_w)
{
    const struct grade *grade = duty->grade;
    struct tolerance tolerance = {.grade = grade, .flow_m3s = duty->flow_m3s, .head_m = duty->head_m};
    if (grade == NULL) {
        return tolerance;
    }
    set_flow_and_head(&tolerance);
    struct rounding flow = rounding_of(duty, DIM_FLOW, duty->flow_text);
    struct rounding head = rounding_of(duty, DIM_LENGTH, duty->head_text);
    tolerance.accept.flow_low_m3s = rounding_edge(&flow, tolerance.flow_low_m3s, false);
    tolerance.accept.flow_high_m3s = rounding_edge(&flow, tolerance.flow_high_m3s, true);
    tolerance.accept.head_low_m = rounding_edge(&head, tolerance.head_low_m, false);
    tolerance.accept.head_high_m = rounding_edge(&head, tolerance.head_high_m, true);
    struct quantity efficiency = duty->efficiency_of_pump ? grade->efficiency_minus_pump : grade->efficiency_minus_set;
    struct quantity power = grade->power_plus;
    if (grade->efficiency_rule == EFFICIENCY_SMALL_PUMP) {
        efficiency = power = quantity_absent();
        tolerance.scope = small_pump(greatest_shaft_power_w, &efficiency, &power);
    }
    tolerance.efficiency_low = limit_of(duty->efficiency, efficiency, -1);
    tolerance.input_power_high_w = limit_of(duty->input_power_w, power, +1);
    return tolerance;
}

/* --- the room of a curve --- */

static struct quantity head_above(const struct curve *head, struct quantity flow_m3s, double guaranteed_m)
{
    bool covered = flow_m3s.known && curve_covers(head, flow_m3s.value);
    return covered ? quantity_of(curve_at(head, flow_m3s.value) - guaranteed_m) : quantity_absent();
}

/* The better of the two arms of a cross, the worse of two minima; the vertical arm alone where the other was not
 * tested. */
static struct quantity of_arms(struct quantity vertical_m, struct quantity horizontal_m, bool better)
{
    if (!vertical_m.known || !horizontal_m.known) {
        return vertical_m;
    }
    return quantity_of(better ? fmax(vertical_m.value, horizontal_m.value)
                              : fmin(vertical_m.value, horizontal_m.value));
}

static struct tolerance_room room_in_ellipse(const struct tolerance *tolerance, const struct curve *head,
                                             struct quantity flow_at_head_m3s)
{
    double flow_m3s = tolerance->flow_m3s.value, apart_m = curve_at(head, flow_m3s) - tolerance->head_m.value;
    if (!flow_at_head_m3s.known) {
        return (struct tolerance_room){0};
    }
    double apart_m3s = flow_at_head_m3s.value - flow_m3s;
    bool through = fabs(apart_m3s) <= JUDGE_RESOLUTION * flow_m3s;
    double slope = through ? curve_slope(head, flow_m3s) : apart_m / apart_m3s;
    double reach_m = hypot(tolerance->ellipse_head_m, slope * tolerance->ellipse_flow_m3s);
    struct tolerance_room room = {.fall_m = quantity_of(apart_m + reach_m), .rise_m = quantity_of(reach_m - apart_m)};
    if (slope != 0.0) {
        room.fall_m3s = quantity_times(room.fall_m, 1.0 / fabs(slope));
        room.rise_m3s = quantity_times(room.rise_m, 1.0 / fabs(slope));
    }
    return room;
}

struct tolerance_room tolerance_room_of(const struct tolerance *tolerance, const struct curve *head,
                                        struct quantity flow_at_head_m3s)
{
    struct quantity flow = tolerance->flow_m3s;
    if (tolerance->grade == NULL || !tolerance->head_m.known || !flow.known || !curve_covers(head, flow.value)) {
        return (struct tolerance_room){0};
    }
    if (tolerance->grade->geometry == GEOMETRY_ELLIPSE) {
        return room_in_ellipse(tolerance, head, flow_at_head_m3s);
    }
    double at_m = curve_at(head, flow.value), guaranteed_m = tolerance->head_m.value;
    struct quantity low_m = tolerance->accept.head_low_m, high_m = tolerance->accept.head_high_m;
    struct quantity above_m = head_above(head, tolerance->accept.flow_low_m3s, guaranteed_m);
    struct quantity below_m = quantity_times(head_above(head, tolerance->accept.flow_high_m3s, guaranteed_m), -1);
    return (struct tolerance_room){
        .fall_m = of_arms(low_m.known ? quantity_of(at_m - low_m.value) : low_m, above_m,
                          tolerance->grade->geometry != GEOMETRY_MINIMUM),
        .rise_m = of_arms(high_m.known ? quantity_of(high_m.value - at_m) : high_m, below_m, true),
    };
}

/* --- the mark --- */

size_t tolerance_outline(const struct tolerance *tolerance, struct outline_vertex vertices[OUTLINE_VERTICES])
{
    const double turn_rad = 8.0 * atan(1.0);
    if (!tolerance->flow_m3s.known || !tolerance->head_m.known) {
        return 0;
    }
    double flow_m3s = tolerance->flow_m3s.value, head_m = tolerance->head_m.value;
    bool ellipse = tolerance->ellipse_flow_m3s > 0.0;
    double arm_m3s = ellipse ? 0.2 * tolerance->ellipse_flow_m3s : 0.0;
    double arm_m = ellipse ? 0.2 * tolerance->ellipse_head_m : 0.0;
    size_t count = 0;
    vertices[count++] = (struct outline_vertex){quantity_or(tolerance->flow_low_m3s, flow_m3s - arm_m3s), head_m, true};
    vertices[count++] =
        (struct outline_vertex){quantity_or(tolerance->flow_high_m3s, flow_m3s + arm_m3s), head_m, false};
    vertices[count++] = (struct outline_vertex){flow_m3s, quantity_or(tolerance->head_low_m, head_m - arm_m), true};
    vertices[count++] = (struct outline_vertex){flow_m3s, quantity_or(tolerance->head_high_m, head_m + arm_m), false};
    for (int i = 0; ellipse && i <= OUTLINE_ELLIPSE; i++) {
        double angle_rad = turn_rad * i / OUTLINE_ELLIPSE;
        vertices[count++] = (struct outline_vertex){flow_m3s + tolerance->ellipse_flow_m3s * cos(angle_rad),
                                                    head_m + tolerance->ellipse_head_m * sin(angle_rad), i == 0};
    }
    return count;
}
