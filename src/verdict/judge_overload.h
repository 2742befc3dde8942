/* judge_overload.h - overload over the head range
 */
#ifndef DUTYPROOF_JUDGE_OVERLOAD_H
#define DUTYPROOF_JUDGE_OVERLOAD_H

#include "verdict/judge_parts.h"

/* The checks for overload over the model's head range. */
void judge_overload(struct judging *judging);

/* The input power that goes with the rated power, from the motor's curve or else its stated efficiency. */
struct quantity rated_input_power(const struct model *model);

#endif
