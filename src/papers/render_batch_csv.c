#include "base/text.h"
#include "batch/batch.h"
#include "papers/batch_words.h"
#include "papers/figures.h"
#include "papers/render_batch.h"

#include <string.h>

static void number(enum figure figure, const struct figure_units *units, struct quantity si, FILE *to)
{
    char text[FIGURE_TEXT];
    (void)fprintf(to, ",%s", si.known ? figure_number(figure, units, si, text) : "");
}

static void margin(const struct check *check, const struct figure_units *units, FILE *to)
{
    struct check_figures figures = {.margin = "-"};
    if (check != NULL) {
        check_figures_of(check, units, &figures);
    }
    (void)fprintf(to, ",%s,%s", strcmp(figures.margin, "-") != 0 ? figures.margin : "",
                  strcmp(figures.margin, "-") != 0 ? figures.margin_unit : "");
}

static const struct check *find(const struct batch_duty *duty, enum check_item item)
{
    for (size_t i = 0; i < duty->check_count; i++) {
        if (duty->checks[i].item == item) {
            return &duty->checks[i];
        }
    }
    return NULL;
}

static void verdict(const struct check *check, FILE *to)
{
    (void)fprintf(to, ",%s", check != NULL ? verdict_name(check->verdict) : "");
}

static void duty_cells(const struct batch_duty *duty, const struct figure_units *units, FILE *to)
{
    const struct check *head = find(duty, CHECK_FLOW_AND_HEAD), *efficiency = find(duty, CHECK_EFFICIENCY),
                       *power = find(duty, CHECK_INPUT_POWER);
    (void)fprintf(to, ",%s,%s,%s", units->flow->name, units->head->name, units->power->name);
    number(FIGURE_FLOW, units, duty->duty->flow_m3s, to);
    number(FIGURE_HEAD, units, duty->duty->head_m, to);
    number(FIGURE_HEAD, units, duty->head_m, to);
    number(FIGURE_HEAD, units, duty->head_margin_m, to);
    number(FIGURE_FLOW, units, duty->flow_m3s, to);
    verdict(head, to);
    margin(head, units, to);
    number(FIGURE_EFFICIENCY, units, efficiency != NULL ? efficiency->guaranteed : quantity_absent(), to);
    number(FIGURE_EFFICIENCY, units, duty->set_efficiency, to);
    number(FIGURE_EFFICIENCY, units, duty->pump_efficiency, to);
    number(FIGURE_EFFICIENCY, units, duty->efficiency_margin, to);
    verdict(efficiency, to);
    number(FIGURE_POWER, units, duty->input_power_w, to);
    verdict(power, to);
    number(FIGURE_CURRENT, units, duty->current_a, to);
}

enum { DUTY_CELLS = 19 };

static void row(const struct batch_test *test, size_t duty, const char *reason, FILE *to)
{
    char date[FIGURE_TEXT];
    struct figure_units units = figure_units_of(test->model);
    text_quote_csv(test->serial, to);
    (void)fputc(',', to);
    text_quote_csv(test->model_name, to);
    (void)fprintf(to, ",%s,", test->tested.known ? figure_date(&test->tested, date) : "");
    text_quote_csv(test->tester, to);
    (void)fputc(',', to);
    text_quote_csv(test->row->log, to);
    (void)fprintf(to, ",%s,%s,%s,%zu,%s", verdict_name(test->verdict),
                  test->unread ? "" : calibration_name(test->calibration), test->superseded ? "superseded" : "counts",
                  test->attempt, test->unread ? "" : test->sha256);
    if (test->unread) {
        for (int i = 0; i < DUTY_CELLS + 2; i++) {
            (void)fputc(',', to);
        }
    } else {
        (void)fprintf(to, ",%zu", duty + 1);
        duty_cells(&test->duties[duty], &units, to);
        number(FIGURE_PROBABILITY, &units, test->conformance_probability, to);
    }
    (void)fputc(',', to);
    text_quote_csv(reason, to);
    (void)fputc(',', to);
    text_quote_csv(test->remarks, to);
    (void)fputc('\n', to);
}

enum status render_batch_csv(const struct batch *batch, FILE *to)
{
    (void)fputs("serial,model,tested,tester,log,verdict,calibration,counting,test of serial,log SHA-256,duty point,"
                "flow unit,head unit,power unit,guaranteed flow,guaranteed head,head at guaranteed flow,head margin,"
                "flow at guaranteed head,flow and head,flow and head margin,margin unit,guaranteed efficiency [%],"
                "set efficiency at guaranteed flow [%],pump efficiency at guaranteed flow [%],efficiency margin [%],"
                "efficiency,input power at guaranteed flow,input power,current at guaranteed flow [A],"
                "conformity probability [%],reason,remarks\n",
                to);
    for (size_t i = 0; i < batch->count; i++) {
        const struct batch_test *test = &batch->tests[i];
        struct arena arena = {0};
        const char *reason = batch_reason_text(test, &arena);
        for (size_t duty = 0; reason != NULL && (duty < test->duty_count || (duty == 0 && test->unread)); duty++) {
            row(test, duty, reason, to);
        }
        arena_release(&arena);
        if (reason == NULL) {
            return E_MEMORY;
        }
    }
    return OK;
}
