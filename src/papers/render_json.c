#include "papers/cause_words.h"
#include "papers/certainty_words.h"
#include "papers/check_words.h"
#include "papers/impossible_words.h"
#include "papers/json_document.h"
#include "papers/label_document.h"
#include "papers/render.h"
#include "papers/routine_document.h"
#include "papers/settled_document.h"

#include <string.h>

/* A quantity of a struct and the key that it goes under. */
struct quantity_key {
    const char *key;
    size_t at;
};

const char *log_kind_name(enum log_kind kind)
{
    return kind == LOG_READING_SHEET ? "reading sheet" : "continuous record";
}

static json_t *quantities(struct json_document *doc, const void *base, const struct quantity_key *keys, size_t count)
{
    json_t *object = json_object();
    for (size_t i = 0; i < count; i++) {
        struct quantity q;
        memcpy(&q, (const char *)base + keys[i].at, sizeof q);
        put_quantity(doc, object, keys[i].key, q);
    }
    return object;
}

#define QUANTITIES(doc, base, keys) quantities(doc, base, keys, sizeof(keys) / sizeof((keys)[0]))

static json_t *site_value(struct json_document *doc, const struct site *site)
{
    json_t *object = json_object();
    put_quantity(doc, object, "gravity_m_s2", quantity_of(site->gravity_m_s2));
    put_quantity(doc, object, "air_pressure_pa", quantity_of(site->air_pressure_pa));
    return object;
}

/* The digests of what the tables gave to the result. */
static void put_inputs(struct json_document *doc, json_t *root, const struct inputs *inputs)
{
    json_t *object = json_object();
    for (size_t i = 0; i < inputs->count; i++) {
        if (inputs->items[i].rows[0] != '\0') {
            put_text(doc, object, inputs->items[i].name, inputs->items[i].sha256);
        }
    }
    if (inputs->count > 0) {
        put_value(doc, root, "inputs", object);
    } else {
        json_decref(object);
    }
}

/* The instruments that the log's readings come from. */
static json_t *instruments_value(struct json_document *doc, const struct result *result)
{
    json_t *array = json_array();
    for (size_t i = 0; i < result->bay->instrument_count; i++) {
        const struct instrument *instrument = &result->bay->instruments[i];
        if (!result_uses_instrument(result, instrument)) {
            continue;
        }
        json_t *object = json_object();
        put_text(doc, object, "channel", channel_info(instrument->channel)->name);
        put_text(doc, object, "serial", instrument->serial);
        put_quantity(doc, object, "accuracy", instrument->accuracy);
        put_text(doc, object, "basis", instrument->basis == ACCURACY_OF_READING ? "reading" : "range");
        put_date(doc, object, "calibrated", &instrument->calibrated);
        put_date(doc, object, "due", &instrument->due);
        put_text(doc, object, "certificate", instrument->certificate);
        append_value(doc, array, object);
    }
    return array;
}

#define AT(member) offsetof(struct operating_point, member)
static const struct quantity_key water_keys[] = {
    {"temperature_c", AT(water_temperature_c)},
    {"density_kg_m3", AT(density_kg_m3)},
};
static const struct quantity_key as_tested_keys[] = {
    {"flow_m3_s", AT(flow_m3s)},
    {"head_m", AT(head_m)},
    {"input_power_w", AT(input_power_w)},
    {"shaft_power_w", AT(shaft_power_w)},
    {"hydraulic_power_w", AT(hydraulic_power_w)},
    {"current_a", AT(current_a)},
    {"voltage_v", AT(voltage_v)},
    {"power_factor", AT(power_factor)},
    {"frequency_hz", AT(frequency_hz)},
    {"speed_rpm", AT(speed_rpm)},
    {"motor_speed_rpm", AT(motor_speed_rpm)},
    {"voltage_unbalance", AT(voltage_unbalance)},
    {"current_unbalance", AT(current_unbalance)},
    {"set_efficiency", AT(set_efficiency)},
    {"pump_efficiency", AT(pump_efficiency)},
};
#undef AT

#define AT(member) offsetof(struct rated_point, member)
static const struct quantity_key at_rated_keys[] = {
    {"flow_m3_s", AT(flow_m3s)},
    {"head_m", AT(head_m)},
    {"input_power_w", AT(input_power_w)},
    {"shaft_power_w", AT(shaft_power_w)},
    {"current_a", AT(current_a)},
    {"set_efficiency", AT(set_efficiency)},
    {"pump_efficiency", AT(pump_efficiency)},
};
#undef AT

#define AT(member) offsetof(struct point, member)
static const struct quantity_key fluctuation_keys[] = {
    {"flow", AT(fluctuation.flow)},
    {"head", AT(fluctuation.head)},
    {"input_power", AT(fluctuation.input_power)},
    {"speed", AT(fluctuation.speed)},
};
static const struct quantity_key spread_keys[] = {
    {"flow", AT(spread.flow)},
    {"head", AT(spread.head)},
    {"input_power", AT(spread.input_power)},
    {"speed", AT(spread.speed)},
};
static const struct quantity_key point_uncertainty_keys[] = {
    {"flow", AT(uncertainty.flow)},
    {"head", AT(uncertainty.head)},
    {"input_power", AT(uncertainty.input_power)},
    {"set_efficiency", AT(uncertainty.set_efficiency)},
};
#undef AT

static json_t *at_rated_value(struct json_document *doc, const struct rated_point *rated)
{
    if (rated->translated) {
        json_t *object = QUANTITIES(doc, rated, at_rated_keys);
        put_quantity(doc, object, "ratio", quantity_of(rated->ratio));
        return object;
    }
    json_t *object = json_object();
    put_text(doc, object, "reason", rated->why);
    return object;
}

static json_t *point_value(struct json_document *doc, const struct point *point, enum log_kind kind)
{
    const struct settled_point *settled = point->settled;
    json_t *object = json_object();
    put_settled(doc, object, settled);
    put_value(doc, object, "fitted", json_boolean(point->fitted));
    if (!point->fitted) {
        put_text(doc, object, "not_fitted_reason", point->why_not_fitted);
    }
    put_value(doc, object, "water", QUANTITIES(doc, &point->as_tested, water_keys));
    put_value(doc, object, "as_tested", QUANTITIES(doc, &point->as_tested, as_tested_keys));
    put_value(doc, object, "at_rated", at_rated_value(doc, &point->at_rated));
    put_value(doc, object, "fluctuation", QUANTITIES(doc, point, fluctuation_keys));
    put_value(doc, object, "fluctuation_within_limits", json_boolean(point->fluctuation.within));
    put_value(doc, object, "spread", QUANTITIES(doc, point, spread_keys));
    put_value(doc, object, "spread_within_limits", json_boolean(point->spread.within));
    put_value(doc, object, "statistics", statistics_value(doc, settled, kind, 2));
    put_value(doc, object, "uncertainty", QUANTITIES(doc, point, point_uncertainty_keys));
    return object;
}

static void put_curve(struct json_document *doc, json_t *curves, const char *key, const struct curve *curve)
{
    if (!curve->known) {
        return;
    }
    char why[CURVE_TEXT];
    json_t *object = json_object(), *coefficients = json_array(), *range = json_array();
    put_count(doc, object, "degree", curve->degree);
    for (size_t i = 0; i <= curve->degree; i++) {
        append_value(doc, coefficients, json_real(curve->coefficient[i]));
    }
    put_value(doc, object, "coefficients", coefficients);
    append_value(doc, range, json_real(curve->flow_low_m3s));
    append_value(doc, range, json_real(curve->flow_high_m3s));
    put_value(doc, object, "flow_range_m3_s", range);
    put_quantity(doc, object, "residual", quantity_of(curve->residual));
    put_text(doc, object, "degree_reason", curve_why_text(curve, why));
    put_value(doc, curves, key, object);
}

static json_t *curves_value(struct json_document *doc, const struct curves *curves)
{
    json_t *object = json_object();
    put_curve(doc, object, "head", &curves->of[CURVE_HEAD]);
    put_curve(doc, object, "input_power", &curves->of[CURVE_INPUT_POWER]);
    put_curve(doc, object, "current", &curves->of[CURVE_CURRENT]);
    put_curve(doc, object, "shaft_power", &curves->of[CURVE_SHAFT_POWER]);
    return object;
}

static json_t *best_value(struct json_document *doc, const struct best_efficiency *best)
{
    json_t *object = json_object();
    put_quantity(doc, object, "flow_m3_s", quantity_of(best->flow_m3s));
    put_quantity(doc, object, "head_m", quantity_of(best->head_m));
    put_quantity(doc, object, "set_efficiency", quantity_of(best->set_efficiency));
    put_value(doc, object, "at_end_of_tested_flows", json_boolean(best->at_end));
    return object;
}

#define AT(member) offsetof(struct duty, member)
static const struct quantity_key guaranteed_keys[] = {
    {"flow_m3_s", AT(flow_m3s)},
    {"head_m", AT(head_m)},
    {"efficiency", AT(efficiency)},
    {"input_power_w", AT(input_power_w)},
};
#undef AT

#define AT(member) offsetof(struct duty_result, member)
static const struct quantity_key at_flow_keys[] = {
    {"head_m", AT(at_guaranteed_flow.head_m)},
    {"input_power_w", AT(at_guaranteed_flow.input_power_w)},
    {"set_efficiency", AT(at_guaranteed_flow.set_efficiency)},
    {"pump_efficiency", AT(at_guaranteed_flow.pump_efficiency)},
    {"current_a", AT(at_guaranteed_flow.current_a)},
};
static const struct quantity_key at_head_keys[] = {{"flow_m3_s", AT(at_guaranteed_head.flow_m3s)}};
static const struct quantity_key duty_line_keys[] = {
    {"flow_m3_s", AT(on_duty_line.flow_m3s)},
    {"head_m", AT(on_duty_line.head_m)},
    {"input_power_w", AT(on_duty_line.input_power_w)},
    {"set_efficiency", AT(on_duty_line.set_efficiency)},
    {"pump_efficiency", AT(on_duty_line.pump_efficiency)},
};
#undef AT

/* The unit of a check's numbers in this document. */
static const char *si_unit(enum dimension dimension)
{
    switch (dimension) {
    case DIM_FLOW: return "m3/s";
    case DIM_LENGTH: return "m";
    case DIM_POWER: return "W";
    case DIM_CURRENT: return "A";
    case DIM_RATIO: return "fraction";
    default: return "1";
    }
}

static json_t *check_value(struct json_document *doc, const struct duty *duty, const struct check *check,
                           struct quantity probability)
{
    json_t *object = json_object();
    struct check_words words;
    doc->failed = check_words_of(check, duty, &doc->arena, &words) != OK || doc->failed;
    put_text(doc, object, "item", check_name(check));
    put_text(doc, object, "where", words.where);
    put_quantity(doc, object, "value", check->value);
    put_quantity(doc, object, "compared", check->compared);
    put_quantity(doc, object, "guaranteed", check->guaranteed);
    put_quantity(doc, object, "limit_low", check->limit_low);
    put_quantity(doc, object, "limit_high", check->limit_high);
    put_text(doc, object, "unit", si_unit(check->dimension));
    put_quantity(doc, object, "margin", check->margin);
    put_text(doc, object, "verdict", verdict_name(check->verdict));
    put_text(doc, object, "reason", words.reason);
    put_text(doc, object, "source", words.source);
    put_quantity(doc, object, "conformity_probability", probability);
    return object;
}

/* What the uncertainty of the set efficiency is made of, largest first. */
static json_t *shares_value(struct json_document *doc, const struct duty_certainty *uncertainty)
{
    json_t *array = json_array();
    for (size_t i = 0; i < uncertainty->share_count; i++) {
        char text[SHARE_TEXT];
        json_t *object = json_object();
        put_text(doc, object, "source", share_text(&uncertainty->shares[i], text));
        put_quantity(doc, object, "share", quantity_of(uncertainty->shares[i].share));
        append_value(doc, array, object);
    }
    return array;
}

static void put_not_stated(struct json_document *doc, json_t *object, unsigned not_stated)
{
    const char *text = not_stated_text(not_stated, &doc->arena);
    doc->failed = doc->failed || text == NULL;
    put_text(doc, object, "not_stated", text);
}

static json_t *duty_value(struct json_document *doc, const struct duty_result *result,
                          const struct duty_certainty *certainty)
{
    const struct duty *duty = result->duty;
    json_t *object = json_object(), *guaranteed = QUANTITIES(doc, duty, guaranteed_keys), *checks = json_array();
    if (duty->efficiency.known) {
        put_text(doc, guaranteed, "efficiency_of", duty->efficiency_of_pump ? "pump" : "set");
    }
    put_value(doc, object, "guaranteed", guaranteed);
    put_text(doc, object, "grade", duty->grade != NULL ? duty->grade->name : duty->grade_name);
    put_value(doc, object, "at_guaranteed_flow", QUANTITIES(doc, result, at_flow_keys));
    put_value(doc, object, "at_guaranteed_head", QUANTITIES(doc, result, at_head_keys));
    json_t *errors = json_object();
    put_quantity(doc, errors, "head_m", certainty->head_m);
    put_quantity(doc, errors, "set_efficiency", certainty->set_efficiency);
    if (certainty->known[NUMBER_SET_EFFICIENCY]) {
        put_value(doc, errors, "set_efficiency_made_of", shares_value(doc, certainty));
    }
    put_value(doc, object, "uncertainty", errors);
    put_value(doc, object, "on_duty_line", QUANTITIES(doc, result, duty_line_keys));
    for (size_t i = 0; i < result->check_count; i++) {
        append_value(doc, checks, check_value(doc, duty, &result->checks[i], certainty->conformance_probability[i]));
    }
    put_value(doc, object, "checks", checks);
    put_not_stated(doc, object, result->not_stated);
    put_text(doc, object, "verdict", verdict_name(result->verdict));
    return object;
}

static json_t *notes_value(struct json_document *doc, const struct notes *notes)
{
    json_t *array = json_array();
    for (size_t i = 0; i < notes->count; i++) {
        json_t *object = json_object();
        put_text(doc, object, "kind", note_kind_name(notes->items[i].kind));
        put_text(doc, object, "text", notes->items[i].text);
        append_value(doc, array, object);
    }
    return array;
}

/* The values that no such set gives, in SI, and the likely slip behind them. */
static json_t *impossible_value(struct json_document *doc, const struct result *result)
{
    char likely[ODD_WORDS];
    struct document english = {0};
    json_t *array = json_array();
    (void)likely_words(&english, result, likely);
    for (size_t i = 0; i < result->impossible.count; i++) {
        const struct odd_value *odd = &result->impossible.items[i];
        json_t *object = json_object();
        if (odd->point > 0) {
            put_value(doc, object, "point", json_integer(odd->point));
            put_count(doc, object, "line", odd->line);
        }
        put_text(doc, object, "quantity", plausible_name(odd->item));
        put_text(doc, object, "channel", odd->channel < CHANNEL_COUNT ? channel_info(odd->channel)->name : NULL);
        put_quantity(doc, object, "value", quantity_of(odd->value));
        put_quantity(doc, object, "limit", quantity_of(odd->limit));
        put_text(doc, object, "likely", result->slip.known ? likely : NULL);
        append_value(doc, array, object);
    }
    return array;
}

static void put_identity(struct json_document *doc, json_t *root, const struct result *result)
{
    put_text(doc, root, "dutyproof", DUTYPROOF_VERSION);
    put_value(doc, root, "serial", text_value(doc, result->serial));
    put_text(doc, root, "model", result->model != NULL ? result->model->name : NULL);
    put_date(doc, root, "tested", &result->tested);
    put_text(doc, root, "tester", result->tester);
    put_text(doc, root, "remarks", result->remarks);
    put_value(doc, root, "log", log_value(doc, &result->log, result->kind));
    put_inputs(doc, root, &result->inputs);
    put_text(doc, root, "bay", result->bay->rig.name);
    put_value(doc, root, "site", site_value(doc, &result->site));
    put_value(doc, root, "instruments", instruments_value(doc, result));
    put_text(doc, root, "speed_basis", speed_basis_name(result->basis));
}

/* Beside the verdict: the chance that the unit truly conforms, and what was asked about it. */
static void put_conformance(struct json_document *doc, json_t *root, const struct certainty *certainty)
{
    put_quantity(doc, root, "conformity_probability", certainty->conformance_probability);
    if (certainty->guard.asked.known) {
        json_t *guard = json_object();
        put_quantity(doc, guard, "probability", certainty->guard.asked);
        if (certainty->guard.answered) {
            put_value(doc, guard, "conforms", json_boolean(certainty->guard.conforms));
        }
        put_value(doc, root, "guard", guard);
    }
    if (certainty->monte_carlo.trials > 0) {
        json_t *monte_carlo = json_object();
        put_count(doc, monte_carlo, "trials", certainty->monte_carlo.trials);
        put_quantity(doc, monte_carlo, "head_m", certainty->monte_carlo.head_m);
        put_quantity(doc, monte_carlo, "set_efficiency", certainty->monte_carlo.set_efficiency);
        put_quantity(doc, monte_carlo, "conformity_probability", certainty->monte_carlo.conformance_probability);
        put_value(doc, root, "monte_carlo", monte_carlo);
    }
}

static json_t *cause_value(struct json_document *doc, const struct cause_found *found)
{
    json_t *object = json_object(), *twins = json_array();
    put_text(doc, object, "cause", found->row->name);
    put_quantity(doc, object, "probability", quantity_of(found->probability));
    put_quantity(doc, object, "severity", found->severity);
    put_text(doc, object, "severity_means", found->row->severity_means);
    for (size_t i = 0; i < found->twin_count; i++) {
        append_value(doc, twins, text_value(doc, found->twins[i]->name));
    }
    put_value(doc, object, "not_told_from", twins);
    put_text(doc, object, "told_by", found->row->told_by);
    put_text(doc, object, "check_first", found->row->check_first);
    put_value(doc, object, "read_directly", json_boolean(found->seen));
    return object;
}

static json_t *steps_value(struct json_document *doc, const struct result *result)
{
    struct figure_units units = figure_units_of(result->model);
    json_t *array = json_array();
    for (size_t i = 0; i < result->causes->step_count; i++) {
        const char *text = step_text(NULL, &result->causes->steps[i], &units, &doc->arena);
        append_value(doc, array, text == NULL ? NULL : text_value(doc, text));
    }
    return array;
}

/* The likeliest causes, absent when the unit is unremarkable; and what is to be done next, absent when nothing is. */
static void put_causes(struct json_document *doc, json_t *root, const struct result *result)
{
    const struct unit_causes *causes = result->causes;
    if (causes == NULL) {
        return;
    }
    if (causes->found.found_count > 0) {
        json_t *array = json_array();
        for (size_t i = 0; i < causes->found.found_count; i++) {
            append_value(doc, array, cause_value(doc, &causes->found.found[i]));
        }
        put_value(doc, root, "causes", array);
    }
    if (causes->step_count > 0) {
        put_value(doc, root, "next_steps", steps_value(doc, result));
    }
}

static json_t *result_value(struct json_document *doc, const struct result *result)
{
    json_t *root = json_object(), *points = json_array(), *duties = json_array();
    put_identity(doc, root, result);
    for (size_t i = 0; i < result->point_count; i++) {
        append_value(doc, points, point_value(doc, &result->points[i], result->kind));
    }
    put_value(doc, root, "points", points);
    if (result->impossible.count > 0) {
        put_value(doc, root, "impossible", impossible_value(doc, result));
    }
    put_value(doc, root, "curves", curves_value(doc, &result->curves));
    if (result->best_known) {
        put_value(doc, root, "best_efficiency", best_value(doc, &result->best));
    }
    for (size_t i = 0; i < result->duty_count; i++) {
        append_value(doc, duties, duty_value(doc, &result->duties[i], result_duty_certainty(result, i)));
    }
    put_value(doc, root, "duties", duties);
    if (result->label.scheme != NULL) {
        put_value(doc, root, "label", label_value(doc, &result->label, quantity_absent()));
    }
    if (result->routine.row != NULL) {
        put_value(doc, root, "routine", routine_value(doc, &result->routine));
    }
    put_causes(doc, root, result);
    put_value(doc, root, "notes", notes_value(doc, &result->notes));
    put_text(doc, root, "performance", verdict_name(result->performance));
    if (result->routine.row != NULL) {
        put_text(doc, root, "routine_tests", verdict_name(result->routine.verdict));
    }
    put_text(doc, root, "verdict", verdict_name(result->verdict));
    put_conformance(doc, root, &result->certainty);
    put_text(doc, root, "calibration", calibration_name(result->calibration));
    return root;
}

enum status render_json(const struct result *result, bool compact, char **text, size_t *length)
{
    struct json_document doc = {0};
    return json_document_end(&doc, result_value(&doc, result), compact, text, length);
}
