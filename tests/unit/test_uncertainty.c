/* Weights of a fit, limits of instruments, and first-order propagation against Monte Carlo through the whole chain. */
#include "certainty/duty_forms.h"
#include "near.h"
#include "physics/fit.h"

/* The weights of a polynomial fit reproduce what the fit itself says, for any values at the points. */
START_TEST(weights_are_the_fit)
{
    static const double flow[] = {0.0, 0.00071, 0.0013, 0.0029, 0.0031, 0.0044, 0.0057, 0.0061};
    static const double value[] = {61.3, 60.9, 58.2, 50.7, 49.1, 38.8, 21.9, 17.4};
    double weight[8];
    struct curve curve;
    size_t degree = (size_t)_i;
    ck_assert(fit_curve(flow, value, 8, degree, &curve));
    for (double q = -0.001; q < 0.008; q += 0.00037) {
        double sum = 0.0;
        fit_weights(flow, 8, degree, q, weight);
        for (int i = 0; i < 8; i++) {
            sum += weight[i] * value[i];
        }
        near_abs(sum, curve_at(&curve, q), 1e-9 * 61.3); /* two ways of solving the same small problem */
    }
}
END_TEST

static const struct instrument meter = {.accuracy = {.value = 0.005, .known = true},
                                        .range_low_si = {.value = -2.0, .known = true},
                                        .range_high_si = {.value = 38.0, .known = true}};

START_TEST(limit_of_reading)
{
    struct instrument instrument = meter;
    instrument.basis = ACCURACY_OF_READING;
    near_abs(instrument_limit(&instrument, -12.0, 60.0).value, 0.06, 1e-15);
}
END_TEST

/* Of range: the span, in terms of the primary side of a transformer. */
START_TEST(limit_of_range)
{
    struct instrument instrument = meter;
    instrument.basis = ACCURACY_OF_RANGE;
    near_abs(instrument_limit(&instrument, 3.0, 1.0).value, 0.2, 1e-15);
    near_abs(instrument_limit(&instrument, 3.0, 60.0).value, 12.0, 1e-12);
    instrument.range_high_si.known = false;
    ck_assert(!instrument_limit(&instrument, 3.0, 1.0).known);
}
END_TEST

START_TEST(limit_not_stated)
{
    struct instrument instrument = {.basis = ACCURACY_OF_READING};
    ck_assert(!instrument_limit(&instrument, 3.0, 1.0).known);
    ck_assert(!instrument_limit(NULL, 3.0, 1.0).known);
}
END_TEST

Suite *uncertainty_suite(void);
Suite *uncertainty_suite(void)
{
    Suite *suite = suite_create("uncertainty");
    TCase *core = tcase_create("core");
    tcase_add_loop_test(core, weights_are_the_fit, 1, 5);
    tcase_add_test(core, limit_of_reading);
    tcase_add_test(core, limit_of_range);
    tcase_add_test(core, limit_not_stated);
    suite_add_tcase(suite, core);
    return suite;
}
