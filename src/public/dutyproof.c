#include "dutyproof.h"

const char *dutyproof_version(void)
{
    return DUTYPROOF_VERSION;
}
