/* routine.c and routines.c: routine results against published values and against the limits of a model. */
#include "verdict/routine.h"

#include "near.h"
#include "tables/bay.h"

#include <string.h>

#define COUNT(array) ((int)(sizeof(array) / sizeof *(array)))
#define KNOWN(x)     ((struct quantity){.value = (x), .known = true})

static const double rounding = 1e-12;

static struct arena arena;
static struct model model;
static struct routine row;
static struct routine_result result;

/* Everything recorded and everything stated; all of it passes. */
static void setup(void)
{
    arena = (struct arena){0};
    model = (struct model){.rated_voltage_v = KNOWN(415.0),
                           .winding_20c_low_ohm = KNOWN(1.9),
                           .winding_20c_high_ohm = KNOWN(2.1),
                           .winding_imbalance_max = KNOWN(0.03),
                           .temperature_rise_max_k = KNOWN(35.0),
                           .insulation_min_ohm = KNOWN(50e6),
                           .high_voltage_v = KNOWN(1830.0),
                           .no_load_current_max_a = KNOWN(9.9),
                           .no_load_power_max_w = KNOWN(990.0),
                           .locked_rotor_current_max_a = KNOWN(90.0),
                           .proof_pressure_min_pa = KNOWN(1.2e6)};
    row = (struct routine){.serial = "R-1",
                           .tester = "",
                           .winding_ohm = {KNOWN(2.0), KNOWN(2.04), KNOWN(1.99)},
                           .winding_c = KNOWN(20.0),
                           .hot_winding_ohm = {KNOWN(2.3)},
                           .coolant_c = KNOWN(30.0),
                           .insulation_ohm = KNOWN(200e6),
                           .high_voltage_v = KNOWN(1830.0),
                           .high_voltage_s = KNOWN(60.0),
                           .high_voltage_outcome = OUTCOME_HELD,
                           .no_load_v = KNOWN(415.0),
                           .no_load_a = KNOWN(9.0),
                           .no_load_w = KNOWN(900.0),
                           .locked_rotor_v = KNOWN(104.0),
                           .locked_rotor_a = KNOWN(20.0),
                           .locked_rotor_w = KNOWN(2000.0),
                           .proof_pa = KNOWN(1.2e6),
                           .proof_s = KNOWN(120.0),
                           .proof_outcome = OUTCOME_HELD};
}

static void teardown(void)
{
    arena_release(&arena);
}

static void judge(void)
{
    ck_assert_int_eq(routine_judge(&model, &row, &arena, &result), OK);
}

static const struct routine_check *find(const char *name)
{
    for (size_t i = 0; i < result.check_count; i++) {
        if (strcmp(result.checks[i].name, name) == 0) {
            return &result.checks[i];
        }
    }
    return NULL;
}

static const struct routine_check *check_of(const char *name)
{
    const struct routine_check *check = find(name);
    ck_assert_msg(check != NULL, "no check '%s'", name);
    return check;
}

/* --- formulas --- */

START_TEST(rise_meets_the_published_example)
{
    /* S. Singh, Basic Electrical Engineering, example 2.18: copper, 3.42 ohm at 20 degC and 4.22 ohm hot: 59.59 K with
     * alpha0 = 0.00426, which is k = 234.7; k = 235 of IEC 60034-1 gives 0.8 / 3.42 x 255 = 59.649 */
    struct quantity rise = rise_by_resistance(KNOWN(3.42), KNOWN(20.0), KNOWN(4.22), KNOWN(20.0));
    ck_assert(rise.known);
    near_abs(rise.value, 59.649122807017544, 1e-10); /* rounding of about 60 */
    near_abs(rise.value, 59.59, 0.07);               /* k differs by 0.3 in 255 */
    /* over a coolant 10 K warmer than the cold winding: 10 K less */
    near_abs(rise_by_resistance(KNOWN(3.42), KNOWN(20.0), KNOWN(4.22), KNOWN(30.0)).value, 49.649122807017544, 1e-10);
    ck_assert(!rise_by_resistance((struct quantity){0}, KNOWN(20.0), KNOWN(4.22), KNOWN(20.0)).known);
    ck_assert(!rise_by_resistance(KNOWN(3.42), KNOWN(20.0), KNOWN(4.22), (struct quantity){0}).known);
    ck_assert(!rise_by_resistance(KNOWN(0.0), KNOWN(20.0), KNOWN(4.22), KNOWN(20.0)).known);
}
END_TEST

static const struct {
    double ohm, winding_c, at_20c_ohm; /* NaN: absent */
} colds[] = {
    {2.0, 20.0, 2.0},
    {2.0, 30.0, 2.0 * 255.0 / 265.0},
    {2.0, -30.0, 2.0 * 255.0 / 205.0},
    {2.0, 200.0, 2.0 * 255.0 / 435.0},
    {2.0, -30.1, NAN},
    {2.0, 200.1, NAN},
};

START_TEST(winding_is_taken_to_20_degrees)
{
    struct quantity ohm = winding_at_20c(KNOWN(colds[_i].ohm), KNOWN(colds[_i].winding_c));
    ck_assert(ohm.known == isfinite(colds[_i].at_20c_ohm));
    if (ohm.known) {
        near_rel(ohm.value, colds[_i].at_20c_ohm, rounding);
    }
}
END_TEST

START_TEST(high_voltage_is_iecs)
{
    /* 2 U + 1000 V, at least 1500 V (IEC 60034-1, from memory): 415 V is the 1830 V of catalogues */
    near_abs(high_voltage_level(415.0), 1830.0, 0.0);
    near_abs(high_voltage_level(240.0), 1500.0, 0.0);
    near_abs(high_voltage_level(250.0), 1500.0, 0.0);
    near_abs(high_voltage_level(251.0), 1502.0, 0.0);
}
END_TEST

/* --- judging --- */

START_TEST(all_within_limits_passes)
{
    judge();
    ck_assert_int_eq(result.verdict, VERDICT_PASS);
    ck_assert_uint_eq(result.check_count, 9);
    for (size_t i = 0; i < result.check_count; i++) {
        ck_assert_msg(result.checks[i].verdict == VERDICT_PASS, "%s", result.checks[i].name);
    }
    near_rel(check_of("winding at 20 °C")->value.value, 2.01, rounding);
    near_rel(check_of("winding imbalance")->value.value, 0.03 / 2.01, 1e-11); /* difference of two near numbers */
    near_abs(check_of("rise by resistance")->value.value, 0.15 * 255.0 - 10.0, 1e-10);
    near_rel(check_of("locked-rotor current")->value.value, 20.0 * 415.0 / 104.0, rounding);
}
END_TEST

/* One result moved to its limit, and just past it. */
static const struct {
    const char *name;
    size_t at; /* of a quantity in struct routine */
    double good, bad;
} edges[] = {
    {"winding at 20 °C", offsetof(struct routine, winding_ohm[2]), 1.9, 1.899},
    {"winding at 20 °C", offsetof(struct routine, winding_ohm[1]), 2.1, 2.101},
    {"winding imbalance", offsetof(struct routine, winding_ohm[1]), 2.086,
     2.087}, /* x = 1.03 (3.99 + x) / 3: 2.08614 */
    {"rise by resistance", offsetof(struct routine, hot_winding_ohm[0]), 2.3529,
     2.3530}, /* 2 (1 + 45 / 255) = 2.352941 */
    {"insulation resistance", offsetof(struct routine, insulation_ohm), 50e6, 49.9e6},
    {"high-voltage test", offsetof(struct routine, high_voltage_v), 1830.0, 1829.0},
    {"no-load current", offsetof(struct routine, no_load_a), 9.9, 9.91},
    {"no-load power", offsetof(struct routine, no_load_w), 990.0, 991.0},
    {"locked-rotor current", offsetof(struct routine, locked_rotor_a), 22.55, 22.56}, /* 90 x 104 / 415 = 22.5542 */
    {"proof pressure", offsetof(struct routine, proof_pa), 1.2e6, 1.199e6},
};

START_TEST(each_limit_decides_at_its_edge)
{
    struct quantity *moved = (struct quantity *)(void *)((char *)&row + edges[_i].at);
    model.winding_imbalance_max = strcmp(edges[_i].name, "winding at 20 °C") == 0 ? KNOWN(0.5) : KNOWN(0.03);
    moved->value = edges[_i].good;
    judge();
    ck_assert_int_eq(check_of(edges[_i].name)->verdict, VERDICT_PASS);
    ck_assert_int_eq(result.verdict, VERDICT_PASS);
    moved->value = edges[_i].bad;
    judge();
    ck_assert_int_eq(check_of(edges[_i].name)->verdict, VERDICT_FAIL);
    ck_assert_int_eq(result.verdict, VERDICT_FAIL);
}
END_TEST

START_TEST(without_limits_all_is_shown_and_nothing_judged)
{
    model = (struct model){.rated_voltage_v = KNOWN(415.0)};
    judge();
    ck_assert_int_eq(result.verdict, VERDICT_NOT_JUDGED);
    ck_assert_uint_eq(result.check_count, 9);
    for (size_t i = 0; i < result.check_count; i++) {
        ck_assert_int_eq(result.checks[i].verdict, VERDICT_NOT_JUDGED);
        ck_assert(!result.checks[i].limited && result.checks[i].value.known);
        ck_assert_str_eq(result.checks[i].reason, "models.csv states no limit: shown, not judged");
    }
    ck_assert_ptr_nonnull(strstr(check_of("high-voltage test")->detail, "1830 V"));
    ck_assert_ptr_nonnull(strstr(check_of("high-voltage test")->detail, "from memory, confirm"));
}
END_TEST

START_TEST(a_limit_without_a_result_is_not_judged)
{
    row.insulation_ohm = (struct quantity){0};
    judge();
    ck_assert_int_eq(result.verdict, VERDICT_NOT_JUDGED);
    ck_assert_str_eq(check_of("insulation resistance")->reason, "not recorded");
    row.no_load_a.value = 20.0; /* a failure goes before it */
    judge();
    ck_assert_int_eq(result.verdict, VERDICT_FAIL);
}
END_TEST

START_TEST(a_breakdown_fails_whatever_is_stated)
{
    model.high_voltage_v = (struct quantity){0};
    row.high_voltage_outcome = OUTCOME_FAILED;
    judge();
    ck_assert_int_eq(result.verdict, VERDICT_FAIL);
    ck_assert_str_eq(check_of("high-voltage test")->reason, "the winding broke down");
    row.high_voltage_outcome = OUTCOME_HELD;
    row.proof_outcome = OUTCOME_FAILED;
    judge();
    ck_assert_int_eq(check_of("proof pressure")->verdict, VERDICT_FAIL);
    row.proof_outcome = OUTCOME_NOT_STATED; /* a pressure alone says nothing */
    judge();
    ck_assert_int_eq(check_of("proof pressure")->verdict, VERDICT_NOT_JUDGED);
    ck_assert_int_eq(result.verdict, VERDICT_NOT_JUDGED);
}
END_TEST

START_TEST(a_minute_of_high_voltage_is_long_enough)
{
    judge();
    ck_assert_ptr_null(strstr(check_of("high-voltage test")->detail, "shorter"));
    row.high_voltage_s = KNOWN(59.9);
    judge();
    ck_assert_ptr_nonnull(strstr(check_of("high-voltage test")->detail, "shorter than 1 min"));
}
END_TEST

START_TEST(no_load_is_judged_near_rated_voltage_only)
{
    row.no_load_v = KNOWN(415.0 * 0.98);
    judge();
    ck_assert_int_eq(check_of("no-load current")->verdict, VERDICT_PASS);
    row.no_load_v = KNOWN(415.0 * 0.9799);
    judge();
    ck_assert_int_eq(check_of("no-load current")->verdict, VERDICT_NOT_JUDGED);
    ck_assert_int_eq(check_of("no-load power")->verdict, VERDICT_NOT_JUDGED);
    ck_assert_ptr_nonnull(strstr(check_of("no-load power")->reason, "2 % from rated"));
}
END_TEST

START_TEST(without_a_winding_temperature_only_balance_is_judged)
{
    row.winding_c = (struct quantity){0};
    judge();
    ck_assert_int_eq(check_of("winding at 20 °C")->verdict, VERDICT_NOT_JUDGED);
    ck_assert_int_eq(check_of("winding imbalance")->verdict, VERDICT_PASS);
    ck_assert_int_eq(check_of("rise by resistance")->verdict, VERDICT_NOT_JUDGED);
    row.hot_winding_ohm[0] = (struct quantity){0}; /* no heat run: no line for it */
    judge();
    ck_assert_ptr_null(find("rise by resistance"));
}
END_TEST

START_TEST(a_single_phase_motor_has_no_balance)
{
    row.winding_kind = WINDINGS_SINGLE;
    row.winding_ohm[1] = KNOWN(4.4);
    row.winding_ohm[2] = (struct quantity){0};
    model.winding_imbalance_max = (struct quantity){0};
    judge();
    ck_assert_int_eq(result.verdict, VERDICT_PASS);
    near_rel(check_of("winding at 20 °C")->value.value, 2.0, rounding);
    ck_assert_ptr_null(find("winding imbalance"));
}
END_TEST

START_TEST(figures_tell_a_value_from_its_limit)
{
    struct routine_figures figures;
    row.insulation_ohm = KNOWN(49.9999e6);
    judge();
    routine_figures_of(check_of("insulation resistance"), &figures);
    ck_assert_str_eq(figures.value, "49.9999");
    ck_assert_str_eq(figures.limits, "≥ 50.0000");
    ck_assert_str_eq(figures.unit, "MΩ");
    routine_figures_of(check_of("winding at 20 °C"), &figures);
    ck_assert_str_eq(figures.limits, "1.900 to 2.100");
    routine_figures_of(check_of("rise by resistance"), &figures); /* 0.15 x 255 - 10 */
    ck_assert_str_eq(figures.value, "28.25");
    ck_assert_str_eq(figures.unit, "K");
}
END_TEST

/* --- the table --- */

START_TEST(the_latest_row_of_a_serial_counts)
{
    struct faults faults = {0};
    struct bay bay = {0};
    size_t rows;
    ck_assert_msg(routines_read("tests/bays/full/routine.csv", &arena, &bay, &faults) == OK, "%s", faults.text[0]);
    const struct routine *found = routine_of(&bay, "R-1", &rows);
    ck_assert_uint_eq(rows, 4);
    ck_assert_uint_eq(found->line, 5); /* the later of two of one day */
    near_rel(found->insulation_ohm.value, 120e6, rounding);
    ck_assert_ptr_null(routine_of(&bay, "r-1", &rows)); /* a serial is a serial */
    ck_assert_uint_eq(rows, 0);
    found = routine_of(&bay, "R-2", &rows);
    ck_assert_int_eq(found->winding_kind, WINDINGS_OF_PHASES);
    near_rel(found->winding_ohm[1].value, 1.02, rounding);
    near_rel(found->winding_c.value, 25.0, 1e-11); /* 77 degF */
    ck_assert_int_eq(found->high_voltage_outcome, OUTCOME_FAILED);
    ck_assert_int_eq(found->proof_outcome, OUTCOME_HELD);
    near_rel(found->proof_pa.value, 1.5e6, rounding);
}
END_TEST

Suite *routine_suite(void);

Suite *routine_suite(void)
{
    Suite *suite = suite_create("routine");
    TCase *core = tcase_create("core");
    tcase_add_checked_fixture(core, setup, teardown);
    tcase_add_test(core, rise_meets_the_published_example);
    tcase_add_loop_test(core, winding_is_taken_to_20_degrees, 0, COUNT(colds));
    tcase_add_test(core, high_voltage_is_iecs);
    tcase_add_test(core, all_within_limits_passes);
    tcase_add_loop_test(core, each_limit_decides_at_its_edge, 0, COUNT(edges));
    tcase_add_test(core, without_limits_all_is_shown_and_nothing_judged);
    tcase_add_test(core, a_limit_without_a_result_is_not_judged);
    tcase_add_test(core, a_breakdown_fails_whatever_is_stated);
    tcase_add_test(core, a_minute_of_high_voltage_is_long_enough);
    tcase_add_test(core, no_load_is_judged_near_rated_voltage_only);
    tcase_add_test(core, without_a_winding_temperature_only_balance_is_judged);
    tcase_add_test(core, a_single_phase_motor_has_no_balance);
    tcase_add_test(core, figures_tell_a_value_from_its_limit);
    tcase_add_test(core, the_latest_row_of_a_serial_counts);
    suite_add_tcase(suite, core);
    return suite;
}
