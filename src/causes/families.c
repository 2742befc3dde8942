/* The forms of the causes (facts: open textbook chapter on pump losses; the rest is arithmetic, or common practice
 * where a comment says so). H0, P0, I0: the good unit's curves; q = Q / Q_best. */
#include "causes/families.h"

#include <math.h>

/* Share of the current at best flow that is active: its power factor. Common practice for want of a voltage. */
static const double power_factor = 0.8;

void good_unit_make(const struct model_reference *reference, double highest_flow_m3s, struct good_unit *good)
{
    const struct reference_curves *curves = &reference->curves;
    *good = (struct good_unit){.reference = reference, .highest_flow_m3s = highest_flow_m3s};
    for (size_t c = 0; c < CURVES; c++) {
        node_curve_make(curves->flow_m3s, curves->mean.of[c], curves->node_count, &good->curve[c]);
    }
    good->best_head_m = node_curve_at(&good->curve[GOOD_HEAD], reference->best_flow_m3s, NULL);
    good->best_power_w = node_curve_at(&good->curve[GOOD_POWER], reference->best_flow_m3s, NULL);
    good->best_current_a = node_curve_at(&good->curve[GOOD_CURRENT], reference->best_flow_m3s, NULL);
}

struct predicted good_unit_at(const struct good_unit *good, double flow_m3s)
{
    struct predicted at = {.voltage = 1.0};
    for (size_t c = 0; c < CURVES; c++) {
        at.of[c] = node_curve_at(&good->curve[c], flow_m3s, NULL);
    }
    return at;
}

/* Current at a changed input power: the reactive part stays, the active part goes with power. Where no power is known,
 * changed_power_w and good_power_w are shares of the power at best flow. */
static double current_at(const struct good_unit *good, double good_current_a, double good_power, double power)
{
    double best = good->best_power_w > 0.0 ? good->best_power_w : 1.0;
    double active = power_factor * good->best_current_a / best;
    double square = good_current_a * good_current_a + active * active * (power * power - good_power * good_power);
    double floor_a = 0.1 * good->best_current_a;
    return sqrt(fmax(square, floor_a * floor_a));
}

/* Power of a good unit, or, for want of it, a share of that at best flow made from the current. */
static double good_power(const struct good_unit *good, double flow_m3s)
{
    if (good->reference->curves.known[GOOD_POWER]) {
        return node_curve_at(&good->curve[GOOD_POWER], flow_m3s, NULL);
    }
    if (!good->reference->curves.known[GOOD_CURRENT]) {
        return 1.0;
    }
    double current = node_curve_at(&good->curve[GOOD_CURRENT], flow_m3s, NULL) / good->best_current_a;
    double reactive = 1.0 - power_factor * power_factor;
    return sqrt(fmax(current * current - reactive, 0.01)) / power_factor;
}

static double scale_of_power(const struct good_unit *good)
{
    return good->reference->curves.known[GOOD_POWER] ? good->best_power_w : 1.0;
}

static double no_load(const struct good_unit *good)
{
    return good->reference->curves.known[GOOD_POWER] ? good->reference->no_load_w : NO_LOAD_SHARE;
}

/* A fault inside the set: head and power at a flow, before the motor answers. */
struct inside {
    double head_m, power, good_power;
};

/* A motor that is loaded more slips more: head and power at the lower speed, and the current. lambda - 1 is minus the
 * change of slip; H = lambda^2 H(Q / lambda) to first order in lambda. */
static struct predicted answered(const struct good_unit *good, const struct inside *inside, double flow_m3s)
{
    double slope, good_current = node_curve_at(&good->curve[GOOD_CURRENT], flow_m3s, NULL);
    (void)node_curve_at(&good->curve[GOOD_HEAD], flow_m3s, &slope);
    double more = (inside->power - inside->good_power) / scale_of_power(good);
    double change = -good->reference->slip * more;
    double head = inside->head_m * (1.0 + 2.0 * change) - slope * flow_m3s * change;
    return (struct predicted){
        .of = {head, inside->power, current_at(good, good_current, inside->good_power, inside->power)},
        .voltage = 1.0,
    };
}

/* Stages missing or not driven: (1 - k/N) of head and of the pump's part of power; the motor's no-load power stays. */
static struct inside stages(const struct good_unit *good, double severity, double flow_m3s)
{
    double share = 1.0 - severity / good->reference->stages.value, power = good_power(good, flow_m3s);
    double motor = no_load(good);
    return (struct inside){share * node_curve_at(&good->curve[GOOD_HEAD], flow_m3s, NULL),
                           motor + share * (power - motor), power};
}

/* Head turned backwards against forward at q of 0, 0.1 ... 0.4 and at 0.44, where it vanishes; the severity moves that
 * flow. Power has no say. Source: four-quadrant table of a volute pump (Wylie & Streeter, from memory); common practice
 * for a bowl. */
static struct inside reversed(const struct good_unit *good, double severity, double flow_m3s)
{
    static const double at[] = {0.0, 0.1, 0.2, 0.3, 0.4, 0.44}, ratio[] = {0.49, 0.47, 0.37, 0.24, 0.07, 0.0};
    double flow = flow_m3s * at[5] / severity, q = flow / good->reference->best_flow_m3s;
    size_t i = 0;
    while (i < 4 && q > at[i + 1]) {
        i++;
    }
    double share = ratio[i] + (ratio[i + 1] - ratio[i]) * (q - at[i]) / (at[i + 1] - at[i]);
    double power = good_power(good, flow_m3s);
    return (struct inside){share * node_curve_at(&good->curve[GOOD_HEAD], flow, NULL), power, power};
}

/* A leak before the meter, as large as head drives it: H0(Q + ql sqrt(h)), P0(Q + ql sqrt(h)), h the head there over
 * that at best flow. */
static struct inside leakage(const struct good_unit *good, double severity, double flow_m3s)
{
    double leak = severity * good->reference->best_flow_m3s, through = flow_m3s + leak;
    for (int i = 0; i < 3; i++) {
        double head = node_curve_at(&good->curve[GOOD_HEAD], through, NULL);
        through = flow_m3s + leak * sqrt(fmax(head / good->best_head_m, 0.0));
    }
    return (struct inside){node_curve_at(&good->curve[GOOD_HEAD], through, NULL), good_power(good, through),
                           good_power(good, flow_m3s)};
}

/* H0 - a Q^2 with power as it was. */
static struct inside restriction(const struct good_unit *good, double severity, double flow_m3s)
{
    double q = flow_m3s / good->reference->best_flow_m3s, power = good_power(good, flow_m3s);
    double head = node_curve_at(&good->curve[GOOD_HEAD], flow_m3s, NULL) - severity * good->best_head_m * q * q;
    return (struct inside){head, power, power};
}

/* A constant torque more: P0 + c at every flow. */
static struct inside friction(const struct good_unit *good, double severity, double flow_m3s)
{
    double power = good_power(good, flow_m3s);
    return (struct inside){node_curve_at(&good->curve[GOOD_HEAD], flow_m3s, NULL),
                           power + severity * scale_of_power(good), power};
}

/* Affinity with diameter or speed, lambda = 1 + severity: lambda^2 H0(Q / lambda), lambda^3 P0(Q / lambda), the no-load
 * power kept. */
static struct inside scale(const struct good_unit *good, double severity, double flow_m3s)
{
    double lambda = 1.0 + severity, motor = no_load(good);
    double pump = good_power(good, flow_m3s / lambda) - motor;
    return (struct inside){lambda * lambda * node_curve_at(&good->curve[GOOD_HEAD], flow_m3s / lambda, NULL),
                           motor + lambda * lambda * lambda * pump, good_power(good, flow_m3s)};
}

/* Head falls off with the power 1.5 of the flow beyond an onset (share of the highest flow), and power by half that
 * share. Common practice. */
static struct inside air_from(const struct good_unit *good, double onset, double severity, double flow_m3s)
{
    double beyond = fmax(flow_m3s / good->highest_flow_m3s - onset, 0.0) / (1.0 - onset);
    double head = node_curve_at(&good->curve[GOOD_HEAD], flow_m3s, NULL), power = good_power(good, flow_m3s);
    double lost = severity * good->best_head_m * pow(beyond, 1.5);
    double share = 0.5 * lost / fmax(head, 0.2 * good->best_head_m);
    return (struct inside){head - lost, power * (1.0 - fmin(share, 0.5)), power};
}

static struct inside air(const struct good_unit *good, double severity, double flow_m3s)
{
    return air_from(good, 0.6, severity, flow_m3s);
}

/* A voltage of severity x rated: slip goes with the inverse square, current with the inverse. Source: the table of
 * motor makers' association form, secondary: 90 % gives slip +23 %, current +11 %. */
static struct predicted supply(const struct good_unit *good, double severity, double flow_m3s)
{
    double change = -good->reference->slip * (1.0 / (severity * severity) - 1.0);
    struct inside inside = scale(good, change, flow_m3s);
    double current = node_curve_at(&good->curve[GOOD_CURRENT], flow_m3s, NULL);
    return (struct predicted){.of = {inside.head_m, inside.power, current / severity}, .voltage = severity};
}

/* Two wattmeters, one reversed: their difference is the reactive power over sqrt(3), which hardly changes with load. */
static struct predicted wattmeter(const struct good_unit *good, double severity, double flow_m3s)
{
    struct predicted at = good_unit_at(good, flow_m3s);
    double tangent = sqrt(1.0 - severity * severity) / severity;
    at.of[GOOD_POWER] = good->best_power_w * tangent / sqrt(3.0);
    return at;
}

/* A meter that reads factor times the flow: the unit is at Q / factor. */
static struct predicted flow_factor(const struct good_unit *good, double severity, double flow_m3s)
{
    return good_unit_at(good, flow_m3s / severity);
}

static struct predicted as_read(const struct good_unit *good, double flow_m3s, double head_added_m, double head_factor)
{
    struct predicted at = good_unit_at(good, flow_m3s);
    at.of[GOOD_HEAD] = at.of[GOOD_HEAD] * head_factor + head_added_m;
    return at;
}

static struct predicted ratio(const struct good_unit *good, double flow_m3s, double current, double voltage)
{
    struct predicted at = good_unit_at(good, flow_m3s);
    at.of[GOOD_POWER] *= current * voltage;
    at.of[GOOD_CURRENT] *= current;
    at.voltage *= voltage;
    return at;
}

/* A stage that is not driven stands in the way: it takes 5 % of a stage's head at best flow. */
static struct inside stages_in_the_way(const struct good_unit *good, double severity, double flow_m3s)
{
    struct inside inside = stages(good, severity, flow_m3s);
    double q = flow_m3s / good->reference->best_flow_m3s;
    inside.head_m -= 0.05 * severity / good->reference->stages.value * good->best_head_m * q * q;
    return inside;
}

/* A leak of one size at every head, as through a ring that is turned by the flow. */
static struct inside leakage_constant(const struct good_unit *good, double severity, double flow_m3s)
{
    double through = flow_m3s + severity * good->reference->best_flow_m3s;
    return (struct inside){node_curve_at(&good->curve[GOOD_HEAD], through, NULL), good_power(good, through),
                           good_power(good, flow_m3s)};
}

/* Rubbing that the thrust drives: P0 + c h. */
static struct inside friction_of_thrust(const struct good_unit *good, double severity, double flow_m3s)
{
    struct inside inside = friction(good, severity, flow_m3s);
    inside.power += severity * scale_of_power(good) * (inside.head_m / good->best_head_m - 1.0);
    return inside;
}

/* A trim that narrows the outlet as well: flow goes with the square of diameter. */
static struct inside scale_and_width(const struct good_unit *good, double severity, double flow_m3s)
{
    double lambda = 1.0 + severity;
    return scale(good, severity, flow_m3s / lambda);
}

/* What the trade says: 55 % of the head at closed valve, straight down to nothing. Source: trade pages, secondary. */
static struct inside reversed_straight(const struct good_unit *good, double severity, double flow_m3s)
{
    double share = 1.0 - flow_m3s / (severity * good->reference->best_flow_m3s), power = good_power(good, flow_m3s);
    return (struct inside){0.55 * share * node_curve_at(&good->curve[GOOD_HEAD], 0.0, NULL), power, power};
}

/* A later onset and a steeper fall. */
static struct inside air_late(const struct good_unit *good, double severity, double flow_m3s)
{
    return air_from(good, 0.8, severity, flow_m3s);
}

/* The circuit's own answer to a low voltage, without saturation: active current up, magnetising current down. */
static struct predicted supply_of_circuit(const struct good_unit *good, double severity, double flow_m3s)
{
    struct predicted at = supply(good, severity, flow_m3s);
    double full = at.of[GOOD_CURRENT] * severity, active = power_factor / severity;
    double reactive = sqrt(1.0 - power_factor * power_factor) * severity;
    at.of[GOOD_CURRENT] = full * sqrt(active * active + reactive * reactive);
    return at;
}

bool family_varies(enum cause_family family)
{
    return family == FAMILY_STAGES || family == FAMILY_LEAKAGE || family == FAMILY_FRICTION || family == FAMILY_SCALE ||
           family == FAMILY_AIR || family == FAMILY_SUPPLY || family == FAMILY_REVERSED;
}

struct predicted family_variant_at(const struct good_unit *good, enum cause_family family, double severity,
                                   double flow_m3s)
{
    struct inside inside;
    switch (family) {
    case FAMILY_STAGES: inside = stages_in_the_way(good, severity, flow_m3s); break;
    case FAMILY_LEAKAGE: inside = leakage_constant(good, severity, flow_m3s); break;
    case FAMILY_FRICTION: inside = friction_of_thrust(good, severity, flow_m3s); break;
    case FAMILY_SCALE: inside = scale_and_width(good, severity, flow_m3s); break;
    case FAMILY_REVERSED: inside = reversed_straight(good, severity, flow_m3s); break;
    case FAMILY_AIR: inside = air_late(good, severity, flow_m3s); break;
    case FAMILY_SUPPLY: return supply_of_circuit(good, severity, flow_m3s);
    default: return family_at(good, family, severity, flow_m3s);
    }
    return answered(good, &inside, flow_m3s);
}

struct predicted family_at(const struct good_unit *good, enum cause_family family, double severity, double flow_m3s)
{
    struct inside inside;
    switch (family) {
    case FAMILY_STAGES: inside = stages(good, severity, flow_m3s); break;
    case FAMILY_REVERSED: inside = reversed(good, severity, flow_m3s); break;
    case FAMILY_LEAKAGE: inside = leakage(good, severity, flow_m3s); break;
    case FAMILY_RESTRICTION: inside = restriction(good, severity, flow_m3s); break;
    case FAMILY_FRICTION: inside = friction(good, severity, flow_m3s); break;
    case FAMILY_SCALE:
    case FAMILY_SPEED: inside = scale(good, severity, flow_m3s); break;
    case FAMILY_AIR: inside = air(good, severity, flow_m3s); break;
    case FAMILY_SUPPLY: return supply(good, severity, flow_m3s);
    case FAMILY_HEAD_OFFSET: return as_read(good, flow_m3s, severity * good->best_head_m, 1.0);
    case FAMILY_HEAD_FACTOR: return as_read(good, flow_m3s, 0.0, severity);
    case FAMILY_FLOW_FACTOR: return flow_factor(good, severity, flow_m3s);
    case FAMILY_CURRENT_RATIO: return ratio(good, flow_m3s, severity, 1.0);
    case FAMILY_VOLTAGE_RATIO: return ratio(good, flow_m3s, 1.0, severity);
    case FAMILY_WATTMETER: return wattmeter(good, severity, flow_m3s);
    default: return good_unit_at(good, flow_m3s);
    }
    return answered(good, &inside, flow_m3s);
}

bool family_excluded(const struct good_unit *good, enum cause_family family, double severity, bool voltage_read)
{
    struct quantity stages_of = good->reference->stages;
    bool power = good->reference->curves.known[GOOD_POWER];
    switch (family) {
    case FAMILY_STAGES: return !stages_of.known || severity > stages_of.value - 1.0;
    case FAMILY_SPEED: return good->reference->speed_measured;
    case FAMILY_SUPPLY:
    case FAMILY_VOLTAGE_RATIO: return !voltage_read;
    case FAMILY_WATTMETER: return !power;
    case FAMILY_SIGN:
    case FAMILY_NONE: return true;
    default: return false;
    }
}
