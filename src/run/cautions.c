/* Cautions about a test. Each function looks at one thing and adds at most a few notes. Figures without a named
 * standard are common practice, no source. */
#include "run/cautions.h"

#include "papers/figures.h"
#include "run/caution_parts.h"
#include "run/caution_power.h"

#include <math.h>
#include <string.h>

enum { ADVISED_POINTS = 5 };

/* common practice, no source */
static const double voltage_unbalance_high = 0.03, current_unbalance_high = 0.10;
/* "Clear cold water" of ISO 9906:2012 (from memory, confirm). */
static const double clear_cold_water_c = 40.0;

void point_list_add(struct point_list *list, const struct point *point)
{
    enum { ROOM_FOR_DOTS = 8 };
    size_t room = sizeof list->text - ROOM_FOR_DOTS;
    char number[24];
    int length = snprintf(number, sizeof number, "%s%d", list->count++ > 0 ? ", " : "", point->settled->number);
    if (list->used >= room) {
        return;
    }
    bool fits = length > 0 && list->used + (size_t)length < room;
    list->used +=
        (size_t)snprintf(list->text + list->used, sizeof list->text - list->used, "%s", fits ? number : ", ...");
    list->used = fits ? list->used : room;
}

struct point_list points_where(const struct result *result, point_test *test)
{
    struct point_list list = {0};
    for (size_t i = 0; i < result->point_count; i++) {
        if (test(result, &result->points[i])) {
            point_list_add(&list, &result->points[i]);
        }
    }
    return list;
}

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
                "frequency more than 1 %% from rated at point %s: "
                "the affinity laws by frequency hold within 1 %% (ISO 9906:2012, from memory, confirm)");
    NOTE_POINTS(result, arena, NOTE_CAUTION, off_voltage,
                "voltage more than 5 %% from rated at point %s (ISO 9906:2012, from memory, confirm)");
    NOTE_POINTS(result, arena, NOTE_CAUTION, unbalanced_voltage,
                "voltage unbalance above 3 %% at point %s (common practice, no source)");
    NOTE_POINTS(result, arena, NOTE_CAUTION, unbalanced_current,
                "current unbalance above 10 %% at point %s (common practice, no source)");
    return OK;
}

static bool swings(const struct result *result, const struct point *point)
{
    (void)result;
    return !point->fluctuation.within;
}

static bool spreads(const struct result *result, const struct point *point)
{
    (void)result;
    return !point->spread.within;
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
    NOTE_POINTS(
        result, arena, NOTE_CAUTION, spreads,
        "repeated readings differ by more than the permissible spread of the grade at point %s (ISO 9906, from memory, "
        "confirm)");
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
        struct point_list list = {0};
        for (size_t j = 0; first && j < result->point_count; j++) {
            const char *other = reason_of(&result->points[j]);
            if (other != NULL && strcmp(other, reason) == 0) {
                first = j >= i;
                point_list_add(&list, &result->points[j]);
            }
        }
        if (first && note_add(&result->notes, arena, NOTE_INPUT, "point %s: %s", list.text, reason) != OK) {
            return E_MEMORY;
        }
    }
    return OK;
}

static const char *reason_flow(const struct point *point)
{
    return point->remarks.flow;
}

static const char *reason_zero(const struct point *point)
{
    return point->remarks.zero;
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
    const char *(*const all[])(const struct point *) = {reason_flow,  reason_zero,  reason_head,
                                                        reason_power, reason_shaft, reason_rated};
    for (size_t i = 0; i < sizeof all / sizeof all[0]; i++) {
        if (reasons(result, arena, all[i]) != OK) {
            return E_MEMORY;
        }
    }
    return OK;
}

static const struct flow_limit *limit_like(const struct flow_limits *limits, const struct flow_limit *like)
{
    for (size_t k = 0; k < limits->count; k++) {
        if (strcmp(limits->items[k].name, like->name) == 0 && limits->items[k].above == like->above) {
            return &limits->items[k];
        }
    }
    return NULL;
}

static bool flows(const struct result *result, const struct point *point)
{
    (void)result;
    return point->as_tested.flow_m3s.known && point->as_tested.flow_m3s.value > 0.0;
}

/* One limit that is passed at point `first` and not before: one note for all points that pass it, which are named
 * unless it is one value at all of them, as of a bore. */
static enum status flow_limit_note(struct result *result, struct arena *arena, size_t first,
                                   const struct flow_limit *limit)
{
    struct flow_limit lowest = *limit;
    struct point_list list = {0};
    double highest = limit->value;
    for (size_t i = 0; i < result->point_count; i++) {
        const struct flow_limit *other = limit_like(&result->points[i].remarks.flow_limits, limit);
        if (other == NULL) {
            continue;
        }
        if (i < first) {
            return OK;
        }
        lowest.value = fmin(lowest.value, other->value);
        highest = fmax(highest, other->value);
        point_list_add(&list, &result->points[i]);
    }
    char text[FLOW_LIMIT_TEXT];
    (void)flow_limit_text(&lowest, highest, text);
    bool of_the_rig = list.count == points_where(result, flows).count && !(highest > lowest.value);
    return note_add(&result->notes, arena, NOTE_CAUTION, "flow device%s%s: %s", of_the_rig ? "" : ", point ",
                    of_the_rig ? "" : list.text, text);
}

static enum status flow_device(struct result *result, struct arena *arena)
{
    for (size_t i = 0; i < result->point_count; i++) {
        const struct flow_limits *limits = &result->points[i].remarks.flow_limits;
        for (size_t k = 0; k < limits->count; k++) {
            if (flow_limit_note(result, arena, i, &limits->items[k]) != OK) {
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
    if (!curves->of[CURVE_HEAD].known) {
        return OK;
    }
    if (curve_rises(&curves->of[CURVE_HEAD], &to_m3s) &&
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
    if (outliers_of(result, arena, &curves->of[CURVE_HEAD], "head") != OK) {
        return E_MEMORY;
    }
    return outliers_of(result, arena, &curves->of[CURVE_INPUT_POWER], "input power");
}

static enum status ranges(struct result *result, struct arena *arena)
{
    for (int channel = 0; channel < CHANNEL_COUNT; channel++) {
        size_t outside = result->log.below_range[channel] + result->log.above_range[channel];
        const struct instrument *instrument = outside > 0 ? bay_instrument(result->bay, (enum channel)channel) : NULL;
        if (instrument != NULL && note_add(&result->notes, arena, NOTE_INPUT,
                                           "%s: %zu reading%s outside the instrument's range (serial %.40s)",
                                           channel_info((enum channel)channel)->name, outside, outside == 1 ? "" : "s",
                                           instrument->serial[0] != '\0' ? instrument->serial : "not stated") != OK) {
            return E_MEMORY;
        }
    }
    return OK;
}

static enum status calibrations(struct result *result, struct arena *arena)
{
    char due[FIGURE_TEXT], tested[FIGURE_TEXT];
    for (size_t i = 0; i < result->bay->instrument_count; i++) {
        const struct instrument *instrument = &result->bay->instruments[i];
        bool overdue = result_uses_instrument(result, instrument) && instrument->due.known && result->tested.known &&
                       date_compare_days(&result->tested, &instrument->due) > 0;
        if (overdue && note_add(&result->notes, arena, NOTE_CAUTION,
                                "calibration overdue: %s, serial %.40s, was due %s, tested %s",
                                channel_info(instrument->channel)->name, instrument->serial,
                                figure_date(&instrument->due, due), figure_date(&result->tested, tested)) != OK) {
            return E_MEMORY;
        }
        bool later = result_uses_instrument(result, instrument) && calibrated_after(result, instrument);
        if (later && note_add(&result->notes, arena, NOTE_CAUTION,
                              "calibration dated after the test: %s, serial %.40s, calibrated %s, tested %s",
                              channel_info(instrument->channel)->name, instrument->serial,
                              figure_date(&instrument->calibrated, due), figure_date(&result->tested, tested)) != OK) {
            return E_MEMORY;
        }
    }
    return OK;
}

/* What a set that failed a test of its insulation or its pressure-tightness asks of whoever goes near it. */
static enum status do_not_energise(struct result *result, struct arena *arena)
{
    bool unsafe = false;
    for (size_t i = 0; i < result->routine.check_count; i++) {
        const struct routine_check *check = &result->routine.checks[i];
        unsafe = unsafe || (check->safety && check->limited && check->verdict == VERDICT_FAIL);
    }
    if (!unsafe) {
        return OK;
    }
    return note_add(&result->notes, arena, NOTE_CAUTION,
                    "do not energise this set: it failed a safety test; "
                    "isolate and lock off the supply, discharge the windings, let the pressure down, "
                    "and leave further work to a licensed electrician by the local code");
}

static enum status routine(struct result *result, struct arena *arena)
{
    const struct routine_result *routine = &result->routine;
    if (result->bay->routine_count > 0 && routine->row == NULL) {
        return note_add(&result->notes, arena, NOTE_INPUT, "routine.csv has no row for serial '%.60s'", result->serial);
    }
    if (routine->rows > 1 && note_add(&result->notes, arena, NOTE_INPUT,
                                      "routine.csv has %zu rows for this serial: the latest, on line %zu, counts",
                                      routine->rows, routine->row->line) != OK) {
        return E_MEMORY;
    }
    for (size_t i = 0; i < routine->check_count; i++) {
        const struct routine_check *check = &routine->checks[i];
        if (check->limited && check->verdict == VERDICT_FAIL &&
            note_add(&result->notes, arena, NOTE_CAUTION, "routine results fail: %s%s%s", check->name,
                     check->reason != NULL ? ", " : "", check->reason != NULL ? check->reason : "") != OK) {
            return E_MEMORY;
        }
    }
    return do_not_energise(result, arena);
}

static enum status site(struct result *result, struct arena *arena)
{
    if (!result->site.gravity_assumed) {
        return OK;
    }
    return note_add(&result->notes, arena, NOTE_CAUTION,
                    "rig.csv states no site latitude: standard gravity 9.80665 m/s² is used");
}

/* Names what uncertainty left out for want of a stated accuracy. */
static enum status accuracies(struct result *result, struct arena *arena)
{
    const char *list = "";
    for (int c = 0; c < CHANNEL_COUNT; c++) {
        if ((result->certainty.missing >> c & 1U) != 0) {
            list = arena_format(arena, "%s%s%s", list, *list != '\0' ? ", " : "", channel_info((enum channel)c)->name);
            if (list == NULL) {
                return E_MEMORY;
            }
        }
    }
    return *list == '\0' ? OK
                         : note_add(&result->notes, arena, NOTE_INPUT,
                                    "uncertainty: instruments.csv states no accuracy for %s", list);
}

/* A bay that is not good enough for the grade that it judges by. */
static enum status class_limits(struct result *result, struct arena *arena)
{
    static const char *const names[] = {"flow", "head", "input power"};
    const struct grade *grade = result->model->duties[0].grade;
    const struct grade_class *limits = grade != NULL ? grade_class_of(&result->bay->grades, grade) : NULL;
    for (size_t i = 0; limits != NULL && i < result->certainty.excess_count; i++) {
        const struct class_excess *excess = &result->certainty.excesses[i];
        enum status status =
            excess->instruments
                ? note_add(&result->notes, arena, NOTE_CAUTION,
                           "instruments for %s are not good enough for grade %s: %.2f %% near the duty point, "
                           "permitted %.2f %% (%s)",
                           names[excess->quantity], grade->name, 100.0 * excess->found, 100.0 * excess->permitted,
                           limits->systematic_source)
                : note_add(&result->notes, arena, NOTE_CAUTION,
                           "uncertainty of %s is too large for grade %s: %.2f %% near the duty point, "
                           "permitted %.2f %% (%s)",
                           names[excess->quantity], grade->name, 100.0 * excess->found, 100.0 * excess->permitted,
                           limits->overall_source);
        if (status != OK) {
            return E_MEMORY;
        }
    }
    return OK;
}

/* Values that a set may give, but hardly does: one caution an item, with its points. Common practice, no source. */
static enum status doubtful(struct result *result, struct arena *arena)
{
    for (int item = 0; item < PLAUSIBLE_COUNT; item++) {
        struct point_list list = {0};
        bool curve = false;
        for (size_t i = 0; i < result->doubtful.count; i++) {
            const struct odd_value *odd = &result->doubtful.items[i];
            for (size_t k = 0; odd->item == (enum plausible_item)item && k < result->point_count; k++) {
                if (result->points[k].settled->number == odd->point) {
                    point_list_add(&list, &result->points[k]);
                }
            }
            curve = curve || (odd->item == (enum plausible_item)item && odd->point == 0);
        }
        if ((curve || list.count > 0) && item != PLAUSIBLE_INSTRUMENT &&
            note_add(&result->notes, arena, NOTE_CAUTION,
                     "%s is doubtful at %s%s: "
                     "few sets give so much, check units, signs and ratios first (common practice, no source)",
                     plausible_name((enum plausible_item)item), curve ? "the best point" : "point ",
                     curve ? "" : list.text) != OK) {
            return E_MEMORY;
        }
    }
    return OK;
}

/* Bad samples of a record, and what was done with them. */
static enum status defects(struct result *result, struct arena *arena)
{
    return log_defects_note(&result->log, arena, &result->notes);
}

enum status cautions_add(struct result *result, struct arena *arena)
{
    enum status (*const all[])(struct result *, struct arena *) = {
        accuracies,         class_limits, calibrations, ranges,      defects,  supply,
        steadiness,         placing,      curve_shape,  flow_device, absences, routine,
        power_cautions_add, doubtful,     site};
    for (size_t i = 0; i < sizeof all / sizeof all[0]; i++) {
        if (all[i](result, arena) != OK) {
            return E_MEMORY;
        }
    }
    return OK;
}
