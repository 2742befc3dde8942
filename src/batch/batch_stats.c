/* What the tests of a batch say together: counts, margins, capability, drift */

#include "batch/batch_stats.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Shewhart's constants for moving ranges of two. d2: mean range in standard deviations, 2/sqrt(pi); limits of
 * individuals 3/d2; limit of the range D4. Source: ISO 7870-2:2013, tables of constants (from memory). */
static const double d2_of_two = 1.128, individual_factor = 2.66, range_factor = 3.267;

enum { RUN_LENGTH = 9 };

/* --- counts --- */

static void count_unit(struct batch_counts *counts, const struct batch_test *test)
{
    counts->tests++;
    if (test->superseded) {
        counts->superseded++;
        return;
    }
    counts->units++;
    counts->retested += test->tests > 1;
    counts->passed += test->verdict == VERDICT_PASS;
    counts->failed += test->verdict == VERDICT_FAIL;
    counts->not_judged += test->verdict == VERDICT_NOT_JUDGED;
    counts->overdue += test->calibration == CALIBRATION_OVERDUE;
    counts->routine_failed += test->routine_fails;
}

/* --- one series --- */

/* A counting test's place in time. */
struct member {
    const struct batch_test *test;
    size_t row;
};

static int compare_members(const void *a, const void *b)
{
    const struct member *p = a, *q = b;
    const struct date *p_date = &p->test->tested, *q_date = &q->test->tested;
    int order = 0;
    if (p_date->known && q_date->known) {
        /* By day, then (a day without a time goes first) by time of day: an order that sorting can rely on. */
        order = date_compare_days(p_date, q_date);
        if (order == 0 && p_date->has_time != q_date->has_time) {
            order = p_date->has_time ? 1 : -1;
        }
        order = order == 0 && p_date->has_time ? date_compare(p_date, q_date) : order;
    } else if (p_date->known != q_date->known) {
        order = p_date->known ? -1 : 1;
    }
    return order != 0 ? order : p->row < q->row ? -1 : p->row > q->row;
}

static void find_mean(struct batch_series *series)
{
    double sum = 0.0, squares = 0.0;
    series->least = series->greatest = series->values[0];
    for (size_t i = 0; i < series->count; i++) {
        sum += series->values[i];
        series->least = fmin(series->least, series->values[i]);
        series->greatest = fmax(series->greatest, series->values[i]);
    }
    series->mean = sum / (double)series->count;
    for (size_t i = 0; i < series->count; i++) {
        double apart = series->values[i] - series->mean;
        squares += apart * apart;
    }
    if (series->count >= SERIES_SPREAD_MIN) {
        series->deviation = quantity_of(sqrt(squares / (double)(series->count - 1)));
    }
}

static void find_limits(struct batch_series *series)
{
    double sum = 0.0;
    for (size_t i = 1; i < series->count; i++) {
        sum += fabs(series->values[i] - series->values[i - 1]);
    }
    if (series->count >= SERIES_SPREAD_MIN) {
        series->moving_range = quantity_of(sum / (double)(series->count - 1));
    }
    if (series->count >= SERIES_CHART_MIN) {
        double range = series->moving_range.value;
        series->low = quantity_of(series->mean - individual_factor * range);
        series->high = quantity_of(series->mean + individual_factor * range);
        series->range_high = quantity_of(range_factor * range);
    }
}

/* Length of the run of values on one side of the mean that ends at i. */
static size_t run_at(const struct batch_series *series, size_t i)
{
    size_t length = 1;
    bool above = series->values[i] > series->mean;
    while (length <= i && series->values[i] != series->mean && series->values[i - length] != series->mean &&
           (series->values[i - length] > series->mean) == above) {
        length++;
    }
    return length;
}

static void name_points(struct batch_series *series)
{
    for (size_t i = 0; i < series->count && series->low.known; i++) {
        double value = series->values[i], range = i > 0 ? fabs(value - series->values[i - 1]) : 0.0;
        series->out_value[i] = value < series->low.value || value > series->high.value;
        series->out_range[i] = range > series->range_high.value;
        series->run[i] = run_at(series, i) >= RUN_LENGTH;
        series->out_count += series->out_value[i] || series->out_range[i] || series->run[i];
    }
}

/* The distance to the nearer limit in units of three standard deviations; absent when nothing varies. */
static struct quantity capability(const struct batch_series *series, double deviation)
{
    double room = series->mean;
    if (series->permitted_high.known) {
        room = fmin(room, series->permitted_high.value - series->mean);
    }
    return deviation > 0.0 ? quantity_of(room / (3.0 * deviation)) : quantity_absent();
}

static void evaluate(struct batch_series *series)
{
    find_mean(series);
    find_limits(series);
    name_points(series);
    if (series->deviation.known) {
        series->ppk = capability(series, series->deviation.value);
        series->cpk = capability(series, series->moving_range.value / d2_of_two);
    }
}

static struct quantity margin_of(const struct batch_test *test, size_t duty, bool head)
{
    const struct batch_duty *read = &test->duties[duty];
    return head ? read->head_margin_m : read->efficiency_margin;
}

static enum status make_series(const struct member *members, size_t count, size_t duty, bool head, struct arena *arena,
                               struct batch_series *series)
{
    *series = (struct batch_series){.name = head ? "head margin" : "efficiency margin", .head = head};
    series->values = arena_alloc(arena, count, sizeof *series->values);
    series->tests = arena_alloc(arena, count, sizeof *series->tests);
    series->out_value = arena_alloc(arena, count, sizeof *series->out_value);
    series->out_range = arena_alloc(arena, count, sizeof *series->out_range);
    series->run = arena_alloc(arena, count, sizeof *series->run);
    if (series->values == NULL || series->tests == NULL || series->out_value == NULL || series->out_range == NULL ||
        series->run == NULL) {
        return E_MEMORY;
    }
    double room_m = 0.0;
    size_t rooms = 0;
    for (size_t i = 0; i < count; i++) {
        const struct batch_test *test = members[i].test;
        if (!test->unread && !test->superseded && margin_of(test, duty, head).known) {
            series->tests[series->count] = test;
            series->values[series->count++] = margin_of(test, duty, head).value;
            rooms += head && test->duties[duty].head_room_m.known;
            room_m += head ? quantity_or(test->duties[duty].head_room_m, 0.0) : 0.0;
        }
    }
    if (rooms > 0) {
        series->permitted_high = quantity_of(room_m / (double)rooms);
    }
    if (series->count > 0) {
        evaluate(series);
    }
    return OK;
}

/* --- sections --- */

static struct batch_section *section_of(struct batch_summary *summary, const struct model *model, struct arena *arena)
{
    for (size_t i = 0; i < summary->section_count; i++) {
        if (summary->sections[i].model == model) {
            return &summary->sections[i];
        }
    }
    struct batch_section *section = arena_push(arena, &summary->sections, &summary->section_count, sizeof *section);
    if (section != NULL) {
        section->model = model;
        section->duty_count = model->duty_count;
    }
    return section;
}

static enum status fill_section(const struct batch *batch, struct batch_section *section, struct arena *arena)
{
    struct arena scratch = {0};
    size_t count = 0;
    struct member *members = arena_alloc(&scratch, batch->count, sizeof *members);
    section->head = arena_alloc(arena, section->duty_count, sizeof *section->head);
    section->efficiency = arena_alloc(arena, section->duty_count, sizeof *section->efficiency);
    bool good = members != NULL && section->head != NULL && section->efficiency != NULL;
    for (size_t i = 0; good && i < batch->count; i++) {
        if (batch->tests[i].model == section->model) {
            members[count++] = (struct member){&batch->tests[i], i};
        }
    }
    if (good && count > 1) {
        qsort(members, count, sizeof *members, compare_members);
    }
    for (size_t duty = 0; good && duty < section->duty_count; duty++) {
        good = make_series(members, count, duty, true, arena, &section->head[duty]) == OK &&
               make_series(members, count, duty, false, arena, &section->efficiency[duty]) == OK;
    }
    arena_release(&scratch);
    return good ? OK : E_MEMORY;
}

static void widen_dates(struct batch_summary *summary, const struct date *tested)
{
    if (!tested->known) {
        return;
    }
    if (!summary->first_tested.known || date_compare_days(tested, &summary->first_tested) < 0) {
        summary->first_tested = *tested;
    }
    if (!summary->last_tested.known || date_compare_days(tested, &summary->last_tested) > 0) {
        summary->last_tested = *tested;
    }
}

enum status batch_sum_up(const struct batch *batch, struct arena *arena, struct batch_summary *summary)
{
    *summary = (struct batch_summary){0};
    for (size_t i = 0; i < batch->count; i++) {
        const struct batch_test *test = &batch->tests[i];
        count_unit(&summary->counts, test);
        widen_dates(summary, &test->tested);
        if (test->model == NULL) {
            summary->stray++;
            continue;
        }
        struct batch_section *section = section_of(summary, test->model, arena);
        if (section == NULL) {
            return E_MEMORY;
        }
        count_unit(&section->counts, test);
    }
    for (size_t i = 0; i < summary->section_count; i++) {
        if (fill_section(batch, &summary->sections[i], arena) != OK) {
            return E_MEMORY;
        }
    }
    return OK;
}
