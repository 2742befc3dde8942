#include "dutyproof.h"

#include "base/memory_stream.h"
#include "papers/render.h"
#include "run/unit.h"

#include <gsl/gsl_errno.h>
#include <stdlib.h>
#include <string.h>

struct dutyproof_bay {
    struct arena arena;
    struct bay bay;
};

struct dutyproof_test {
    struct arena arena;
    struct result result;
    struct dutyproof_result shown;
};

static enum dutyproof_status status_of(enum status status)
{
    switch (status) {
    case OK: return DUTYPROOF_OK;
    case E_MEMORY: return DUTYPROOF_MEMORY;
    case E_FILE:
    case E_CHILD: return DUTYPROOF_FILE;
    case E_INPUT:
    case E_USAGE: break;
    }
    return DUTYPROOF_INPUT;
}

/* A line a fault; the message has room for all that are kept. */
static enum dutyproof_status tell(const struct faults *faults, enum status status, struct dutyproof_message *message)
{
    if (status != OK && message != NULL) {
        FILE *to = fmemopen(message->text, sizeof message->text, "w");
        if (to == NULL) {
            return DUTYPROOF_MEMORY;
        }
        (void)faults_print(faults, to);
        (void)fclose(to);
        message->text[sizeof message->text - 1] = '\0';
    }
    return status_of(status);
}

enum dutyproof_status dutyproof_bay_load(const char *folder, struct dutyproof_bay **bay,
                                         struct dutyproof_message *message)
{
    struct faults faults = {0};
    struct dutyproof_bay *made = calloc(1, sizeof *made);
    *bay = NULL;
    if (made == NULL) {
        return tell(&faults, faults_memory(&faults), message);
    }
    enum status status = bay_read(folder, &made->arena, &made->bay, &faults);
    if (status != OK) {
        dutyproof_bay_free(made);
        return tell(&faults, status, message);
    }
    *bay = made;
    return DUTYPROOF_OK;
}

void dutyproof_bay_free(struct dutyproof_bay *bay)
{
    if (bay != NULL) {
        arena_release(&bay->arena);
        free(bay);
    }
}

static struct dutyproof_number shown(struct quantity quantity)
{
    return (struct dutyproof_number){quantity.known, quantity.known ? quantity.value : 0.0};
}

static enum dutyproof_verdict verdict_shown(enum verdict verdict)
{
    switch (verdict) {
    case VERDICT_PASS: return DUTYPROOF_PASS;
    case VERDICT_FAIL: return DUTYPROOF_FAIL;
    case VERDICT_NOT_JUDGED: break;
    }
    return DUTYPROOF_NOT_JUDGED;
}

static struct dutyproof_duty duty_shown(const struct duty_result *duty)
{
    return (struct dutyproof_duty){
        .guaranteed_flow_m3s = shown(duty->duty->flow_m3s),
        .guaranteed_head_m = shown(duty->duty->head_m),
        .guaranteed_efficiency = shown(duty->duty->efficiency),
        .guaranteed_input_power_w = shown(duty->duty->input_power_w),
        .head_m = shown(duty->at_guaranteed_flow.head_m),
        .flow_m3s = shown(duty->at_guaranteed_head.flow_m3s),
        .overall_efficiency = shown(duty->at_guaranteed_flow.set_efficiency),
        .input_power_w = shown(duty->at_guaranteed_flow.input_power_w),
        .verdict = verdict_shown(duty->verdict),
    };
}

static enum status show(struct dutyproof_test *test)
{
    const struct result *result = &test->result;
    struct dutyproof_duty *duties = arena_alloc(&test->arena, result->duty_count, sizeof *duties);
    if (duties == NULL) {
        return E_MEMORY;
    }
    for (size_t i = 0; i < result->duty_count; i++) {
        duties[i] = duty_shown(&result->duties[i]);
    }
    test->shown = (struct dutyproof_result){
        .serial = result->serial,
        .model = result->model->name,
        .tester = result->tester,
        .verdict =
            result_passes(result) || result->verdict != VERDICT_PASS ? verdict_shown(result->verdict) : DUTYPROOF_FAIL,
        .conformance_probability = shown(result->certainty.conformance_probability),
        .duty_count = result->duty_count,
        .duties = duties,
    };
    if (result->best_known) {
        test->shown.best_flow_m3s = shown(quantity_of(result->best.flow_m3s));
        test->shown.best_head_m = shown(quantity_of(result->best.head_m));
        test->shown.best_overall_efficiency = shown(quantity_of(result->best.set_efficiency));
    }
    return OK;
}

static enum status run(const struct bay *bay, const struct dutyproof_request *request, struct dutyproof_test *test,
                       struct faults *faults)
{
    struct unit_request asked = {
        .log_path = request->log, .serial = request->serial, .model = request->model, .tester = request->tester};
    gsl_error_handler_t *before = gsl_set_error_handler_off();
    enum status status = unit_reduce(bay, &asked, &test->arena, &test->result, faults);
    (void)gsl_set_error_handler(before);
    return status == OK && show(test) != OK ? faults_memory(faults) : status;
}

enum dutyproof_status dutyproof_test_run(const struct dutyproof_bay *bay, const struct dutyproof_request *request,
                                         struct dutyproof_test **test, struct dutyproof_message *message)
{
    struct faults faults = {0};
    struct dutyproof_test *made = calloc(1, sizeof *made);
    *test = NULL;
    if (made == NULL) {
        return tell(&faults, faults_memory(&faults), message);
    }
    enum status status = run(&bay->bay, request, made, &faults);
    if (status != OK) {
        dutyproof_test_free(made);
        return tell(&faults, status, message);
    }
    *test = made;
    return DUTYPROOF_OK;
}

const struct dutyproof_result *dutyproof_test_result(const struct dutyproof_test *test)
{
    return &test->shown;
}

void dutyproof_test_free(struct dutyproof_test *test)
{
    if (test != NULL) {
        arena_release(&test->arena);
        free(test);
    }
}

static enum status print(const struct result *result, enum dutyproof_form form, char **text, size_t *length)
{
    if (form == DUTYPROOF_JSON) {
        return render_json(result, false, text, length);
    }
    FILE *to = memory_stream_open(text, length);
    if (to == NULL) {
        return E_MEMORY;
    }
    enum status status = form == DUTYPROOF_HTML ? render_sheet_html(result, to) : render_sheet_text(result, false, to);
    bool whole = ferror(to) == 0;
    return fclose(to) == 0 && whole && status == OK ? OK : E_MEMORY;
}

enum dutyproof_status dutyproof_test_print(const struct dutyproof_test *test, enum dutyproof_form form, char **text,
                                           size_t *length)
{
    size_t own = 0;
    *text = NULL;
    enum status status = print(&test->result, form, text, length != NULL ? length : &own);
    if (status != OK) {
        free(*text);
        *text = NULL;
    }
    return status_of(status);
}

const char *dutyproof_verdict_name(enum dutyproof_verdict verdict)
{
    static const char *const names[] = {"pass", "fail", "not judged"};
    return names[verdict];
}

const char *dutyproof_version(void)
{
    return DUTYPROOF_VERSION;
}
