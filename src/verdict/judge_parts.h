/* judge_parts.h - what the checks on one duty point share; private to judge.c, judge_geometry.c and judge_overload.c */
#ifndef DUTYPROOF_JUDGE_PARTS_H
#define DUTYPROOF_JUDGE_PARTS_H

#include "verdict/judge.h"

/* One duty point under judgement. */
struct judging {
    const struct model *model;
    const struct duty *duty;
    const struct grade *grade; /* NULL only together with a refusal */
    const struct curves *curves;
    struct duty_result *result;
    struct reason refusal;      /* why nothing can be judged; REASON_NONE when it can */
    struct limit_source source; /* of the grade's limits */
};

/* A reason that is about the tested flows of a curve. */
struct reason judging_tested(const struct judging *judging, enum check_reason code, enum which_curve curve);

/* A check that is not judged yet and says the refusal, if there is one. */
struct check judging_begin(const struct judging *judging, enum check_item item, enum dimension dimension);

/* Appends a check to the result. */
void judging_add(struct judging *judging, struct check check);

/* Rounds the value of a check as its grade does, to the places of the guarantee as it is written. Nothing where the
 * grade does not round, or the places are not known. */
void check_round(const struct judging *judging, struct check *check, const char *guarantee_text);

/* Compares the rounded (else the plain) value with the limits that are known, ends inside: sets margin and verdict. A
 * value that is absent stays not judged. */
void check_decide(struct check *check);

/* a <= b to JUDGE_RESOLUTION of b; false for NaN. */
bool judged_at_most(double a, double b);

/* True when the head at the end of the tested flows lies above a head: where the curve comes down to it was not tested.
 */
bool curve_ends_above(const struct curve *head, double head_m);

#endif
