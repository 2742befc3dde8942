#include "run/result.h"

const char *calibration_name(enum calibration calibration)
{
    switch (calibration) {
    case CALIBRATION_NOT_STATED: return "not stated";
    case CALIBRATION_VALID: return "valid";
    case CALIBRATION_OVERDUE: return "overdue";
    case CALIBRATION_AFTER_TEST: return "dated after the test";
    }
    return "";
}

bool result_routine_fails(const struct result *result)
{
    return result->routine.row != NULL && result->routine.verdict == VERDICT_FAIL;
}

const char *verdict_text(enum verdict verdict, enum calibration calibration, bool routine_fails)
{
    /* by verdict; calibration overdue; routine results fail */
    static const char *const texts[][2][2] = {
        [VERDICT_PASS] = {{"pass", "pass, routine results fail"},
                          {"pass, calibration overdue", "pass, calibration overdue, routine results fail"}},
        [VERDICT_FAIL] = {{"fail", "fail, routine results fail"},
                          {"fail, calibration overdue", "fail, calibration overdue, routine results fail"}},
        [VERDICT_NOT_JUDGED] = {{"not judged", "not judged, routine results fail"},
                                {"not judged", "not judged, routine results fail"}},
    };
    return texts[verdict][calibration == CALIBRATION_OVERDUE][routine_fails];
}

const char *result_verdict_text(const struct result *result)
{
    return verdict_text(result->verdict, result->calibration, result_routine_fails(result));
}

bool result_passes(const struct result *result)
{
    return result->verdict == VERDICT_PASS;
}

bool result_is_clear(const struct result *result)
{
    return result_passes(result) && result->calibration != CALIBRATION_OVERDUE;
}

bool calibrated_after(const struct result *result, const struct instrument *instrument)
{
    return result->tested.known && instrument->calibrated.known &&
           date_compare_days(&instrument->calibrated, &result->tested) > 0;
}

bool result_uses_instrument(const struct result *result, const struct instrument *instrument)
{
    for (int channel = 0; channel < CHANNEL_COUNT; channel++) {
        if ((result->log.channels >> channel & 1U) != 0 &&
            bay_instrument(result->bay, (enum channel)channel) == instrument) {
            return true;
        }
    }
    return false;
}

const struct duty_certainty *result_duty_certainty(const struct result *result, size_t d)
{
    static const struct duty_certainty nothing = {.share_count = 0};
    return result->certainty.duties != NULL ? &result->certainty.duties[d] : &nothing;
}

struct label_test result_label_test(const struct result *result)
{
    struct label_test test = {.book = &result->bay->labels,
                              .model = result->model,
                              .tested = result->tested,
                              .curves = &result->curves,
                              .fails = result->performance == VERDICT_FAIL,
                              .impossible = result->impossible.count > 0};
    if (result->duty_count > 0) {
        test.set_efficiency = result->duties[0].at_guaranteed_flow.set_efficiency;
        test.input_power_w = result->duties[0].at_guaranteed_flow.input_power_w;
        test.head_m = result->duties[0].at_guaranteed_flow.head_m;
        test.set_efficiency_uncertainty = result_duty_certainty(result, 0)->set_efficiency;
    }
    return test;
}
