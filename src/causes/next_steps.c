#include "causes/next_steps.h"

/* Cautions of checks that are not a cause's. */
static enum cause_caution caution_of(enum step_code code)
{
    switch (code) {
    case STEP_SUPPLY_RIGHT:
    case STEP_FREQUENCY_RIGHT:
    case STEP_FOLLOWS_SUPPLY:
    case STEP_FOLLOWS_MOTOR:
    case STEP_FEW_GOOD_UNITS:
    case STEP_ROUTINE: return CAUTION_TERMINALS;
    case STEP_TOO_HIGH:
    case STEP_LOW_EFFICIENCY:
    case STEP_NO_SINGLE_CAUSE: return CAUTION_OPEN;
    default: return CAUTION_NONE;
    }
}

struct steps {
    size_t count;
    struct next_step *items;
};

static struct next_step *add(struct steps *steps, enum step_code code)
{
    static const struct next_step blank = {0};
    size_t at = steps->count < NEXT_STEPS_MAX ? steps->count++ : NEXT_STEPS_MAX - 1;
    steps->items[at] = blank;
    steps->items[at].code = code;
    steps->items[at].caution = caution_of(code);
    return &steps->items[at];
}

/* A step that says a value against a limit, where both are known. */
static bool add_value(struct steps *steps, enum step_code code, struct quantity value, struct quantity limit)
{
    if (!value.known || !limit.known) {
        return false;
    }
    struct next_step *step = add(steps, code);
    step->value = value;
    step->limit = limit;
    return true;
}

static void add_record(const struct step_facts *facts, struct steps *steps)
{
    if (facts->impossible) {
        (void)add(steps, STEP_RECORD_RIGHT);
    }
    for (size_t i = 0; i < facts->lone_count && i < 3; i++) {
        add(steps, STEP_READ_POINT_AGAIN)->point = facts->lone_points[i];
    }
    if (facts->calibration_overdue) {
        (void)add(steps, STEP_CALIBRATE);
    }
    if (facts->dated_after_test) {
        (void)add(steps, STEP_DATE_RIGHT);
    }
}

/* What the test did not reach. */
static void add_range(const struct step_facts *facts, struct steps *steps)
{
    (void)add_value(steps, STEP_MORE_POINTS, facts->points, facts->points_needed);
    (void)add_value(steps, STEP_LOWER_HEAD, facts->lowest_head_m, facts->head_low_needed_m);
    (void)add_value(steps, STEP_HIGHER_HEAD, facts->highest_head_m, facts->head_high_needed_m);
    (void)add_value(steps, STEP_HIGHER_FLOW, facts->highest_flow_m3s, facts->flow_needed_m3s);
    (void)add_value(steps, STEP_LOWER_FLOW, facts->lowest_flow_m3s, facts->flow_low_needed_m3s);
}

static void add_supply(const struct signs *signs, struct steps *steps)
{
    if (signs == NULL) {
        return;
    }
    (void)add_value(steps, STEP_SUPPLY_RIGHT, signs->low_voltage, quantity_of(0.95));
    (void)add_value(steps, STEP_FREQUENCY_RIGHT, signs->low_frequency, quantity_of(0.98));
    if (signs->follows == FOLLOWS_SUPPLY) {
        (void)add(steps, STEP_FOLLOWS_SUPPLY);
    } else if (signs->follows == FOLLOWS_MOTOR) {
        (void)add(steps, STEP_FOLLOWS_MOTOR);
    }
}

static bool stands_already(const struct steps *steps, const struct cause_row *cause)
{
    for (size_t i = 0; i < steps->count; i++) {
        if (steps->items[i].cause == cause) {
            return true;
        }
    }
    return false;
}

static void add_check(const struct cause_row *cause, struct steps *steps)
{
    if (!stands_already(steps, cause)) {
        struct next_step *step = add(steps, STEP_CHECK_CAUSE);
        step->cause = cause;
        step->caution = cause->caution;
    }
}

/* The likeliest cause and its twins, what is looked at first in front. */
static void add_first_cause(const struct cause_found *found, struct steps *steps)
{
    for (size_t i = 0; i < found->twin_count; i++) {
        if (found->twins[i]->place < found->row->place) {
            add_check(found->twins[i], steps);
        }
    }
    add_check(found->row, steps);
    for (size_t i = 0; i < found->twin_count; i++) {
        if (found->twins[i]->place >= found->row->place) {
            add_check(found->twins[i], steps);
        }
    }
}

static void add_causes(const struct step_facts *facts, struct steps *steps)
{
    const struct causes_result *causes = facts->causes;
    if (causes == NULL) {
        return;
    }
    if (causes->outcome == CAUSES_NAMED) {
        add_first_cause(&causes->found[0], steps);
        if (causes->found[0].seen && causes->found_count > 1) {
            add_first_cause(&causes->found[1], steps);
        }
    } else if (causes->outcome == CAUSES_NONE_KNOWN) {
        (void)add(steps, STEP_NO_SINGLE_CAUSE);
    } else if (causes->outcome == CAUSES_FEW_UNITS) {
        (void)add_value(steps, STEP_FEW_GOOD_UNITS, facts->good_units, quantity_of(GOOD_UNITS_ENOUGH));
    }
}

static void add_limits(const struct step_facts *facts, struct steps *steps)
{
    if (facts->head_above_m.known) {
        add(steps, STEP_TOO_HIGH)->value = facts->head_above_m;
    }
    if (add_value(steps, STEP_OVERLOAD_CURRENT, facts->current_a, facts->current_limit_a)) {
        steps->items[steps->count - 1].at_head_m = facts->current_at_head_m;
    }
    if (add_value(steps, STEP_OVERLOAD_POWER, facts->power_w, facts->power_limit_w)) {
        steps->items[steps->count - 1].at_head_m = facts->power_at_head_m;
    }
    bool cause_named = facts->causes != NULL && facts->causes->outcome == CAUSES_NAMED;
    if (!cause_named) {
        (void)add_value(steps, STEP_LOW_EFFICIENCY, facts->efficiency, facts->efficiency_limit);
    }
}

size_t next_steps_find(const struct step_facts *facts, struct next_step steps[NEXT_STEPS_MAX])
{
    struct steps list = {.items = steps};
    if (facts->routine_fails) {
        (void)add(&list, STEP_ROUTINE);
    }
    add_record(facts, &list);
    if (facts->passes) {
        return list.count;
    }
    add_range(facts, &list);
    if (facts->conformity_probability.known && facts->conformity_probability.value >= STEP_MARGINAL_FROM) {
        add(&list, STEP_MARGINAL)->value = facts->conformity_probability;
    }
    add_supply(facts->signs, &list);
    add_limits(facts, &list);
    add_causes(facts, &list);
    if (list.count == 0) {
        (void)add(&list, STEP_TEST_AGAIN);
    }
    return list.count;
}
