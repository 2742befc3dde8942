/* Where to look when a unit is off: the pattern of its numbers against the guarantee. Rules of thumb throughout (common
 * practice, no source); they advise and never judge. In the order of blame: record, supply, rotation, stage count,
 * restriction, leakage, friction, trim. */
#include "run/look_here.h"

#include <math.h>

/* What is known of a unit at its first duty point, as ratios to what was guaranteed. Absent where it cannot be told. */
struct pattern {
    struct quantity head;       /* head at guaranteed flow */
    struct quantity power;      /* input power there, against the guarantee's own */
    struct quantity efficiency; /* on the duty line */
    struct quantity shut_off;   /* head at the lowest tested flow, when near shut-off, against guaranteed head */
};

static struct quantity ratio(struct quantity a, struct quantity b)
{
    return a.known && b.known && b.value > 0.0 ? quantity_of(a.value / b.value) : quantity_absent();
}

static struct pattern pattern_of(const struct result *result)
{
    const struct duty_result *duty = &result->duties[0];
    const struct duty *guaranteed = duty->duty;
    struct pattern pattern = {.head = ratio(duty->at_guaranteed_flow.head_m, guaranteed->head_m)};
    struct quantity set = guaranteed->efficiency_of_pump ? quantity_absent() : guaranteed->efficiency;
    struct quantity expected_w = guaranteed->input_power_w;
    if (!expected_w.known && set.known && guaranteed->flow_m3s.known && guaranteed->head_m.known) {
        expected_w = quantity_of(curves_specific_weight(&result->curves, guaranteed->flow_m3s.value) *
                                 guaranteed->flow_m3s.value * guaranteed->head_m.value / set.value);
    }
    pattern.power = ratio(duty->at_guaranteed_flow.input_power_w, expected_w);
    pattern.efficiency = ratio(guaranteed->efficiency_of_pump ? duty->at_guaranteed_flow.pump_efficiency
                                                              : duty->at_guaranteed_flow.set_efficiency,
                               guaranteed->efficiency);
    const struct curve *head = &result->curves.of[CURVE_HEAD];
    if (guaranteed->flow_m3s.known && head->flow_low_m3s < 0.1 * guaranteed->flow_m3s.value) {
        pattern.shut_off = ratio(quantity_of(curve_at(head, head->flow_low_m3s)), guaranteed->head_m);
    }
    return pattern;
}

static bool near_ratio(struct quantity q, double target, double tolerance)
{
    return q.known && fabs(q.value - target) <= tolerance;
}

static bool below(struct quantity q, double limit)
{
    return q.known && q.value < limit;
}

static bool above(struct quantity q, double limit)
{
    return q.known && q.value > limit;
}

static bool any_phase_dead(const struct result *result)
{
    for (size_t i = 0; i < result->point_count; i++) {
        if (above(result->points[i].as_tested.current_unbalance, 0.9)) {
            return true;
        }
    }
    return false;
}

static bool supply_low(const struct result *result)
{
    for (size_t i = 0; i < result->point_count; i++) {
        const struct operating_point *point = &result->points[i].as_tested;
        if (below(ratio(point->voltage_v, result->model->rated_voltage_v), 1.0 - VOLTAGE_DEVIATION) ||
            below(ratio(point->frequency_hz, result->model->rated_frequency_hz), 1.0 - 2.0 * FREQUENCY_DEVIATION)) {
            return true;
        }
    }
    return false;
}

/* Stages whose absence would explain the deficit, 0 when none does: a set that lacks one loses its share of head and of
 * power and keeps its efficiency. Sets are built somewhat better than they are guaranteed, so the share need not be met
 * closely. */
static int stages_missing(const struct result *result, const struct pattern *pattern)
{
    struct quantity stages = result->model->stages;
    bool efficiency_kept = !pattern->efficiency.known || near_ratio(pattern->efficiency, 1.01, 0.06);
    for (int missing = 1; stages.known && missing <= 2 && stages.value > (double)missing; missing++) {
        double share = (stages.value - (double)missing) / stages.value;
        bool head_fits = near_ratio(pattern->head, share + 0.015, 0.035);
        bool power_fits = !pattern->power.known || near_ratio(pattern->power, share, 0.08);
        if (efficiency_kept && head_fits && power_fits) {
            return missing;
        }
    }
    return 0;
}

#define SAY(...)                                                                                                       \
    do {                                                                                                               \
        if (note_add(&result->notes, arena, NOTE_LOOK_HERE, __VA_ARGS__) != OK) {                                      \
            return E_MEMORY;                                                                                           \
        }                                                                                                              \
    } while (0)

static enum status head_is_low(struct result *result, struct arena *arena, const struct pattern *pattern)
{
    if (below(pattern->head, 0.80) && below(pattern->shut_off, 0.95)) {
        SAY("head is far too low at every flow: "
            "first ask whether the set turned backwards (two phases swapped); "
            "isolate and lock off the supply before any terminal is touched, then test again");
        return OK;
    }
    int missing = stages_missing(result, pattern);
    if (missing > 0) {
        SAY("head is %.1f %% of the guarantee, near (N - %d)/N for N = %.0f stages: count the stages; "
            "look for a missing impeller or one that its collet or key does not drive",
            100.0 * pattern->head.value, missing, result->model->stages.value);
    }
    if (above(pattern->power, 1.03)) {
        SAY("head low with power high: look for internal leakage (worn, oversize or missing wear ring, "
            "cracked bowl, a joint that leaks before the tapping) or rubbing impellers");
    } else if (below(pattern->efficiency, 0.97) && missing == 0) {
        SAY("head low with power not high: look for a restriction (non-return valve not fully open, "
            "strainer or impeller passage blocked), then for wear-ring leakage; "
            "a restriction's deficit grows with the square of flow, leakage takes most at high head");
    } else if (missing == 0) {
        SAY("head and power low together: look at impeller diameter (trim) and stage count");
    }
    return OK;
}

static enum status head_is_right(struct result *result, struct arena *arena, const struct pattern *pattern)
{
    if (above(pattern->head, 1.05) && above(pattern->power, 1.05)) {
        SAY("head and power both high: count the stages and check the impeller family and diameter; "
            "mind overload at low head");
    } else if (above(pattern->power, 1.05) || below(pattern->efficiency, 0.95)) {
        SAY("head is right but power is high: look for friction (tight bush, rubbing impellers, wrong axial setting, "
            "bent shaft, "
            "thrust bearing) and at the motor's own losses");
    }
    return OK;
}

enum status look_here_add(struct result *result, struct arena *arena)
{
    if (result->verdict != VERDICT_FAIL || !result->curves.of[CURVE_HEAD].known) {
        return OK;
    }
    struct pattern pattern = pattern_of(result);
    if (any_phase_dead(result)) {
        SAY("one line carries almost no current: single phasing; look at fuses, contactor and joints, "
            "with the supply isolated and locked off");
    }
    if (supply_low(result)) {
        SAY("voltage or frequency of the supply was low: put the supply right and test again before the set is opened");
    }
    if (below(pattern.head, 0.98)) {
        return head_is_low(result, arena, &pattern);
    }
    return head_is_right(result, arena, &pattern);
}
