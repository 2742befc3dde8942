#include "causes/covariance.h"

#include <math.h>

/* A smooth change of one curve: of its level, its tilt or its bow. One standard deviation of it from unit to unit where
 * units are known but few (what a learned covariance is drawn towards), where only the guarantee is, and for a fault of
 * unknown form. Common practice, no source. */
enum shape { SHAPE_LEVEL, SHAPE_TILT, SHAPE_BOW };
static const struct smooth {
    enum curve_of curve;
    enum shape shape;
    double known_units, guarantee, unknown_fault;
} smooth[] = {
    {GOOD_HEAD, SHAPE_LEVEL, 0.010, 0.03, 0.12},    {GOOD_HEAD, SHAPE_TILT, 0.008, 0.10, 0.12},
    {GOOD_HEAD, SHAPE_BOW, 0.004, 0.06, 0.06},      {GOOD_POWER, SHAPE_LEVEL, 0.012, 0.04, 0.15},
    {GOOD_POWER, SHAPE_TILT, 0.008, 0.12, 0.10},    {GOOD_POWER, SHAPE_BOW, 0.004, 0.06, 0.06},
    {GOOD_CURRENT, SHAPE_LEVEL, 0.008, 0.08, 0.10},
};
enum { SMOOTH_COUNT = sizeof smooth / sizeof *smooth };

/* Good units whose spread counts as much as the standing one; few units' covariance is widened by this over their
 * number. */
static const double standing_units = 8.0, widening = 6.0;

/* Supply voltage from test to test, and the reading of it; current goes against half of it, more or less. Common
 * practice. */
static const double supply_spread = 0.025, voltage_reading = 0.005, current_against = 0.5, current_besides = 0.006;

/* Scatter below this share of the value at best flow is not believed: curves through nodes are no closer. */
static const double scatter_least = 0.0035;

/* A fault shifts curves along flow: what they are asked for lies further out than the reading by about this. */
static const double reached_further = 1.05;

/* Share of the current that follows power at a power factor of 0.8: its square. */
static const double current_follows = 0.64;

static size_t stack_points(const struct causes_case *of, struct stacked *stacked)
{
    size_t total = of->reading_count, kept = total < EVIDENCE_POINTS_MAX ? total : EVIDENCE_POINTS_MAX, heads = 0,
           n = 0;
    stacked->point_count = kept;
    for (size_t i = 0; i < kept; i++) {
        const struct causes_reading *reading = &of->readings[i * total / kept];
        stacked->flow_m3s[i] = reading->flow_m3s;
        for (size_t c = 0; c < CURVES; c++) {
            stacked->read[i][c] = reading->of[c].known && of->reference->curves.known[c];
            if (stacked->read[i][c]) {
                stacked->measured[n++] = reading->of[c].value;
            }
        }
        heads += stacked->read[i][GOOD_HEAD];
    }
    stacked->voltage_read = of->voltage.known;
    if (of->voltage.known) {
        stacked->measured[n++] = of->voltage.value;
    }
    stacked->count = n;
    return heads;
}

typedef struct predicted (*form_at)(const struct good_unit *good, enum cause_family family, double severity,
                                    double flow_m3s);

static void predict(const struct stacked *stacked, form_at form, enum cause_family family, double severity, double *out)
{
    struct predicted at = {.voltage = 1.0};
    size_t n = 0;
    for (size_t i = 0; i < stacked->point_count; i++) {
        at = form(&stacked->good, family, severity, stacked->flow_m3s[i]);
        for (size_t c = 0; c < CURVES; c++) {
            if (stacked->read[i][c]) {
                out[n++] = at.of[c];
            }
        }
    }
    if (stacked->voltage_read) {
        out[n] = at.voltage;
    }
}

void stacked_predict(const struct stacked *stacked, enum cause_family family, double severity, double *out)
{
    predict(stacked, family_at, family, severity, out);
}

void stacked_predict_variant(const struct stacked *stacked, enum cause_family family, double severity, double *out)
{
    predict(stacked, family_variant_at, family, severity, out);
}

static double best_value(const struct good_unit *good, size_t curve)
{
    return curve == GOOD_HEAD ? good->best_head_m : curve == GOOD_POWER ? good->best_power_w : good->best_current_a;
}

/* A vector from a change of each curve at a flow; the voltage stays. */
typedef double (*change_at)(const struct good_unit *good, const void *what, size_t curve, double flow_m3s);

static void stack_change(const struct stacked *stacked, change_at change, const void *what, double *out)
{
    size_t n = 0;
    for (size_t i = 0; i < stacked->point_count; i++) {
        for (size_t c = 0; c < CURVES; c++) {
            if (stacked->read[i][c]) {
                out[n++] = change(&stacked->good, what, c, stacked->flow_m3s[i]);
            }
        }
    }
    if (stacked->voltage_read) {
        out[n] = 0.0;
    }
}

static double smooth_change(const struct good_unit *good, const void *what, size_t curve, double flow_m3s)
{
    const struct smooth *way = what;
    double q = flow_m3s / good->reference->best_flow_m3s, follows = 1.0;
    if (way->curve == GOOD_POWER && curve == GOOD_CURRENT) {
        follows = current_follows;
    } else if ((size_t)way->curve != curve) {
        return 0.0;
    }
    switch (way->shape) {
    case SHAPE_TILT: return follows * best_value(good, curve) * (q - 0.6);
    case SHAPE_BOW: return follows * best_value(good, curve) * (4.0 * (q - 0.6) * (q - 0.6) - 0.5);
    default: return follows * node_curve_at(&good->curve[curve], flow_m3s, NULL);
    }
}

static double spread_change(const struct good_unit *good, const void *what, size_t curve, double flow_m3s)
{
    (void)good;
    return node_curve_at((const struct node_curve *)what + curve, flow_m3s, NULL);
}

static double level_change(const struct good_unit *good, const void *what, size_t curve, double flow_m3s)
{
    return curve == *(const size_t *)what ? node_curve_at(&good->curve[curve], flow_m3s, NULL) : 0.0;
}

static double offset_change(const struct good_unit *good, const void *what, size_t curve, double flow_m3s)
{
    (void)good, (void)what, (void)flow_m3s;
    return curve == GOOD_HEAD ? 1.0 : 0.0;
}

static double flow_change(const struct good_unit *good, const void *what, size_t curve, double flow_m3s)
{
    double slope;
    (void)what;
    (void)node_curve_at(&good->curve[curve], flow_m3s, &slope);
    return slope * flow_m3s;
}

/* Adds deviation^2 v v'. */
static void add_outer(double covariance[][EVIDENCE_MAX], size_t count, const double *v, double deviation)
{
    for (size_t i = 0; i < count; i++) {
        double row = deviation * deviation * v[i];
        for (size_t j = 0; j <= i; j++) {
            covariance[i][j] += row * v[j];
        }
    }
}

/* From unit to unit: the learned spread and the standing one, by how many units are known; a day's mean has less of it,
 * and the reference's own mean is known from so many units only. */
static void add_units(const struct causes_case *of, const struct stacked *stacked, double covariance[][EVIDENCE_MAX])
{
    const struct reference_curves *curves = &of->reference->curves;
    double v[EVIDENCE_MAX], units = curves->units,
                            learned = curves->spread_count > 0 ? units / (units + standing_units) : 0.0;
    double few = units > 0.0 ? 1.0 + widening / units : 1.0;
    double mean = 1.0 / of->units + (units > 0.0 ? 1.0 / units : of->units > 1.0 ? 1.0 : 0.0);
    for (size_t s = 0; s < curves->spread_count; s++) {
        struct node_curve spread[CURVES];
        for (size_t c = 0; c < CURVES; c++) {
            node_curve_make(curves->flow_m3s, curves->spread[s].of[c], curves->node_count, &spread[c]);
        }
        stack_change(stacked, spread_change, spread, v);
        add_outer(covariance, stacked->count, v, sqrt(learned * few * mean));
    }
    for (size_t s = 0; s < SMOOTH_COUNT; s++) {
        stack_change(stacked, smooth_change, &smooth[s], v);
        double deviation = units > 0.0 ? smooth[s].known_units : smooth[s].guarantee;
        add_outer(covariance, stacked->count, v, deviation * sqrt((1.0 - learned) * few * mean));
    }
}

static void add_instruments(const struct causes_case *of, const struct stacked *stacked,
                            double covariance[][EVIDENCE_MAX])
{
    double v[EVIDENCE_MAX];
    for (size_t c = 0; c < CURVES; c++) {
        stack_change(stacked, level_change, &c, v);
        add_outer(covariance, stacked->count, v, of->instruments.of[c]);
    }
    stack_change(stacked, offset_change, NULL, v);
    add_outer(covariance, stacked->count, v, of->instruments.head_offset_m);
    stack_change(stacked, flow_change, NULL, v);
    add_outer(covariance, stacked->count, v, of->instruments.flow);
}

/* The supply: current goes against the voltage. */
static void add_supply(const struct stacked *stacked, double covariance[][EVIDENCE_MAX])
{
    static const size_t current = GOOD_CURRENT;
    double v[EVIDENCE_MAX];
    stack_change(stacked, level_change, &current, v);
    add_outer(covariance, stacked->count, v, current_besides);
    for (size_t i = 0; i < stacked->count; i++) {
        v[i] *= -current_against;
    }
    if (stacked->voltage_read) {
        size_t last = stacked->count - 1;
        v[last] = 1.0;
        covariance[last][last] += voltage_reading * voltage_reading;
    }
    add_outer(covariance, stacked->count, v, supply_spread);
}

/* Scatter of one reading: its own, and that of its flow through the slopes of all its curves. */
static void add_scatter(const struct causes_case *of, const struct stacked *stacked, double covariance[][EVIDENCE_MAX])
{
    size_t n = 0;
    for (size_t i = 0; i < stacked->point_count; i++) {
        const struct causes_reading *reading = &of->readings[i * of->reading_count / stacked->point_count];
        size_t first = n;
        double v[EVIDENCE_MAX] = {0};
        for (size_t c = 0; c < CURVES; c++) {
            if (stacked->read[i][c]) {
                const struct node_curve *curve = &stacked->good.curve[c];
                double deviation = fmax(reading->deviation[c], scatter_least * best_value(&stacked->good, c));
                double doubt = node_curve_doubt(curve, reached_further * reading->flow_m3s);
                (void)node_curve_at(curve, reading->flow_m3s, &v[n]);
                covariance[n][n] += deviation * deviation + doubt * doubt;
                n++;
            }
        }
        for (size_t a = first; a < n; a++) {
            for (size_t b = first; b <= a; b++) {
                covariance[a][b] += v[a] * v[b] * reading->flow_deviation_m3s * reading->flow_deviation_m3s;
            }
        }
    }
}

static void stack_broad(struct stacked *stacked)
{
    for (size_t s = 0; s < SMOOTH_COUNT; s++) {
        double *v = stacked->broad[stacked->broad_count++];
        stack_change(stacked, smooth_change, &smooth[s], v);
        for (size_t i = 0; i < stacked->count; i++) {
            v[i] *= smooth[s].unknown_fault;
        }
    }
}

bool stacked_make(const struct causes_case *of, struct stacked *stacked)
{
    double covariance[EVIDENCE_MAX][EVIDENCE_MAX] = {0}, highest = 0.0;
    *stacked = (struct stacked){0};
    const struct model_reference *reference = of->reference;
    if (reference == NULL || reference->curves.node_count < REFERENCE_NODES_MIN || !(reference->best_flow_m3s > 0.0) ||
        stack_points(of, stacked) < 3) {
        return false;
    }
    for (size_t i = 0; i < stacked->point_count; i++) {
        highest = fmax(highest, stacked->flow_m3s[i]);
    }
    good_unit_make(reference, fmax(highest, 0.1 * reference->best_flow_m3s), &stacked->good);
    stacked_predict(stacked, FAMILY_NONE, 0.0, stacked->healthy);
    add_units(of, stacked, covariance);
    add_instruments(of, stacked, covariance);
    add_supply(stacked, covariance);
    add_scatter(of, stacked, covariance);
    stack_broad(stacked);
    return whitener_make((const double(*)[EVIDENCE_MAX])covariance, stacked->count, &stacked->whitener);
}
