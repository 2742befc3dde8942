#include "base/files.h"
#include "batch/batch.h"
#include "batch/batch_stats.h"
#include "papers/batch_words.h"
#include "papers/check_words.h"
#include "papers/json_document.h"
#include "papers/render_batch.h"

#include <string.h>

static json_t *counts_value(struct json_document *doc, const struct batch_counts *counts)
{
    json_t *object = json_object();
    put_count(doc, object, "units", counts->units);
    put_count(doc, object, "passed", counts->passed);
    put_count(doc, object, "failed", counts->failed);
    put_count(doc, object, "not_judged", counts->not_judged);
    put_count(doc, object, "retested", counts->retested);
    put_count(doc, object, "tests", counts->tests);
    put_count(doc, object, "superseded", counts->superseded);
    put_count(doc, object, "calibration_overdue", counts->overdue);
    put_count(doc, object, "routine_failed", counts->routine_failed);
    return object;
}

static json_t *check_value(struct json_document *doc, const struct check *check, struct quantity conforms)
{
    json_t *object = json_object();
    put_text(doc, object, "item", check_name(check));
    put_quantity(doc, object, "value", check->value);
    put_quantity(doc, object, "compared", check->compared);
    put_quantity(doc, object, "limit_low", check->limit_low);
    put_quantity(doc, object, "limit_high", check->limit_high);
    put_quantity(doc, object, "margin", check->margin);
    put_quantity(doc, object, "conformity_probability", conforms);
    put_text(doc, object, "verdict", verdict_name(check->verdict));
    return object;
}

static json_t *duty_value(struct json_document *doc, const struct batch_duty *duty)
{
    json_t *object = json_object(), *at_flow = json_object(), *at_head = json_object(), *checks = json_array();
    put_quantity(doc, at_flow, "head_m", duty->head_m);
    put_quantity(doc, at_flow, "input_power_w", duty->input_power_w);
    put_quantity(doc, at_flow, "set_efficiency", duty->set_efficiency);
    put_quantity(doc, at_flow, "pump_efficiency", duty->pump_efficiency);
    put_quantity(doc, at_flow, "current_a", duty->current_a);
    put_value(doc, object, "at_guaranteed_flow", at_flow);
    put_quantity(doc, at_head, "flow_m3_s", duty->flow_m3s);
    put_value(doc, object, "at_guaranteed_head", at_head);
    put_quantity(doc, object, "head_margin_m", duty->head_margin_m);
    put_quantity(doc, object, "efficiency_margin", duty->efficiency_margin);
    for (size_t i = 0; i < duty->check_count; i++) {
        append_value(doc, checks, check_value(doc, &duty->checks[i], duty->conformance_probability[i]));
    }
    put_value(doc, object, "checks", checks);
    put_text(doc, object, "verdict", verdict_name(duty->verdict));
    return object;
}

static json_t *test_value(struct json_document *doc, const struct batch_test *test)
{
    json_t *object = json_object(), *duties = json_array();
    put_value(doc, object, "serial", text_value(doc, test->serial));
    put_text(doc, object, "model", test->model_name);
    put_date(doc, object, "tested", &test->tested);
    put_text(doc, object, "tester", test->tester);
    put_text(doc, object, "remarks", test->remarks);
    put_text(doc, object, "log", test->row->log);
    put_text(doc, object, "log_sha256", test->unread ? NULL : test->sha256);
    put_value(doc, object, "superseded", json_boolean(test->superseded));
    put_count(doc, object, "test_of_serial", test->attempt);
    put_count(doc, object, "tests_of_serial", test->tests);
    if (!test->unread) {
        for (size_t i = 0; i < test->duty_count; i++) {
            append_value(doc, duties, duty_value(doc, &test->duties[i]));
        }
        put_value(doc, object, "duties", duties);
        put_quantity(doc, object, "conformity_probability", test->conformance_probability);
        put_count(doc, object, "cautions", test->cautions);
        put_text(doc, object, "calibration", calibration_name(test->calibration));
    } else {
        json_decref(duties);
    }
    put_text(doc, object, "verdict", verdict_name(test->verdict));
    const char *reason = batch_reason_text(test, &doc->arena);
    doc->failed = doc->failed || reason == NULL;
    put_text(doc, object, "reason", reason);
    return object;
}

enum status render_batch_test_json(const struct batch_test *test, char **text, size_t *length)
{
    struct json_document doc = {0};
    return json_document_end(&doc, test_value(&doc, test), true, text, length);
}

/* The tests that one of the flags names. */
static json_t *named(struct json_document *doc, const struct batch_series *series, const bool *flags)
{
    json_t *array = json_array();
    for (size_t i = 0; i < series->count; i++) {
        if (flags[i]) {
            append_value(doc, array, text_value(doc, series->tests[i]->serial));
        }
    }
    return array;
}

/* Values in m or as fractions, in the order of testing. */
static json_t *series_value(struct json_document *doc, const struct batch_series *series)
{
    json_t *object = json_object(), *chart = json_object();
    put_text(doc, object, "unit", series->head ? "m" : "fraction");
    put_count(doc, object, "count", series->count);
    put_quantity(doc, object, "mean", quantity_of(series->mean));
    put_quantity(doc, object, "standard_deviation", series->deviation);
    put_quantity(doc, object, "least", quantity_of(series->least));
    put_quantity(doc, object, "greatest", quantity_of(series->greatest));
    put_quantity(doc, object, "limit_low", quantity_of(0.0));
    put_quantity(doc, object, "limit_high", series->permitted_high);
    put_quantity(doc, object, "cpk", series->cpk);
    put_quantity(doc, object, "ppk", series->ppk);
    put_quantity(doc, chart, "mean_moving_range", series->moving_range);
    put_quantity(doc, chart, "control_limit_low", series->low);
    put_quantity(doc, chart, "control_limit_high", series->high);
    put_quantity(doc, chart, "moving_range_limit", series->range_high);
    put_value(doc, chart, "outside_limits", named(doc, series, series->out_value));
    put_value(doc, chart, "moving_range_outside", named(doc, series, series->out_range));
    put_value(doc, chart, "nine_on_one_side", named(doc, series, series->run));
    put_value(doc, object, "chart", chart);
    return object;
}

static json_t *guarantee_value(struct json_document *doc, const struct duty *duty)
{
    json_t *object = json_object();
    put_quantity(doc, object, "flow_m3_s", duty->flow_m3s);
    put_quantity(doc, object, "head_m", duty->head_m);
    put_quantity(doc, object, "efficiency", duty->efficiency);
    if (duty->efficiency.known) {
        put_text(doc, object, "efficiency_of", duty->efficiency_of_pump ? "pump" : "set");
    }
    put_quantity(doc, object, "input_power_w", duty->input_power_w);
    put_text(doc, object, "grade", duty->grade != NULL ? duty->grade->name : duty->grade_name);
    put_text(doc, object, "standard", duty->grade != NULL ? duty->grade->standard : NULL);
    put_text(doc, object, "source", duty->grade != NULL ? duty->grade->source : NULL);
    return object;
}

static json_t *section_value(struct json_document *doc, const struct batch_section *section)
{
    json_t *object = json_object(), *duties = json_array();
    put_text(doc, object, "model", section->model->name);
    put_value(doc, object, "counts", counts_value(doc, &section->counts));
    for (size_t i = 0; i < section->duty_count; i++) {
        json_t *duty = json_object();
        put_value(doc, duty, "guaranteed", guarantee_value(doc, &section->model->duties[i]));
        if (section->head[i].count > 0) {
            put_value(doc, duty, "head_margin", series_value(doc, &section->head[i]));
        }
        if (section->efficiency[i].count > 0) {
            put_value(doc, duty, "efficiency_margin", series_value(doc, &section->efficiency[i]));
        }
        append_value(doc, duties, duty);
    }
    put_value(doc, object, "duties", duties);
    return object;
}

static json_t *cautions_value(struct json_document *doc, const struct batch *batch)
{
    json_t *array = json_array();
    for (size_t i = 0; i < batch->caution_count; i++) {
        json_t *object = json_object();
        put_text(doc, object, "text", batch->cautions[i].text);
        put_count(doc, object, "tests", batch->cautions[i].tests);
        put_text(doc, object, "first_serial", batch->cautions[i].first_serial);
        append_value(doc, array, object);
    }
    return array;
}

enum status render_batch_json(const struct batch *batch, const struct batch_summary *summary, char **text,
                              size_t *length)
{
    struct json_document doc = {0};
    json_t *root = json_object(), *sections = json_array(), *tests = json_array(), *list = json_object();
    put_text(&doc, root, "dutyproof", DUTYPROOF_VERSION);
    put_text(&doc, root, "batch", batch->list->name);
    put_text(&doc, list, "file", file_base(batch->list->file));
    put_text(&doc, list, "sha256", batch->list->sha256);
    put_value(&doc, root, "list", list);
    put_text(&doc, root, "bay", batch->bay->rig.name);
    put_date(&doc, root, "first_tested", &summary->first_tested);
    put_date(&doc, root, "last_tested", &summary->last_tested);
    put_value(&doc, root, "counts", counts_value(&doc, &summary->counts));
    for (size_t i = 0; i < summary->section_count; i++) {
        append_value(&doc, sections, section_value(&doc, &summary->sections[i]));
    }
    put_value(&doc, root, "models", sections);
    for (size_t i = 0; i < batch->count; i++) {
        append_value(&doc, tests, test_value(&doc, &batch->tests[i]));
    }
    put_value(&doc, root, "tests", tests);
    put_value(&doc, root, "cautions", cautions_value(&doc, batch));
    put_count(&doc, root, "further_cautions", batch->further_cautions);
    return json_document_end(&doc, root, false, text, length);
}
