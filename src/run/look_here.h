/* look_here.h - where to look when a unit is off
 */
#ifndef DUTYPROOF_LOOK_HERE_H
#define DUTYPROOF_LOOK_HERE_H

#include "run/result.h"

/* Likely assembly causes of a failed or odd unit, from the pattern of its curve against the guarantee, in the order of
 * blame: record, supply, rotation, stage count, restriction, leakage, friction, trim. Rules of thumb: common practice,
 * no source. Status: E_MEMORY. */
enum status look_here_add(struct result *result, struct arena *arena);

#endif
