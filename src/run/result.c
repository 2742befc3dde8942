#include "run/result.h"

const char *calibration_name(enum calibration calibration)
{
    switch (calibration) {
    case CALIBRATION_NOT_STATED: return "not stated";
    case CALIBRATION_VALID: return "valid";
    case CALIBRATION_OVERDUE: return "overdue";
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
    return result->verdict == VERDICT_PASS && !result_routine_fails(result);
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
