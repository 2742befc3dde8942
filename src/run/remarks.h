/* remarks.h - cautions about a test, and where to look when a unit is off
 *
 * Both read a result whose numbers are complete and add notes; neither changes a verdict.
 */
#ifndef DUTYPROOF_REMARKS_H
#define DUTYPROOF_REMARKS_H

#include "run/result.h"

/* Cautions: supply, speed, number and place of points, fluctuation, unbalance, implausible readings, curve shape,
 * water. Status: E_MEMORY. */
enum status cautions_add(struct result *result, struct arena *arena);

/* Likely assembly causes of a failed or odd unit, from the pattern of its curve against the guarantee, in the order of
 * blame: record, supply, rotation, stage count, restriction, leakage, friction, trim. Rules of thumb: common practice,
 * no source. Status: E_MEMORY. */
enum status look_here_add(struct result *result, struct arena *arena);

#endif
