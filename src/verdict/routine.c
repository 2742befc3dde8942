#include "verdict/routine.h"

#include "base/text.h"

#include <math.h>
#include <stdarg.h>
#include <string.h>

enum { TENTHS_TEXT = 32 };

/* A number with one decimal, whatever the locale. Returns: out. */
static const char *tenths(double value, char out[TENTHS_TEXT])
{
    long long all = llround(fabs(value) * 10.0);
    (void)snprintf(out, TENTHS_TEXT, "%s%lld.%lld", value < 0.0 && all > 0 ? "-" : "", all / 10, all % 10);
    return out;
}

static const char by_iec[] = "IEC 60034-1 (from memory, confirm)";
/* No-load current follows the voltage steeply: it is judged within this of rated. Common practice, no source. */
static const double no_load_voltage_within = 0.02;
/* degC below zero at which the resistance of copper would vanish if its slope held. */
static const double copper_k = 235.0;
static const double high_voltage_minute_s = 60.0;
static const char no_limit[] = "models.csv states no limit: shown, not judged";

/* The names of a kind's windings. */
static const char *const winding_names[WINDING_KINDS][3] = {
    [WINDINGS_BETWEEN_LINES] = {"ry", "yb", "br"},
    [WINDINGS_OF_PHASES] = {"r", "y", "b"},
    [WINDINGS_SINGLE] = {"main", "auxiliary", ""},
};

/* One row under judgement. */
struct judged_row {
    const struct model *model;
    const struct routine *row;
    struct arena *arena;
    struct routine_result *result;
    bool failed; /* memory ran out */
};

/* --- the formulas --- */

struct quantity winding_at_20c(struct quantity ohm, struct quantity winding_c)
{
    bool known = ohm.known && winding_c.known && winding_c.value >= -30.0 && winding_c.value <= 200.0;
    return known ? quantity_of(ohm.value * (copper_k + 20.0) / (copper_k + winding_c.value)) : quantity_absent();
}

struct quantity rise_by_resistance(struct quantity cold_ohm, struct quantity cold_c, struct quantity hot_ohm,
                                   struct quantity coolant_c)
{
    if (!cold_ohm.known || !(cold_ohm.value > 0.0) || !cold_c.known || !hot_ohm.known || !coolant_c.known) {
        return quantity_absent();
    }
    double warming_k = (hot_ohm.value - cold_ohm.value) / cold_ohm.value * (copper_k + cold_c.value);
    return quantity_of(warming_k + cold_c.value - coolant_c.value);
}

double high_voltage_level(double rated_voltage_v)
{
    return fmax(2.0 * rated_voltage_v + 1000.0, 1500.0);
}

/* --- which row --- */

/* Negative, zero, positive; a date that is not known lies before all others. */
static int compare_dates(const struct date *a, const struct date *b)
{
    if (!a->known || !b->known) {
        return (int)a->known - (int)b->known;
    }
    double a_s = date_seconds(a), b_s = date_seconds(b);
    return a_s < b_s ? -1 : a_s > b_s;
}

const struct routine *routine_of(const struct bay *bay, const char *serial, size_t *rows)
{
    const struct routine *latest = NULL;
    *rows = 0;
    for (size_t i = 0; i < bay->routine_count; i++) {
        const struct routine *row = &bay->routines[i];
        if (strcmp(row->serial, serial) == 0) {
            latest = latest == NULL || compare_dates(&row->tested, &latest->tested) >= 0 ? row : latest;
            ++*rows;
        }
    }
    return latest;
}

/* --- checks --- */

static const char *say(struct judged_row *judged, const char *fmt, ...) PRINTF_LIKE(2, 3);

static const char *say(struct judged_row *judged, const char *fmt, ...)
{
    char text[400];
    va_list args;
    va_start(args, fmt);
    int length = vsnprintf(text, sizeof text, fmt, args);
    va_end(args);
    const char *kept = length < 0 ? NULL : arena_text(judged->arena, text, strlen(text));
    judged->failed = judged->failed || kept == NULL;
    return kept != NULL ? kept : "";
}

/* The unit of a dimension that makes a number neither long nor small. */
static const struct unit *unit_for(enum dimension dimension, struct quantity size)
{
    static const struct unit plain = {.name = "", .dimension = DIM_NONE, .factor = 1.0};
    double ohm = quantity_or(size, 1.0);
    const char *name = dimension == DIM_VOLTAGE    ? "V"
                       : dimension == DIM_CURRENT  ? "A"
                       : dimension == DIM_POWER    ? "W"
                       : dimension == DIM_PRESSURE ? "bar"
                       : dimension == DIM_RATIO    ? "%"
                       : ohm < 0.1                 ? "mΩ"
                       : ohm < 1e4                 ? "Ω"
                                                   : "MΩ";
    const struct unit *unit = unit_find(dimension, name);
    return unit != NULL ? unit : &plain;
}

/* A number of a detail, to four digits, with its unit. */
static const char *figure(struct judged_row *judged, enum dimension dimension, struct quantity si)
{
    const struct unit *unit = unit_for(dimension, si);
    char number[48];
    return say(judged, "%s %s", number_format(unit_from_si(unit, si.value), 4, number, sizeof number), unit->name);
}

/* "; held, 60 s": what came of a test, and how long it took, of what is recorded. */
static const char *outcome(struct judged_row *judged, enum routine_outcome outcome, const char *held,
                           const char *failed, struct quantity time_s)
{
    const char *word = outcome == OUTCOME_HELD ? held : outcome == OUTCOME_FAILED ? failed : "result not recorded";
    return time_s.known ? say(judged, "%s, %.4g s", word, time_s.value) : word;
}

/* Adds a check, judged by its numbers unless it is decided already (limited) or says why it is not to be (reason). What
 * was neither recorded nor asked for is left out. */
static void add(struct judged_row *judged, struct routine_check check)
{
    bool stated = check.limit_low.known || check.limit_high.known;
    check.detail = check.detail == NULL ? "" : check.detail;
    check.source = check.source == NULL ? "" : check.source;
    if (!stated && !check.value.known && !check.limited && *check.detail == '\0') {
        return;
    }
    if (!check.limited) {
        check.limited = stated;
        check.verdict = VERDICT_NOT_JUDGED;
        if (check.reason == NULL && stated && check.value.known) {
            double value = check.value.value;
            bool low = check.limit_low.known && !(value >= check.limit_low.value * (1.0 - JUDGE_RESOLUTION));
            bool high = check.limit_high.known && !(value <= check.limit_high.value * (1.0 + JUDGE_RESOLUTION));
            check.verdict = low || high ? VERDICT_FAIL : VERDICT_PASS;
        } else if (check.reason == NULL) {
            check.reason = stated ? "not recorded" : no_limit;
        }
    }
    judged->result->checks[judged->result->check_count++] = check;
}

/* "ry 1.204, yb 1.207, br 1.201 Ω". */
static const char *windings_text(struct judged_row *judged, const struct quantity ohm[3])
{
    const char *text = "";
    const struct unit *unit = NULL;
    for (int i = 0; i < 3; i++) {
        if (!ohm[i].known) {
            continue;
        }
        unit = unit == NULL ? unit_for(DIM_RESISTANCE, ohm[i]) : unit;
        char number[48];
        text = say(judged, "%s%s%s %s", text, *text == '\0' ? "" : ", ", winding_names[judged->row->winding_kind][i],
                   number_format(unit_from_si(unit, ohm[i].value), 4, number, sizeof number));
    }
    return unit == NULL ? "" : say(judged, "%s %s", text, unit->name);
}

/* Mean, least and greatest of a kind's windings; of a single-phase motor the main winding alone. */
struct winding_range {
    bool all; /* all three, or the main one, are known */
    struct quantity mean;
    double least, greatest;
};

static struct winding_range range_of(const struct routine *row, const struct quantity ohm[3])
{
    int count = row->winding_kind == WINDINGS_SINGLE ? 1 : 3;
    struct winding_range range = {.all = true, .least = INFINITY, .greatest = -INFINITY};
    double sum = 0.0;
    for (int i = 0; i < count; i++) {
        range.all = range.all && ohm[i].known;
        sum += ohm[i].value;
        range.least = fmin(range.least, ohm[i].value);
        range.greatest = fmax(range.greatest, ohm[i].value);
    }
    range.mean = range.all ? quantity_of(sum / count) : quantity_absent();
    return range;
}

/* Each winding must lie within the limits; the number shown is the mean, or that of a winding outside them. */
static void judge_winding(struct judged_row *judged)
{
    char celsius[TENTHS_TEXT];
    const struct model *model = judged->model;
    const struct routine *row = judged->row;
    struct winding_range range = range_of(row, row->winding_ohm);
    struct routine_check check = {.name = "winding at 20 °C",
                                  .value = winding_at_20c(range.mean, row->winding_c),
                                  .limit_low = model->winding_20c_low_ohm,
                                  .limit_high = model->winding_20c_high_ohm,
                                  .source = by_iec};
    const char *readings = windings_text(judged, row->winding_ohm);
    check.unit = unit_for(DIM_RESISTANCE, check.value);
    check.detail = *readings != '\0' && row->winding_c.known
                       ? say(judged, "%s at %s °C", readings, tenths(row->winding_c.value, celsius))
                       : readings;
    if (!check.value.known && *readings != '\0') {
        check.reason = range.all ? "the temperature of the winding is not recorded" : "a winding is not recorded";
    } else if (check.value.known && (check.limit_low.known || check.limit_high.known)) {
        double scale = check.value.value / range.mean.value;
        bool low = range.least * scale < quantity_or(check.limit_low, -INFINITY) * (1.0 - JUDGE_RESOLUTION);
        bool high = range.greatest * scale > quantity_or(check.limit_high, INFINITY) * (1.0 + JUDGE_RESOLUTION);
        check.limited = true;
        check.verdict = low || high ? VERDICT_FAIL : VERDICT_PASS;
        if (low || high) {
            check.value = quantity_of((low ? range.least : range.greatest) * scale);
        }
    }
    add(judged, check);
}

static void judge_imbalance(struct judged_row *judged)
{
    const struct routine *row = judged->row;
    struct winding_range range = range_of(row, row->winding_ohm);
    struct routine_check check = {.name = "winding imbalance", .limit_high = judged->model->winding_imbalance_max};
    if (row->winding_kind != WINDINGS_SINGLE && range.all) {
        double mean = range.mean.value;
        check.value = quantity_of(fmax(range.greatest - mean, mean - range.least) / mean);
    } else if (row->winding_kind == WINDINGS_SINGLE) {
        check.reason = "the windings of a single-phase motor are not alike";
    }
    check.unit = unit_for(DIM_RATIO, check.value);
    add(judged, check);
}

/* Of the windings that were measured cold and hot, taken together. A heat run is made on samples: without hot values
 * there is nothing to judge. */
static void judge_rise(struct judged_row *judged)
{
    char celsius[TENTHS_TEXT];
    static const struct unit kelvin = {.name = "K", .dimension = DIM_NONE, .factor = 1.0};
    const struct routine *row = judged->row;
    struct quantity cold_ohm = {0}, hot_ohm = {0};
    for (int i = 0; i < (row->winding_kind == WINDINGS_SINGLE ? 1 : 3); i++) {
        if (row->winding_ohm[i].known && row->hot_winding_ohm[i].known) {
            cold_ohm = quantity_of(cold_ohm.value + row->winding_ohm[i].value);
            hot_ohm = quantity_of(hot_ohm.value + row->hot_winding_ohm[i].value);
        }
    }
    struct routine_check check = {.name = "rise by resistance",
                                  .unit = &kelvin,
                                  .value = rise_by_resistance(cold_ohm, row->winding_c, hot_ohm, row->coolant_c),
                                  .limit_high = judged->model->temperature_rise_max_k,
                                  .source = by_iec};
    if (!hot_ohm.known) {
        return;
    }
    check.detail = say(judged, "hot %s", windings_text(judged, row->hot_winding_ohm));
    if (check.value.known) {
        check.detail = say(judged, "%s, coolant %s °C", check.detail, tenths(row->coolant_c.value, celsius));
    } else {
        check.reason = "the temperature of the cold winding or of the coolant is not recorded";
    }
    add(judged, check);
}

static void judge_insulation(struct judged_row *judged)
{
    struct routine_check check = {.name = "insulation resistance",
                                  .safety = true,
                                  .value = judged->row->insulation_ohm,
                                  .limit_low = judged->model->insulation_min_ohm};
    check.unit = unit_for(DIM_RESISTANCE, quantity_of(1e6)); /* always in megohms */
    add(judged, check);
}

/* A breakdown or a leak fails whatever is stated; a test whose result was not written down is none. */
static void settle_outcome(struct routine_check *check, enum routine_outcome outcome, const char *failed)
{
    if (outcome == OUTCOME_FAILED) {
        check->limited = true;
        check->verdict = VERDICT_FAIL;
        check->reason = failed;
    } else if (outcome == OUTCOME_NOT_STATED && check->value.known && check->limit_low.known) {
        check->limited = true;
        check->verdict = VERDICT_NOT_JUDGED;
        check->reason = "its result is not recorded";
    }
}

static void judge_high_voltage(struct judged_row *judged)
{
    const struct routine *row = judged->row;
    struct quantity rated_v = judged->model->rated_voltage_v;
    struct routine_check check = {.name = "high-voltage test",
                                  .safety = true,
                                  .value = row->high_voltage_v,
                                  .limit_low = judged->model->high_voltage_v};
    check.unit = unit_for(DIM_VOLTAGE, check.value);
    if (check.value.known || row->high_voltage_outcome != OUTCOME_NOT_STATED) {
        check.detail = outcome(judged, row->high_voltage_outcome, "withstood", "broke down", row->high_voltage_s);
        if (row->high_voltage_s.known && row->high_voltage_s.value < high_voltage_minute_s) {
            check.detail = say(judged, "%s (shorter than 1 min)", check.detail);
        }
    }
    if (check.value.known && !check.limit_low.known && rated_v.known) {
        check.detail = say(judged, "%s; for comparison: %.0f V, which is 2 U + 1000 V and at least 1500 V (%s)",
                           check.detail, high_voltage_level(rated_v.value), by_iec);
    }
    settle_outcome(&check, row->high_voltage_outcome, "the winding broke down");
    add(judged, check);
}

static void judge_no_load(struct judged_row *judged)
{
    const struct model *model = judged->model;
    const struct routine *row = judged->row;
    const char *at = row->no_load_v.known ? say(judged, "at %s", figure(judged, DIM_VOLTAGE, row->no_load_v)) : "";
    bool off = row->no_load_v.known && model->rated_voltage_v.known &&
               !(fabs(row->no_load_v.value / model->rated_voltage_v.value - 1.0) <=
                 no_load_voltage_within * (1.0 + JUDGE_RESOLUTION));
    const char *reason = off ? "the voltage was more than 2 % from rated (common practice, no source)" : NULL;
    add(judged, (struct routine_check){.name = "no-load current",
                                       .unit = unit_for(DIM_CURRENT, row->no_load_a),
                                       .value = row->no_load_a,
                                       .limit_high = model->no_load_current_max_a,
                                       .reason = row->no_load_a.known ? reason : NULL,
                                       .detail = row->no_load_a.known ? at : ""});
    add(judged, (struct routine_check){.name = "no-load power",
                                       .unit = unit_for(DIM_POWER, row->no_load_w),
                                       .value = row->no_load_w,
                                       .limit_high = model->no_load_power_max_w,
                                       .reason = row->no_load_w.known ? reason : NULL,
                                       .detail = row->no_load_w.known ? at : ""});
}

/* The limit is of the current at rated voltage; the test is made at a lower one, to which current is taken in
 * proportion. */
static void judge_locked_rotor(struct judged_row *judged)
{
    const struct model *model = judged->model;
    const struct routine *row = judged->row;
    struct quantity rated_v = model->rated_voltage_v, current_a = row->locked_rotor_a;
    bool scaled = current_a.known && row->locked_rotor_v.known && rated_v.known;
    struct routine_check check = {.name = "locked-rotor current",
                                  .unit = unit_for(DIM_CURRENT, current_a),
                                  .value = current_a,
                                  .limit_high = model->locked_rotor_current_max_a};
    if (scaled) {
        check.value = quantity_of(current_a.value * rated_v.value / row->locked_rotor_v.value);
        check.detail = say(judged, "%s at %s, in proportion to rated voltage", figure(judged, DIM_CURRENT, current_a),
                           figure(judged, DIM_VOLTAGE, row->locked_rotor_v));
        check.source = "common practice, no source";
    } else if (current_a.known) {
        check.reason = "the voltage of the test, or the rated one, is not recorded";
    }
    if (row->locked_rotor_w.known) {
        check.detail = say(judged, "%s%s%s", check.detail != NULL ? check.detail : "", scaled ? "; " : "",
                           figure(judged, DIM_POWER, row->locked_rotor_w));
    }
    add(judged, check);
}

static void judge_proof(struct judged_row *judged)
{
    const struct routine *row = judged->row;
    struct routine_check check = {.name = "proof pressure",
                                  .safety = true,
                                  .unit = unit_for(DIM_PRESSURE, row->proof_pa),
                                  .value = row->proof_pa,
                                  .limit_low = judged->model->proof_pressure_min_pa};
    if (check.value.known || row->proof_outcome != OUTCOME_NOT_STATED) {
        check.detail = outcome(judged, row->proof_outcome, "held", "leaked", row->proof_s);
    }
    settle_outcome(&check, row->proof_outcome, "it leaked");
    add(judged, check);
}

/* A limit whose result is missing leaves the block not judged, unless something fails. */
static enum verdict verdict_of(const struct routine_result *result)
{
    enum verdict verdict = VERDICT_PASS;
    size_t limited = 0;
    for (size_t i = 0; i < result->check_count; i++) {
        if (result->checks[i].limited) {
            verdict = verdict_worse(verdict, result->checks[i].verdict);
            limited++;
        }
    }
    return limited > 0 ? verdict : VERDICT_NOT_JUDGED;
}

enum status routine_judge(const struct model *model, const struct routine *row, struct arena *arena,
                          struct routine_result *result)
{
    static void (*const parts[])(struct judged_row *) = {judge_winding,      judge_imbalance,    judge_rise,
                                                         judge_insulation,   judge_high_voltage, judge_no_load,
                                                         judge_locked_rotor, judge_proof};
    struct judged_row judged = {.model = model, .row = row, .arena = arena, .result = result};
    *result = (struct routine_result){.row = row, .verdict = VERDICT_NOT_JUDGED};
    for (size_t i = 0; row != NULL && i < sizeof parts / sizeof parts[0]; i++) {
        parts[i](&judged);
    }
    result->verdict = verdict_of(result);
    return judged.failed ? E_MEMORY : OK;
}

/* --- how it is written --- */

static char *write_number(const struct routine_check *check, struct quantity si, int digits, char out[64])
{
    return si.known ? number_format(unit_from_si(check->unit, si.value), digits, out, 64) : text_put(out, 64, "-");
}

/* Two numbers that differ and are one text. */
static bool alike(const struct routine_check *check, struct quantity limit, int digits)
{
    char value[64], other[64];
    return check->value.known && limit.known &&
           fabs(check->value.value - limit.value) > JUDGE_RESOLUTION * fabs(limit.value) &&
           strcmp(write_number(check, check->value, digits, value), write_number(check, limit, digits, other)) == 0;
}

void routine_figures_of(const struct routine_check *check, struct routine_figures *out)
{
    enum { DIGITS = 4, DIGITS_MAX = 8 };
    char low[64], high[64];
    int digits = DIGITS;
    while (digits < DIGITS_MAX && (alike(check, check->limit_low, digits) || alike(check, check->limit_high, digits))) {
        digits++;
    }
    out->unit = check->unit->name;
    (void)write_number(check, check->value, digits, out->value);
    (void)write_number(check, check->limit_low, digits, low);
    (void)write_number(check, check->limit_high, digits, high);
    if (check->limit_low.known && check->limit_high.known) {
        (void)snprintf(out->limits, sizeof out->limits, "%s to %s", low, high);
    } else if (check->limit_low.known || check->limit_high.known) {
        (void)snprintf(out->limits, sizeof out->limits, "%s %s", check->limit_low.known ? "≥" : "≤",
                       check->limit_low.known ? low : high);
    } else {
        (void)text_put(out->limits, sizeof out->limits, "-");
    }
}
