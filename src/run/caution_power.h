/* caution_power.h - input power and efficiency that cannot be
 */
#ifndef DUTYPROOF_CAUTION_POWER_H
#define DUTYPROOF_CAUTION_POWER_H

#include "run/result.h"

/* Input power and efficiency that cannot be, with the slip that would explain them. Status: E_MEMORY. */
enum status power_cautions_add(struct result *result, struct arena *arena);

#endif
