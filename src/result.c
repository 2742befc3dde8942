#include "dutyproof/result.h"

const char *calibration_name(enum calibration calibration)
{
    switch (calibration) {
    case CALIBRATION_NOT_STATED: return "not stated";
    case CALIBRATION_VALID: return "valid";
    case CALIBRATION_OVERDUE: return "overdue";
    }
    return "";
}

const char *result_verdict_text(const struct result *result)
{
    bool overdue = result->calibration == CALIBRATION_OVERDUE;
    switch (result->verdict) {
    case VERDICT_PASS: return overdue ? "pass, calibration overdue" : "pass";
    case VERDICT_FAIL: return overdue ? "fail, calibration overdue" : "fail";
    case VERDICT_NOT_JUDGED: break;
    }
    return "not judged";
}
