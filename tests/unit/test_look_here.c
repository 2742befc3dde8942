/* look_here.c: which pattern of a failed unit's numbers says where to look. Each limit from both sides. The limits are
 * rules of thumb (common practice, no source): what is tested is that the words come where the comments say. */
#include "run/look_here.h"

#include "near.h"
#include "weight.h"

#include <string.h>

#define COUNT(array) ((int)(sizeof(array) / sizeof *(array)))

/* The guarantee: 10 L/s at 100 m with 20 kW. */
static const double flow_m3s = 0.01, head_m = 100.0, power_w = 20e3, efficiency = 0.5, voltage_v = 400.0,
                    frequency_hz = 50.0;

static struct arena arena;
static struct model model;
static struct duty duty;
static struct duty_result duty_result;
static struct settled_point settled;
static struct point point;
static struct result result;

/* A set that fails by a hair and shows no pattern: every ratio is 1, efficiency 0.99 of what was guaranteed. */
static void setup(void)
{
    arena = (struct arena){0};
    duty = (struct duty){.flow_m3s = quantity_of(flow_m3s),
                         .head_m = quantity_of(head_m),
                         .input_power_w = quantity_of(power_w),
                         .efficiency = quantity_of(efficiency)};
    model = (struct model){.duty_count = 1,
                           .duties = &duty,
                           .rated_voltage_v = quantity_of(voltage_v),
                           .rated_frequency_hz = quantity_of(frequency_hz)};
    duty_result = (struct duty_result){.duty = &duty, .verdict = VERDICT_FAIL};
    duty_result.at_guaranteed_flow.head_m = quantity_of(head_m);
    duty_result.at_guaranteed_flow.input_power_w = quantity_of(power_w);
    duty_result.at_guaranteed_flow.set_efficiency = quantity_of(0.99 * efficiency);
    settled = (struct settled_point){.number = 1, .steady = true};
    point = (struct point){.settled = &settled, .fitted = true};
    result = (struct result){.model = &model,
                             .point_count = 1,
                             .points = &point,
                             .duty_count = 1,
                             .duties = &duty_result,
                             .verdict = VERDICT_FAIL};
    result.curves.of[CURVE_HEAD] =
        (struct curve){.known = true, .scale = 1.0, .flow_low_m3s = 0.5 * flow_m3s, .flow_high_m3s = 2.0 * flow_m3s};
}

static void teardown(void)
{
    arena_release(&arena);
}

/* Head, power and efficiency of the unit as shares of the guaranteed ones. */
static void unit_is(double head, double power, double of_efficiency)
{
    duty_result.at_guaranteed_flow.head_m = quantity_of(head * head_m);
    duty_result.at_guaranteed_flow.input_power_w = quantity_of(power * power_w);
    duty_result.at_guaranteed_flow.set_efficiency = quantity_of(of_efficiency * efficiency);
}

/* The lowest tested flow as a share of the guaranteed one, and the head there as a share of the guaranteed head. */
static void shut_off_is(double flow, double head)
{
    result.curves.of[CURVE_HEAD].flow_low_m3s = flow * flow_m3s;
    result.curves.of[CURVE_HEAD].scaled[0] = head * head_m;
}

/* Exactly the notes that begin so, in this order; NULL ends them. */
static void says(const char *first, const char *second)
{
    const char *const want[] = {first, second};
    size_t wanted = 0;
    while (wanted < 2 && want[wanted] != NULL) {
        wanted++;
    }
    result.notes = (struct notes){0};
    ck_assert_int_eq(look_here_add(&result, &arena), OK);
    for (size_t i = 0; i < result.notes.count; i++) {
        const struct note *note = &result.notes.items[i];
        ck_assert_int_eq(note->kind, NOTE_LOOK_HERE);
        ck_assert_msg(i < wanted && strncmp(note->text, want[i], strlen(want[i])) == 0, "note %zu: '%s', wanted '%s'",
                      i + 1, note->text, i < wanted ? want[i] : "none");
    }
    ck_assert_msg(result.notes.count == wanted, "'%s' is missing", wanted > 0 ? want[wanted - 1] : "");
}

static const char backwards[] = "head is far too low at every flow", leakage[] = "head low with power high",
                  restriction[] = "head low with power not high", trim[] = "head and power low together",
                  both_high[] = "head and power both high", friction[] = "head is right but power is high",
                  dead_phase[] = "one line carries almost no current", low_supply[] = "voltage or frequency of the",
                  one_stage[] = "head is 90.0 % of the guarantee, near (N - 1)/N for N = 10 stages";

/* --- head, power and efficiency --- */

static const struct {
    double head, power, efficiency;
    const char *says;
} patterns[] = {
    {1.0, 1.0, 0.99, NULL},
    /* head is low below 0.98 */
    {0.979, 1.0, 0.99, trim},
    {0.981, 1.0, 0.99, NULL},
    /* then power is high above 1.03, and efficiency low below 0.97 */
    {0.95, 1.031, 0.99, leakage},
    {0.95, 1.029, 0.99, trim},
    {0.95, 1.029, 0.971, trim},
    {0.95, 1.029, 0.969, restriction},
    {0.95, 1.031, 0.969, leakage},
    /* where head is right, power is high above 1.05 and efficiency low below 0.95 */
    {1.0, 1.051, 0.99, friction},
    {1.0, 1.049, 0.99, NULL},
    {1.0, 1.0, 0.949, friction},
    {1.0, 1.0, 0.951, NULL},
    /* both high: each above 1.05 */
    {1.051, 1.051, 0.99, both_high},
    {1.049, 1.051, 0.99, friction},
    {1.051, 1.049, 0.99, NULL},
};

START_TEST(a_pattern_says_where_to_look)
{
    unit_is(patterns[_i].head, patterns[_i].power, patterns[_i].efficiency);
    says(patterns[_i].says, NULL);
}
END_TEST

/* --- rotation --- */

/* Turned backwards: head below 0.80 of the guarantee at its flow and below 0.95 at shut-off, which was tested when the
 * lowest flow is below 0.1 of the guaranteed one. */
static const struct {
    double head, low_flow, shut_off;
    const char *says;
} rotations[] = {
    {0.799, 0.0, 0.949, backwards},    {0.801, 0.0, 0.949, trim},    {0.799, 0.0, 0.951, trim},
    {0.799, 0.0999, 0.949, backwards}, {0.799, 0.1001, 0.949, trim},
};

START_TEST(a_set_that_turned_backwards_is_asked_for)
{
    unit_is(rotations[_i].head, 1.0, 0.99);
    shut_off_is(rotations[_i].low_flow, rotations[_i].shut_off);
    says(rotations[_i].says, NULL);
}
END_TEST

/* --- stages --- */

/* Of N = 10 stages one is missing: head within 0.035 of 0.9 + 0.015, power within 0.08 of 0.9, efficiency within 0.06
 * of 1.01. What else is said shows that the count of stages is not. */
static const struct {
    double head, power, efficiency;
    bool missing;
} stages[] = {
    {0.8999, 0.9, 0.99, true},  {0.8801, 0.9, 0.99, true}, {0.8799, 0.9, 0.99, false}, {0.9499, 0.9, 0.99, true},
    {0.9501, 0.9, 0.99, false}, {0.9, 0.9799, 0.99, true}, {0.9, 0.9801, 0.99, false}, {0.9, 0.8201, 0.99, true},
    {0.9, 0.8199, 0.99, false}, {0.9, 0.9, 1.0699, true},  {0.9, 0.9, 1.0701, false},  {0.9, 0.9, 0.9501, true},
    {0.9, 0.9, 0.9499, false},
};

START_TEST(a_missing_stage_is_told_by_its_share)
{
    model.stages = quantity_of(10);
    unit_is(stages[_i].head, stages[_i].power, stages[_i].efficiency);
    char text[128];
    (void)snprintf(text, sizeof text, "head is %.1f %% of the guarantee, near (N - 1)/N for N = 10 stages",
                   100.0 * stages[_i].head);
    says(stages[_i].missing ? text : stages[_i].efficiency < 0.97 ? restriction : trim, NULL);
}
END_TEST

START_TEST(two_missing_stages_are_told_and_three_are_not)
{
    model.stages = quantity_of(10);
    unit_is(0.8, 0.8, 0.99);
    says("head is 80.0 % of the guarantee, near (N - 2)/N for N = 10 stages", NULL);
    unit_is(0.7, 0.7, 0.99);
    says(trim, NULL);
}
END_TEST

START_TEST(a_set_of_one_stage_misses_none)
{
    unit_is(0.5, 0.5, 0.99);
    model.stages = quantity_of(2);
    says("head is 50.0 % of the guarantee, near (N - 1)/N for N = 2 stages", NULL);
    model.stages = quantity_of(1);
    says(trim, NULL);
}
END_TEST

START_TEST(a_stage_is_asked_for_without_power_and_efficiency)
{
    model.stages = quantity_of(10);
    unit_is(0.9, 0.9, 0.99);
    duty_result.at_guaranteed_flow.input_power_w = quantity_absent();
    duty_result.at_guaranteed_flow.set_efficiency = quantity_absent();
    says(one_stage, NULL);
}
END_TEST

/* --- what is guaranteed --- */

/* Without a guaranteed power it is that of the guaranteed efficiency: P = factor Q H / eta. Here 9790 N/m3 x 0.01 m3/s
 * x 100 m / 0.5 = 19580 W. */
START_TEST(expected_power_follows_from_guaranteed_efficiency)
{
    duty.input_power_w = quantity_absent();
    set_specific_weight(&result.curves, 9790.0);
    duty_result.at_guaranteed_flow.input_power_w = quantity_of(1.051 * 19580.0);
    says(friction, NULL);
    duty_result.at_guaranteed_flow.input_power_w = quantity_of(1.049 * 19580.0);
    says(NULL, NULL);
}
END_TEST

/* A pump's efficiency is compared with the pump's, and says nothing of input power. */
START_TEST(a_pumps_efficiency_is_the_pumps)
{
    duty.efficiency_of_pump = true;
    duty.input_power_w = quantity_absent();
    set_specific_weight(&result.curves, 9790.0);
    duty_result.at_guaranteed_flow.input_power_w = quantity_of(2.0 * 19580.0);
    duty_result.at_guaranteed_flow.set_efficiency = quantity_of(0.3 * efficiency);
    duty_result.at_guaranteed_flow.pump_efficiency = quantity_of(0.951 * efficiency);
    says(NULL, NULL);
    duty_result.at_guaranteed_flow.pump_efficiency = quantity_of(0.949 * efficiency);
    says(friction, NULL);
}
END_TEST

START_TEST(only_a_failed_unit_with_a_head_curve_is_looked_at)
{
    unit_is(0.9, 1.1, 0.8);
    says(leakage, NULL);
    result.verdict = VERDICT_PASS;
    says(NULL, NULL);
    result.verdict = VERDICT_NOT_JUDGED;
    says(NULL, NULL);
    result.verdict = VERDICT_FAIL;
    result.curves.of[CURVE_HEAD].known = false;
    says(NULL, NULL);
}
END_TEST

/* --- supply --- */

/* Unbalance of current above 0.9; voltage below 0.95 and frequency below 0.98 of rated. */
static const struct {
    double unbalance, voltage, frequency;
    const char *first, *second;
} supplies[] = {
    {0.899, 1.0, 1.0, NULL, NULL},
    {0.901, 1.0, 1.0, dead_phase, NULL},
    {0.0, 0.951, 1.0, NULL, NULL},
    {0.0, 0.949, 1.0, low_supply, NULL},
    {0.0, 1.0, 0.9801, NULL, NULL},
    {0.0, 1.0, 0.9799, low_supply, NULL},
    {0.901, 0.949, 0.979, dead_phase, low_supply},
    {0.0, 1.1, 1.1, NULL, NULL},
};

START_TEST(a_bad_supply_comes_first)
{
    point.as_tested.current_unbalance = quantity_of(supplies[_i].unbalance);
    point.as_tested.voltage_v = quantity_of(supplies[_i].voltage * voltage_v);
    point.as_tested.frequency_hz = quantity_of(supplies[_i].frequency * frequency_hz);
    says(supplies[_i].first, supplies[_i].second);
}
END_TEST

Suite *look_here_suite(void);

Suite *look_here_suite(void)
{
    Suite *suite = suite_create("look_here");
    TCase *core = tcase_create("core");
    tcase_add_checked_fixture(core, setup, teardown);
    tcase_add_loop_test(core, a_pattern_says_where_to_look, 0, COUNT(patterns));
    tcase_add_loop_test(core, a_set_that_turned_backwards_is_asked_for, 0, COUNT(rotations));
    tcase_add_loop_test(core, a_missing_stage_is_told_by_its_share, 0, COUNT(stages));
    tcase_add_test(core, two_missing_stages_are_told_and_three_are_not);
    tcase_add_test(core, a_set_of_one_stage_misses_none);
    tcase_add_test(core, a_stage_is_asked_for_without_power_and_efficiency);
    tcase_add_test(core, expected_power_follows_from_guaranteed_efficiency);
    tcase_add_test(core, a_pumps_efficiency_is_the_pumps);
    tcase_add_test(core, only_a_failed_unit_with_a_head_curve_is_looked_at);
    tcase_add_loop_test(core, a_bad_supply_comes_first, 0, COUNT(supplies));
    suite_add_tcase(suite, core);
    return suite;
}
