/* The whole reduction of a unit: a bay and a log, whatever they hold, to a result and every paper of it but the drawing
 */
#include "fuzz.h"

#include "papers/render.h"
#include "run/unit.h"

#include <gsl/gsl_errno.h>
#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* A verdict says no more than its checks. */
static void weigh_verdict(const struct result *result)
{
    for (size_t i = 0; i < result->duty_count; i++) {
        const struct duty_result *duty = &result->duties[i];
        MUST(result->verdict != VERDICT_PASS || duty->verdict == VERDICT_PASS);
        MUST(duty->verdict != VERDICT_PASS || duty->check_count > 0);
        for (size_t k = 0; k < duty->check_count; k++) {
            const struct check *check = &duty->checks[k];
            MUST(duty->verdict != VERDICT_PASS || check->verdict == VERDICT_PASS);
            MUST(check->verdict == VERDICT_NOT_JUDGED || check->value.known);
            MUST((check->verdict == VERDICT_NOT_JUDGED) == (check->reason.code != REASON_NONE));
            struct quantity p = result_duty_certainty(result, i)->conformance_probability[k];
            MUST(!p.known || (p.value >= 0.0 && p.value <= 1.0));
        }
    }
}

static void render(const struct result *result)
{
    char *text = NULL;
    size_t length = 0;
    MUST(render_json(result, true, &text, &length) == OK);
    json_error_t error;
    json_t *document = json_loadb(text, length, JSON_REJECT_DUPLICATES, &error);
    MUST(document != NULL);
    json_decref(document);
    free(text);

    text = NULL;
    FILE *to = open_memstream(&text, &length);
    MUST(to != NULL);
    MUST(render_sheet_text(result, false, to) == OK);
    render_points_csv(result, to);
    MUST(render_curves_data(result, to) == OK);
    MUST(render_curves_script(result, to) == OK);
    MUST(render_sheet_html(result, to) == OK);
    render_plot_script(result, 80, 24, to);
    MUST(fclose(to) == 0);
    MUST(memchr(text, 0, length) == NULL);
    free(text);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static struct faults faults;
    struct arena arena = {0};
    struct bay bay = {0};
    struct result result = {0};
    char log[128];
    faults = (struct faults){0};
    (void)gsl_set_error_handler_off();
    const char *folder = fuzz_bay(data, size);
    (void)snprintf(log, sizeof log, "%s/log.csv", folder);
    if (bay_read(folder, &arena, &bay, &faults) == OK) {
        struct unit_request request = {.log_path = log, .monte_carlo_trials = size % 64 == 0 ? 20 : 0};
        enum status status = unit_reduce(&bay, &request, &arena, &result, &faults);
        MUST((status == OK) == (faults.count == 0) && status != E_MEMORY);
        if (status == OK) {
            weigh_verdict(&result);
            render(&result);
        }
    }
    arena_release(&arena);
    return 0;
}
