/* Readings of power that cannot be. What a slip would have done to them is undone in turn; the first that makes them
 * plausible is named. Rules of thumb: common practice, no source, but for the two wattmeters' own geometry. */
#include "run/caution_power.h"

#include "run/caution_parts.h"

#include <math.h>

static const double power_factor_low = 0.3, set_efficiency_high = 0.75;
/* What a power factor or a set efficiency at load may well be. */
static const double plausible_pf_low = 0.65, plausible_pf_high = 0.95, plausible_efficiency_low = 0.1;
/* A point is at load from this share of the greatest flow of the test on: at shut-off a motor may run near no load. */
static const double load_share = 0.1;
/* Power factors by two roads differ by this much only through a slip; unbalance explains less. */
static const double disagreement = 0.05, disagreement_cured = 3.0;

enum slip {
    SLIP_NONE,
    SLIP_SIGN,          /* a wattmeter's sign */
    SLIP_NEGATIVE,      /* power below zero */
    SLIP_POWER_TWICE,   /* the ratio on a power that is a primary value already */
    SLIP_CURRENT_TWICE, /* the ratio on a current or voltage that is one */
    SLIP_PHASE_VOLTAGE, /* voltage to neutral for line voltage */
    SLIP_ONE_PHASE,     /* the power of one phase for that of all */
    SLIP_HIGH,          /* power factor above 1, cause not known */
    SLIP_LOW,
    SLIP_COUNT
};

static bool at_load(const struct result *result, const struct point *point)
{
    double greatest_m3s = 0.0;
    for (size_t i = 0; i < result->point_count; i++) {
        greatest_m3s = fmax(greatest_m3s, quantity_or(result->points[i].as_tested.flow_m3s, 0.0));
    }
    struct quantity flow = point->as_tested.flow_m3s;
    return flow.known && flow.value > 0.0 && flow.value >= load_share * greatest_m3s;
}

static double phases_of(const struct result *result)
{
    return quantity_or(result->model->phases, 3.0);
}

static bool was_read(const struct point *point, enum channel channel)
{
    return point->settled->channels[channel].n > 0;
}

/* Input power was taken as the sum of just two wattmeters on three phases. */
static bool by_two_wattmeters(const struct result *result, const struct point *point)
{
    return phases_of(result) == 3.0 && was_read(point, CH_WATTMETER_1) && was_read(point, CH_WATTMETER_2) &&
           !was_read(point, CH_WATTMETER_3) && !was_read(point, CH_INPUT_POWER);
}

/* Power factor that two wattmeters show of themselves on a balanced load: tan phi = sqrt(3) (W1 - W2) / (W1 + W2). */
static double wattmeters_power_factor(double first_w, double second_w)
{
    return (first_w + second_w) / hypot(first_w + second_w, sqrt(3.0) * (first_w - second_w));
}

/* The sign of one wattmeter is wrong: changed, its readings agree with voltage and current (or, where these were not
 * read, with an efficiency that can be), and as read they do not. */
static bool sign_is_wrong(const struct result *result, const struct point *point)
{
    if (!by_two_wattmeters(result, point) || !at_load(result, point)) {
        return false;
    }
    double first_w = point->settled->channels[CH_WATTMETER_1].mean;
    double second_w = point->settled->channels[CH_WATTMETER_2].mean;
    double sum_w = first_w + second_w, turned_w = fabs(first_w - second_w);
    struct quantity pf = point->as_tested.power_factor, useful_w = point->as_tested.hydraulic_power_w;
    if (pf.known && !was_read(point, CH_POWER_FACTOR) && sum_w != 0.0) {
        double apparent_va = sum_w / pf.value, turned_pf = turned_w / apparent_va;
        double as_read = fabs(pf.value - wattmeters_power_factor(first_w, second_w));
        double turned = fabs(turned_pf - fabs(wattmeters_power_factor(first_w, -second_w)));
        return as_read > disagreement && turned <= disagreement && turned * disagreement_cured < as_read &&
               turned_pf <= 1.0;
    }
    bool impossible = useful_w.known && !(useful_w.value <= set_efficiency_high * sum_w);
    return impossible && useful_w.value >= plausible_efficiency_low * turned_w &&
           useful_w.value <= set_efficiency_high * turned_w;
}

static bool plausible(double power_factor)
{
    return power_factor >= plausible_pf_low && power_factor <= plausible_pf_high;
}

static bool plausible_with_ratio(const struct rig *rig, double power_factor, bool divided)
{
    const double ratios[] = {rig->current_ratio, rig->voltage_ratio, rig->current_ratio * rig->voltage_ratio};
    for (size_t i = 0; i < sizeof ratios / sizeof ratios[0]; i++) {
        if (ratios[i] != 1.0 && plausible(divided ? power_factor / ratios[i] : power_factor * ratios[i])) {
            return true;
        }
    }
    return false;
}

static enum slip slip_of(const struct result *result, const struct point *point)
{
    const struct rig *rig = &result->bay->rig;
    struct quantity pf = point->as_tested.power_factor, power_w = point->as_tested.input_power_w;
    if (sign_is_wrong(result, point)) {
        return SLIP_SIGN;
    }
    if (power_w.known && power_w.value < 0.0) {
        return SLIP_NEGATIVE;
    }
    if (!pf.known) {
        return SLIP_NONE;
    }
    bool three = phases_of(result) == 3.0;
    if (pf.value > 1.0) {
        return plausible_with_ratio(rig, pf.value, true)  ? SLIP_POWER_TWICE
               : three && plausible(pf.value / sqrt(3.0)) ? SLIP_PHASE_VOLTAGE
                                                          : SLIP_HIGH;
    }
    if (pf.value < power_factor_low && at_load(result, point)) {
        return plausible_with_ratio(rig, pf.value, false) ? SLIP_CURRENT_TWICE
               : three && plausible(3.0 * pf.value)       ? SLIP_ONE_PHASE
                                                          : SLIP_LOW;
    }
    return SLIP_NONE;
}

/* What is seen, and the slip that would explain it. Each takes the list of points. */
static const char *const slip_texts[SLIP_COUNT] = {
    [SLIP_SIGN] = "point %s: the two wattmeters fit the other readings only with the sign of one changed: "
                  "look for a reversed wattmeter lead, or a sign that was lost in writing",
    [SLIP_NEGATIVE] = "point %s: the input power is negative: look for reversed wattmeter leads",
    [SLIP_POWER_TWICE] = "power factor above 1 at point %s: the power seems to be a primary value already, "
                         "on which the transformer ratio of rig.csv is applied once more",
    [SLIP_PHASE_VOLTAGE] = "power factor above 1 at point %s: "
                           "the voltage seems to be that to neutral instead of that between lines",
    [SLIP_HIGH] =
        "power factor above 1 at point %s: look for a transformer ratio that was forgotten (rig.csv: current ratio, "
        "voltage ratio) or is on the power alone",
    [SLIP_CURRENT_TWICE] =
        "power factor below 0.3 at point %s: the current or voltage seems to be a primary value already, "
        "on which the transformer ratio of rig.csv is applied once more (common practice, no source)",
    [SLIP_ONE_PHASE] = "power factor below 0.3 at point %s: "
                       "the power seems to be that of one phase of three (common practice, no source)",
    [SLIP_LOW] =
        "power factor below 0.3 at point %s: "
        "look for a reversed wattmeter lead or a transformer ratio that was forgotten on the power (common practice, "
        "no source)",
};

static enum status slips(struct result *result, struct arena *arena)
{
    struct point_list lists[SLIP_COUNT] = {0};
    for (size_t i = 0; i < result->point_count; i++) {
        point_list_add(&lists[slip_of(result, &result->points[i])], &result->points[i]);
    }
    for (int slip = SLIP_NONE + 1; slip < SLIP_COUNT; slip++) {
        if (lists[slip].count > 0 &&
            note_add(&result->notes, arena, NOTE_INPUT, slip_texts[slip], lists[slip].text) != OK) {
            return E_MEMORY;
        }
    }
    return OK;
}

static bool efficiency_too_high(const struct result *result, const struct point *point)
{
    (void)result;
    struct quantity set = point->as_tested.set_efficiency, pump = point->as_tested.pump_efficiency;
    return (set.known && set.value > set_efficiency_high) || (pump.known && pump.value >= 1.0);
}

static bool by_one_wattmeter(const struct result *result, const struct point *point)
{
    (void)result;
    return point->remarks.one_wattmeter;
}

/* How many phases the set has matters where power and current are brought together. */
static bool phases_matter(const struct result *result, const struct point *point)
{
    (void)result;
    return point->remarks.one_wattmeter || (point->as_tested.power_factor.known && !was_read(point, CH_POWER_FACTOR)) ||
           (was_read(point, CH_POWER_FACTOR) && !was_read(point, CH_INPUT_POWER) && point->as_tested.current_a.known);
}

enum status power_cautions_add(struct result *result, struct arena *arena)
{
    if (slips(result, arena) != OK) {
        return E_MEMORY;
    }
    NOTE_POINTS(result, arena, NOTE_INPUT, efficiency_too_high,
                "efficiency higher than such a set can have at point %s: check transformer ratio, "
                "signs of the wattmeters, meter constant, gauge unit, "
                "pipe bore and flow unit first (common practice, no source)");
    NOTE_POINTS(result, arena, NOTE_CAUTION, by_one_wattmeter,
                "input power is three times the reading of one wattmeter at point %s: true of a balanced load only");
    if (!result->model->phases.known) {
        NOTE_POINTS(result, arena, NOTE_INPUT, phases_matter,
                    "models.csv states no phases of this model: taken as three-phase at point %s");
    }
    return OK;
}
