#include "verdict/check.h"

const char *verdict_name(enum verdict verdict)
{
    switch (verdict) {
    case VERDICT_PASS: return "pass";
    case VERDICT_FAIL: return "fail";
    case VERDICT_NOT_JUDGED: return "not judged";
    }
    return "";
}

enum verdict verdict_worse(enum verdict a, enum verdict b)
{
    if (a == VERDICT_FAIL || b == VERDICT_FAIL) {
        return VERDICT_FAIL;
    }
    return a == VERDICT_NOT_JUDGED || b == VERDICT_NOT_JUDGED ? VERDICT_NOT_JUDGED : VERDICT_PASS;
}
