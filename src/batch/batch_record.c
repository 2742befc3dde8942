/* What is kept of a test once it is reduced */
#include "batch/batch_record.h"

#include "base/text.h"

#include <math.h>
#include <string.h>

enum { REASON_LONGEST = 400 };

static struct quantity difference(struct quantity a, struct quantity b)
{
    return a.known && b.known ? quantity_of(a.value - b.value) : quantity_absent();
}

static struct quantity head_at(const struct curve *head, struct quantity flow_m3s)
{
    bool covered = head->known && flow_m3s.known && curve_covers(head, flow_m3s.value);
    return covered ? quantity_of(curve_at(head, flow_m3s.value)) : quantity_absent();
}

/* The better of the two arms of a cross, the worse of two minima; the vertical arm alone where the other was not
 * tested. */
static struct quantity of_arms(struct quantity vertical_m, struct quantity horizontal_m, bool better)
{
    if (!vertical_m.known || !horizontal_m.known) {
        return vertical_m;
    }
    return quantity_of(better ? fmax(vertical_m.value, horizontal_m.value)
                              : fmin(vertical_m.value, horizontal_m.value));
}

/* How far the curve clears its tolerance from below and from above, as head, so that it passes when neither is
 * negative. That a falling curve meets the guaranteed head at no less than the least flow is to say that at this flow
 * its head is no less than the guaranteed one. */
static void cross_margins(const struct duty_result *result, const struct curve *curve, struct batch_duty *duty)
{
    struct quantity head_m = result->at_guaranteed_flow.head_m, guaranteed_m = result->duty->head_m;
    bool minimum = result->duty->grade != NULL && result->duty->grade->geometry == GEOMETRY_MINIMUM;
    duty->head_margin_m = of_arms(difference(head_m, result->head_low_m),
                                  difference(head_at(curve, result->flow_low_m3s), guaranteed_m), !minimum);
    struct quantity above_m = of_arms(difference(result->head_high_m, head_m),
                                      difference(guaranteed_m, head_at(curve, result->flow_high_m3s)), true);
    duty->head_room_m = duty->head_margin_m.known && above_m.known
                            ? quantity_of(duty->head_margin_m.value + above_m.value)
                            : quantity_absent();
}

/* The condition (eH/dH)^2 + (eQ/dQ)^2 >= 1 solved for dH, with dH/dQ the slope of the curve between its two readings:
 * |dH| <= sqrt(eH^2 + (eQ dH/dQ)^2). */
static void ellipse_margins(const struct duty_result *result, const struct curve *curve, struct batch_duty *duty)
{
    const struct duty *guaranteed = result->duty;
    struct quantity apart_m = difference(result->at_guaranteed_flow.head_m, guaranteed->head_m);
    struct quantity apart_m3s = difference(result->at_guaranteed_head.flow_m3s, guaranteed->flow_m3s);
    if (!apart_m.known || !apart_m3s.known || !curve->known) {
        return;
    }
    bool through = fabs(apart_m3s.value) <= JUDGE_RESOLUTION * guaranteed->flow_m3s.value;
    double slope = through ? curve_slope(curve, guaranteed->flow_m3s.value) : apart_m.value / apart_m3s.value;
    double reach_m = hypot(result->ellipse_head_m, slope * result->ellipse_flow_m3s);
    duty->head_margin_m = quantity_of(apart_m.value + reach_m);
    duty->head_room_m = quantity_of(2.0 * reach_m);
}

static void record_duty(const struct duty_result *result, const struct curve *head, struct batch_duty *duty)
{
    *duty = (struct batch_duty){
        .duty = result->duty,
        .flow_m3s = result->at_guaranteed_head.flow_m3s,
        .head_m = result->at_guaranteed_flow.head_m,
        .input_power_w = result->at_guaranteed_flow.input_power_w,
        .current_a = result->at_guaranteed_flow.current_a,
        .set_efficiency = result->at_guaranteed_flow.set_efficiency,
        .pump_efficiency = result->at_guaranteed_flow.pump_efficiency,
        .flow_low_m3s = result->flow_low_m3s,
        .flow_high_m3s = result->flow_high_m3s,
        .head_low_m = result->head_low_m,
        .head_high_m = result->head_high_m,
        .ellipse_flow_m3s = result->ellipse_flow_m3s,
        .ellipse_head_m = result->ellipse_head_m,
        .check_count = result->check_count,
        .verdict = result->verdict,
    };
    (result->ellipse_head_m > 0.0 ? ellipse_margins : cross_margins)(result, head, duty);
    for (size_t i = 0; i < result->check_count; i++) {
        const struct check *check = &result->checks[i];
        duty->checks[i] = *check;
        duty->checks[i].reason = duty->checks[i].where = duty->checks[i].source = NULL; /* they go with the result */
        if (check->item == CHECK_EFFICIENCY) {
            duty->efficiency_margin = difference(check->value, check->limit_low);
        }
    }
}

/* "flow and head fails; set efficiency is not judged: the grade ..." Returns: "" when every check passes; NULL when
 * memory is out. */
static const char *reason_of(const struct result *result, struct arena *arena)
{
    char text[REASON_LONGEST] = "";
    size_t used = 0;
    for (size_t d = 0; d < result->duty_count; d++) {
        for (size_t i = 0; i < result->duties[d].check_count; i++) {
            const struct check *check = &result->duties[d].checks[i];
            if (check->verdict == VERDICT_PASS || used >= sizeof text) {
                continue;
            }
            bool fails = check->verdict == VERDICT_FAIL, why = !fails && check->reason != NULL;
            int more = snprintf(text + used, sizeof text - used, "%s%s%s%s%s", used > 0 ? "; " : "", check->name,
                                fails ? " fails" : " not judged", why ? ": " : "", why ? check->reason : "");
            used += more > 0 ? (size_t)more : 0;
        }
    }
    if (used == 0 && result->verdict != VERDICT_PASS) {
        used = (size_t)snprintf(text, sizeof text, "nothing that the model guarantees could be judged");
    }
    if (result_routine_fails(result) && used < sizeof text) {
        (void)snprintf(text + used, sizeof text - used, "%sroutine results fail", used > 0 ? "; " : "");
    }
    return text_shown(arena, text, REASON_LONGEST);
}

static void record_curve(const struct curve *head, struct batch_test *test)
{
    test->curve_known = head->known;
    if (!head->known) {
        return;
    }
    test->flow_low_m3s = head->flow_low_m3s;
    test->flow_high_m3s = head->flow_high_m3s;
    for (int i = 0; i < BATCH_CURVE; i++) {
        double share = (double)i / (BATCH_CURVE - 1);
        test->head_m[i] = curve_at(head, head->flow_low_m3s * (1.0 - share) + head->flow_high_m3s * share);
    }
}

static const char *copy(struct arena *arena, const char *text)
{
    return text[0] == '\0' ? "" : arena_text(arena, text, strlen(text));
}

enum status batch_record(const struct result *result, struct arena *arena, struct batch_test *test)
{
    const char *own = result->log.serial;
    bool contradicts = own != NULL && own[0] != '\0' && strcmp(own, result->serial) != 0;
    test->model = result->model;
    test->model_name = result->model->name;
    test->serial = copy(arena, result->serial);
    test->tester = copy(arena, result->tester);
    test->remarks = copy(arena, result->remarks);
    test->own_serial = contradicts ? copy(arena, own) : NULL;
    test->tested = result->tested;
    memcpy(test->sha256, result->log.sha256, sizeof test->sha256);
    test->verdict = result->verdict;
    test->calibration = result->calibration;
    test->routine_fails = result_routine_fails(result);
    test->reason = reason_of(result, arena);
    test->channels = result->log.channels;
    test->conformity_probability = result->conformity_probability;
    test->duty_count = result->duty_count;
    test->duties = arena_alloc(arena, result->duty_count, sizeof *test->duties);
    if (test->serial == NULL || test->tester == NULL || test->remarks == NULL || test->reason == NULL ||
        test->duties == NULL || (contradicts && test->own_serial == NULL)) {
        return E_MEMORY;
    }
    for (size_t i = 0; i < result->duty_count; i++) {
        record_duty(&result->duties[i], &result->curves.of[CURVE_HEAD], &test->duties[i]);
    }
    record_curve(&result->curves.of[CURVE_HEAD], test);
    return OK;
}

enum status batch_record_unread(const struct faults *faults, struct arena *arena, struct batch_test *test)
{
    const char *text = faults->count > 0 ? faults->text[0] : "no result";
    const char *path = test->row->log_path, *shown = test->row->log;
    size_t length = strlen(path);
    /* Named as the list names it, so that the batch table is the same wherever the program was started. */
    bool named = strncmp(text, path, length) == 0 && length < 200;
    size_t more = faults->count > 1 ? faults->count - 1 : 0;
    const char *reason =
        more > 0 ? arena_format(arena, "%s%s (and %zu more)", named ? shown : "", named ? text + length : text, more)
                 : arena_format(arena, "%s%s", named ? shown : "", named ? text + length : text);
    test->reason = reason == NULL ? NULL : text_shown(arena, reason, REASON_LONGEST);
    test->model_name = test->row->model;
    test->tester = test->row->tester;
    test->remarks = test->row->remarks;
    test->tested = test->row->tested;
    test->verdict = VERDICT_NOT_JUDGED;
    test->unread = true;
    return test->reason == NULL ? E_MEMORY : OK;
}

const char *batch_verdict_text(const struct batch_test *test)
{
    return verdict_text(test->verdict, test->calibration, test->routine_fails);
}
