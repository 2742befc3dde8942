#include "physics/electric.h"

#include "near.h"

#define KNOWN(x) ((struct quantity){.value = (x), .known = true})
static const struct quantity absent = {0};

START_TEST(mean_is_of_the_known_readings)
{
    struct quantity readings[] = {KNOWN(412.0), absent, KNOWN(417.0)};
    struct quantity mean = mean_of(readings, 3);
    ck_assert(mean.known);
    near_abs(mean.value, 414.5, 0.0); /* exact in binary */
    ck_assert(!mean_of(readings + 1, 1).known && !mean_of(readings, 0).known);
}
END_TEST

START_TEST(unbalance_is_nemas_example)
{
    /* NEMA MG 1, 14.36.2: 460, 467 and 450 V; average 459, largest deviation 9, unbalance 1.96 % (from memory) */
    struct quantity volts[] = {KNOWN(460.0), KNOWN(467.0), KNOWN(450.0)};
    near_abs(unbalance_of(volts, 3).value, 0.0196, 5e-5); /* printed to 0.01 % */
    volts[1] = absent;
    ck_assert(!unbalance_of(volts, 3).known);
    struct quantity dead[] = {KNOWN(0.0), KNOWN(0.0), KNOWN(0.0)};
    ck_assert(!unbalance_of(dead, 3).known && !unbalance_of(volts, 0).known);
}
END_TEST

/* Bird, Electrical Circuit Theory and Technology, Ex. 19.18: 415 V, 8 + j8 ohm a phase; the readings of both
 * wattmeters. */
static const struct {
    double line_current_a, wattmeter_1_w, wattmeter_2_w;
} bird[] = {
    {415.0 / 1.7320508075688772 / 11.313708498984761, 8489.35, 2274.71},  /* star: V/sqrt(3) over sqrt(128) ohm */
    {415.0 * 1.7320508075688772 / 11.313708498984761, 25468.05, 6824.14}, /* delta: sqrt(3) V over the same */
};

START_TEST(power_is_the_sum_of_two_wattmeters)
{
    struct quantity power_factor = KNOWN(0.70710678118654752); /* R = X */
    struct quantity power = power_of_current(3.0, KNOWN(415.0), KNOWN(bird[_i].line_current_a), power_factor);
    double sum_w = bird[_i].wattmeter_1_w + bird[_i].wattmeter_2_w;
    ck_assert(power.known);
    near_abs(power.value, sum_w, 0.01); /* two readings printed to 0.01 W */
    near_abs(power_factor_of(3.0, KNOWN(sum_w), KNOWN(415.0), KNOWN(bird[_i].line_current_a)).value, power_factor.value,
             1e-6);
}
END_TEST

START_TEST(one_phase_has_no_root_of_three)
{
    near_abs(power_of_current(1.0, KNOWN(230.0), KNOWN(10.0), KNOWN(0.8)).value, 1840.0, 1e-9); /* rounding */
    near_abs(power_factor_of(1.0, KNOWN(1840.0), KNOWN(230.0), KNOWN(10.0)).value, 0.8, 1e-15);
}
END_TEST

START_TEST(readings_without_sense_give_no_power)
{
    struct quantity v = KNOWN(415.0), a = KNOWN(10.0), f = KNOWN(0.8), p = KNOWN(5000.0);
    ck_assert(!power_of_current(3.0, absent, a, f).known && !power_of_current(3.0, v, absent, f).known);
    ck_assert(!power_of_current(3.0, v, a, absent).known && !power_of_current(2.0, v, a, f).known);
    ck_assert(!power_of_current(NAN, v, a, f).known && !power_of_current(3.0, v, KNOWN(-10.0), f).known);
    ck_assert(power_of_current(3.0, v, a, KNOWN(1.0)).known && !power_of_current(3.0, v, a, KNOWN(1.0001)).known);
    ck_assert(power_of_current(3.0, v, a, KNOWN(0.0)).known && !power_of_current(3.0, v, a, KNOWN(-0.0001)).known);
    ck_assert(!power_factor_of(3.0, p, KNOWN(0.0), a).known && !power_factor_of(3.0, p, v, KNOWN(0.0)).known);
    ck_assert(!power_factor_of(3.0, absent, v, a).known);
}
END_TEST

START_TEST(energy_meter_counts_power)
{
    /* P[kW] = 3600 n / (K t), K in rev/kWh: 20 rev in 48 s at 240 rev/kWh are 6.25 kW, by hand */
    struct quantity per_j = KNOWN(240.0 / 3.6e6);
    near_rel(power_of_meter(KNOWN(20.0), per_j, KNOWN(48.0)).value, 6250.0, 1e-14); /* rounding */
    near_abs(power_of_meter(KNOWN(0.0), per_j, KNOWN(48.0)).value, 0.0, 0.0);
    ck_assert(!power_of_meter(KNOWN(20.0), per_j, KNOWN(0.0)).known &&
              !power_of_meter(KNOWN(20.0), KNOWN(0.0), KNOWN(48.0)).known);
    ck_assert(!power_of_meter(KNOWN(-1.0), per_j, KNOWN(48.0)).known &&
              !power_of_meter(absent, per_j, KNOWN(48.0)).known);
    ck_assert(!power_of_meter(KNOWN(20.0), absent, KNOWN(48.0)).known &&
              !power_of_meter(KNOWN(20.0), per_j, absent).known);
}
END_TEST

Suite *electric_suite(void);

Suite *electric_suite(void)
{
    Suite *suite = suite_create("electric");
    TCase *core = tcase_create("core"), *limits = tcase_create("limits");
    tcase_add_test(core, mean_is_of_the_known_readings);
    tcase_add_test(core, unbalance_is_nemas_example);
    tcase_add_loop_test(core, power_is_the_sum_of_two_wattmeters, 0, 2);
    tcase_add_test(core, one_phase_has_no_root_of_three);
    tcase_add_test(core, energy_meter_counts_power);
    tcase_add_test(limits, readings_without_sense_give_no_power);
    suite_add_tcase(suite, core);
    suite_add_tcase(suite, limits);
    return suite;
}
