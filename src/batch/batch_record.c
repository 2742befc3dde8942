/* What is kept of a test once it is reduced */
#include "batch/batch_record.h"

#include "base/text.h"

#include <string.h>

enum { REASON_LONGEST = 400 };

static struct quantity difference(struct quantity a, struct quantity b)
{
    return a.known && b.known ? quantity_of(a.value - b.value) : quantity_absent();
}

static void record_duty(const struct duty_result *result, const struct duty_certainty *certainty,
                        const struct curve *head, struct batch_duty *duty)
{
    *duty = (struct batch_duty){
        .duty = result->duty,
        .flow_m3s = result->at_guaranteed_head.flow_m3s,
        .head_m = result->at_guaranteed_flow.head_m,
        .input_power_w = result->at_guaranteed_flow.input_power_w,
        .current_a = result->at_guaranteed_flow.current_a,
        .set_efficiency = result->at_guaranteed_flow.set_efficiency,
        .pump_efficiency = result->at_guaranteed_flow.pump_efficiency,
        .tolerance = result->tolerance,
        .check_count = result->check_count,
        .verdict = result->verdict,
    };
    struct tolerance_room room = tolerance_room_of(&result->tolerance, head, result->at_guaranteed_head.flow_m3s);
    duty->head_margin_m = room.fall_m;
    if (room.fall_m.known && room.rise_m.known) {
        duty->head_room_m = quantity_of(room.fall_m.value + room.rise_m.value);
    }
    for (size_t i = 0; i < result->check_count; i++) {
        const struct check *check = &result->checks[i];
        duty->checks[i] = *check;
        duty->conformance_probability[i] = certainty->conformance_probability[i];
        if (check->item == CHECK_EFFICIENCY) {
            duty->efficiency = check->compared.known ? check->compared : check->value;
            duty->efficiency_margin = difference(duty->efficiency, check->limit_low);
        }
    }
}

static void record_curve(const struct curve *head, struct batch_test *test)
{
    test->curve_known = head->known;
    if (!test->curve_known) {
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
    static const struct curve none = {.known = false};
    /* A curve of impossible readings is kept out of margins and charts. */
    const struct curve *head = result->impossible.count > 0 ? &none : &result->curves.of[CURVE_HEAD];
    test->model = result->model;
    test->model_name = result->model->name;
    test->serial = copy(arena, result->serial);
    test->tester = copy(arena, result->tester);
    test->remarks = copy(arena, result->remarks);
    test->tested = result->tested;
    memcpy(test->sha256, result->log.sha256, sizeof test->sha256);
    test->verdict = result->verdict;
    test->calibration = result->calibration;
    test->impossible = result->impossible.count > 0;
    test->odd = test->impossible ? result->impossible.items[0] : (struct odd_value){0};
    test->routine_fails = result_routine_fails(result);
    test->channels = result->log.channels;
    test->conformance_probability = result->certainty.conformance_probability;
    test->duty_count = result->duty_count;
    test->duties = arena_alloc(arena, result->duty_count, sizeof *test->duties);
    if (test->serial == NULL || test->tester == NULL || test->remarks == NULL || test->duties == NULL) {
        return E_MEMORY;
    }
    for (size_t i = 0; i < result->duty_count; i++) {
        record_duty(&result->duties[i], result_duty_certainty(result, i), head, &test->duties[i]);
    }
    record_curve(head, test);
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
    test->trouble = reason == NULL ? NULL : text_shown(arena, reason, REASON_LONGEST);
    test->model_name = test->row->model;
    test->tester = test->row->tester;
    test->remarks = test->row->remarks;
    test->tested = test->row->tested;
    test->verdict = VERDICT_NOT_JUDGED;
    test->unread = true;
    return test->trouble == NULL ? E_MEMORY : OK;
}

const char *batch_verdict_text(const struct batch_test *test)
{
    return verdict_text(test->verdict, test->calibration, test->routine_fails);
}
