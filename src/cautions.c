/* Cautions about a test. Each function looks at one thing and adds at most a few notes. Figures without a named
 * standard are common practice, no source. */
#include "dutyproof/figures.h"
#include "dutyproof/remarks.h"

#include <math.h>
#include <string.h>

enum { ADVISED_POINTS = 5, POINT_LIST = 96 };

/* common practice, no source */
static const double power_factor_low = 0.3, voltage_unbalance_high = 0.03, current_unbalance_high = 0.10,
                    set_efficiency_high = 0.75;
/* "Clear cold water" of ISO 9906:2012 (from memory, confirm). */
static const double clear_cold_water_c = 40.0;

typedef bool point_test(const struct result *result, const struct point *point);

/* The numbers of the points for which a test holds, as "2, 3, 5"; "" when there is none. */
static const char *points_where(const struct result *result, point_test *test, char list[POINT_LIST])
{
    size_t used = 0;
    list[0] = '\0';
    for (size_t i = 0; i < result->point_count; i++) {
        if (!test(result, &result->points[i])) {
            continue;
        }
        int length =
            snprintf(list + used, POINT_LIST - used, "%s%d", used > 0 ? ", " : "", result->points[i].settled->number);
        if (length < 0 || used + (size_t)length >= POINT_LIST - 8) {
            (void)snprintf(list + used, POINT_LIST - used, ", ...");
            break;
        }
        used += (size_t)length;
    }
    return list;
}

/* Adds a note that names the points for which a test holds; fmt takes the list. */
#define NOTE_POINTS(result, arena, kind, test, fmt)                                                                    \
    do {                                                                                                               \
        char list_[POINT_LIST];                                                                                        \
        if (points_where(result, test, list_)[0] != '\0' &&                                                            \
            note_add(&(result)->notes, arena, kind, fmt, list_) != OK) {                                               \
            return E_MEMORY;                                                                                           \
        }                                                                                                              \
    } while (0)

static bool off_frequency(const struct result *result, const struct point *point)
{
    struct quantity f = point->as_tested.frequency_hz, rated = result->model->rated_frequency_hz;
    return f.known && rated.known && fabs(f.value / rated.value - 1.0) > FREQUENCY_DEVIATION;
}

static bool off_voltage(const struct result *result, const struct point *point)
{
    struct quantity v = point->as_tested.voltage_v, rated = result->model->rated_voltage_v;
    return v.known && rated.known && fabs(v.value / rated.value - 1.0) > VOLTAGE_DEVIATION;
}

static bool unbalanced_voltage(const struct result *result, const struct point *point)
{
    (void)result;
    struct quantity unbalance = point->as_tested.voltage_unbalance;
    return unbalance.known && unbalance.value > voltage_unbalance_high;
}

static bool unbalanced_current(const struct result *result, const struct point *point)
{
    (void)result;
    struct quantity unbalance = point->as_tested.current_unbalance;
    return unbalance.known && unbalance.value > current_unbalance_high;
}

static enum status supply(struct result *result, struct arena *arena)
{
    NOTE_POINTS(result, arena, NOTE_CAUTION, off_frequency,
                "frequency more than 1 %% from rated at point %s: the affinity laws by frequency hold within 1 %% "
                "(ISO 9906:2012, from memory, confirm)");
    NOTE_POINTS(result, arena, NOTE_CAUTION, off_voltage,
                "voltage more than 5 %% from rated at point %s (ISO 9906:2012, from memory, confirm)");
    NOTE_POINTS(result, arena, NOTE_CAUTION, unbalanced_voltage,
                "voltage unbalance above 3 %% at point %s (common practice, no source)");
    NOTE_POINTS(result, arena, NOTE_CAUTION, unbalanced_current,
                "current unbalance above 10 %% at point %s (common practice, no source)");
    return OK;
}

static bool power_factor_above_one(const struct result *result, const struct point *point)
{
    (void)result;
    return point->as_tested.power_factor.known && point->as_tested.power_factor.value > 1.0;
}

static bool power_factor_too_low(const struct result *result, const struct point *point)
{
    (void)result;
    return point->as_tested.power_factor.known && point->as_tested.power_factor.value < power_factor_low;
}

static bool efficiency_too_high(const struct result *result, const struct point *point)
{
    (void)result;
    struct quantity set = point->as_tested.set_efficiency, pump = point->as_tested.pump_efficiency;
    return (set.known && set.value > set_efficiency_high) || (pump.known && pump.value >= 1.0);
}

static enum status plausibility(struct result *result, struct arena *arena)
{
    NOTE_POINTS(
        result, arena, NOTE_INPUT, power_factor_above_one,
        "power factor above 1 at point %s: look for a forgotten or doubled transformer ratio, or phase voltage taken "
        "for line voltage");
    NOTE_POINTS(
        result, arena, NOTE_INPUT, power_factor_too_low,
        "power factor below 0.3 at point %s: look for a reversed wattmeter lead or a forgotten transformer ratio "
        "(common practice, no source)");
    NOTE_POINTS(
        result, arena, NOTE_INPUT, efficiency_too_high,
        "efficiency higher than such a set can have at point %s: check transformer ratio, meter constant, gauge unit, "
        "pipe bore and flow unit first (common practice, no source)");
    return OK;
}

static bool swings(const struct result *result, const struct point *point)
{
    (void)result;
    return !point->fluctuation.within;
}

static bool unsteady(const struct result *result, const struct point *point)
{
    (void)result;
    return !point->settled->steady;
}

static bool warm(const struct result *result, const struct point *point)
{
    (void)result;
    return point->as_tested.water_temperature_c.known &&
           point->as_tested.water_temperature_c.value > clear_cold_water_c;
}

static enum status steadiness(struct result *result, struct arena *arena)
{
    NOTE_POINTS(result, arena, NOTE_CAUTION, swings,
                "readings swing by more than the permissible amplitude of the grade at point %s");
    NOTE_POINTS(result, arena, NOTE_CAUTION, unsteady, "point %s did not settle and is not fitted");
    NOTE_POINTS(result, arena, NOTE_CAUTION, warm,
                "water above 40 °C at point %s: not clear cold water (ISO 9906:2012, from memory, confirm)");
    return OK;
}

/* Adds each reason of a kind once, with the points it holds for. */
static enum status reasons(struct result *result, struct arena *arena,
                           const char *(*reason_of)(const struct point *point))
{
    for (size_t i = 0; i < result->point_count; i++) {
        const char *reason = reason_of(&result->points[i]);
        bool first = reason != NULL;
        char list[POINT_LIST] = "";
        size_t used = 0;
        for (size_t j = 0; first && j < result->point_count; j++) {
            const char *other = reason_of(&result->points[j]);
            if (other == NULL || strcmp(other, reason) != 0) {
                continue;
            }
            first = j >= i;
            int length = snprintf(list + used, sizeof list - used, "%s%d", used > 0 ? ", " : "",
                                  result->points[j].settled->number);
            used += length > 0 && used + (size_t)length < sizeof list - 8 ? (size_t)length : 0;
            list[used] = '\0';
        }
        if (first && note_add(&result->notes, arena, NOTE_INPUT, "point %s: %s", list, reason) != OK) {
            return E_MEMORY;
        }
    }
    return OK;
}

static const char *reason_flow(const struct point *point)
{
    return point->remarks.flow;
}

static const char *reason_head(const struct point *point)
{
    return point->as_tested.flow_m3s.known ? point->remarks.head : NULL;
}

static const char *reason_power(const struct point *point)
{
    return point->remarks.power;
}

static const char *reason_shaft(const struct point *point)
{
    return point->remarks.shaft;
}

static const char *reason_rated(const struct point *point)
{
    return point->at_rated.translated ? NULL : point->at_rated.why;
}

static enum status absences(struct result *result, struct arena *arena)
{
    const char *(*const all[])(const struct point *) = {reason_flow, reason_head, reason_power, reason_shaft,
                                                        reason_rated};
    for (size_t i = 0; i < sizeof all / sizeof all[0]; i++) {
        if (reasons(result, arena, all[i]) != OK) {
            return E_MEMORY;
        }
    }
    return OK;
}

static enum status flow_device(struct result *result, struct arena *arena)
{
    for (size_t i = 0; i < result->point_count; i++) {
        const struct flow_limits *limits = &result->points[i].remarks.flow_limits;
        for (size_t k = 0; k < limits->count; k++) {
            if (note_add(&result->notes, arena, NOTE_CAUTION, "flow device, point %d: %s",
                         result->points[i].settled->number, limits->text[k]) != OK) {
                return E_MEMORY;
            }
        }
    }
    return OK;
}

static bool fitted_between(const struct result *result, double low_m3s, double high_m3s)
{
    for (size_t i = 0; i < result->point_count; i++) {
        const struct point *point = &result->points[i];
        double flow_m3s = point->at_rated.flow_m3s.value;
        if (point->fitted && flow_m3s >= low_m3s * (1.0 - JUDGE_RESOLUTION) &&
            flow_m3s <= high_m3s * (1.0 + JUDGE_RESOLUTION)) {
            return true;
        }
    }
    return false;
}

/* ISO 9906:2012: five points, one at 95 to 100 % and one at 100 to 105 % of guaranteed flow (from memory, confirm). */
static enum status placing(struct result *result, struct arena *arena)
{
    size_t fitted = 0;
    for (size_t i = 0; i < result->point_count; i++) {
        fitted += result->points[i].fitted ? 1 : 0;
    }
    if (fitted < ADVISED_POINTS &&
        note_add(&result->notes, arena, NOTE_CAUTION,
                 "%zu points could be fitted, fewer than 5 (ISO 9906:2012, from memory, confirm)", fitted) != OK) {
        return E_MEMORY;
    }
    struct quantity flow = result->model->duties[0].flow_m3s;
    if (!flow.known || fitted == 0) {
        return OK;
    }
    bool below = fitted_between(result, 0.95 * flow.value, flow.value);
    bool above = fitted_between(result, flow.value, 1.05 * flow.value);
    if (below && above) {
        return OK;
    }
    return note_add(&result->notes, arena, NOTE_CAUTION,
                    "no point at %s of guaranteed flow (ISO 9906:2012, from memory, confirm)",
                    !below && !above ? "95 to 105 %" : (below ? "100 to 105 %" : "95 to 100 %"));
}

static enum status outliers_of(struct result *result, struct arena *arena, const struct curve *curve, const char *name)
{
    for (size_t i = 0; i < curve->outlier_count; i++) {
        if (note_add(&result->notes, arena, NOTE_CAUTION, "point %d lies off the %s curve (outlier, kept in the fit)",
                     result->points[curve->outliers[i]].settled->number, name) != OK) {
            return E_MEMORY;
        }
    }
    return OK;
}

static enum status curve_shape(struct result *result, struct arena *arena)
{
    const struct curves *curves = &result->curves;
    struct figure_units units = figure_units_of(result->model);
    char text[FIGURE_TEXT];
    double to_m3s;
    if (!curves->head.known) {
        return OK;
    }
    if (curve_rises(&curves->head, &to_m3s) &&
        note_add(&result->notes, arena, NOTE_CAUTION, "the head curve rises with flow up to %s: unstable there",
                 figure_text(FIGURE_FLOW, &units, quantity_of(to_m3s), text)) != OK) {
        return E_MEMORY;
    }
    if (result->best_known && result->best.at_end &&
        note_add(&result->notes, arena, NOTE_CAUTION,
                 "the best efficiency lies at the end of the tested flows, %s: the true one may lie beyond",
                 figure_text(FIGURE_FLOW, &units, quantity_of(result->best.flow_m3s), text)) != OK) {
        return E_MEMORY;
    }
    if (outliers_of(result, arena, &curves->head, "head") != OK) {
        return E_MEMORY;
    }
    return outliers_of(result, arena, &curves->input_power, "input power");
}

static enum status instruments(struct result *result, struct arena *arena)
{
    char due[FIGURE_TEXT], tested[FIGURE_TEXT];
    for (size_t i = 0; i < result->bay->instrument_count; i++) {
        const struct instrument *instrument = &result->bay->instruments[i];
        enum channel channel = instrument->channel;
        const char *name = channel_info(channel)->name;
        if ((result->log.channels >> channel & 1U) == 0) {
            continue;
        }
        size_t outside = result->log.below_range[channel] + result->log.above_range[channel];
        if (outside > 0 && note_add(&result->notes, arena, NOTE_INPUT,
                                    "%s: %zu readings outside the instrument's range (serial %.40s)", name, outside,
                                    instrument->serial) != OK) {
            return E_MEMORY;
        }
        bool overdue =
            instrument->due.known && result->tested.known && date_compare_days(&result->tested, &instrument->due) > 0;
        if (overdue &&
            note_add(&result->notes, arena, NOTE_CAUTION,
                     "calibration overdue: %s, serial %.40s, was due %s, tested %s", name, instrument->serial,
                     figure_date(&instrument->due, due), figure_date(&result->tested, tested)) != OK) {
            return E_MEMORY;
        }
    }
    return OK;
}

static enum status site(struct result *result, struct arena *arena)
{
    if (!result->site.gravity_assumed) {
        return OK;
    }
    return note_add(&result->notes, arena, NOTE_CAUTION,
                    "rig.csv states no site latitude: standard gravity 9.80665 m/s² is used");
}

enum status cautions_add(struct result *result, struct arena *arena)
{
    enum status (*const all[])(struct result *, struct arena *) = {
        instruments, supply, steadiness, placing, curve_shape, flow_device, absences, plausibility, site};
    for (size_t i = 0; i < sizeof all / sizeof all[0]; i++) {
        if (all[i](result, arena) != OK) {
            return E_MEMORY;
        }
    }
    return OK;
}
