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
    struct arena *arena;
    struct duty_result *result;
    const char *refusal; /* why nothing can be judged; NULL when it can */
    enum status status;  /* E_MEMORY once a text did not fit into memory */
};

/* A text in the arena; "" (and status E_MEMORY) when memory is out. */
const char *judging_say(struct judging *judging, const char *fmt, ...) PRINTF_LIKE(2, 3);

/* A value as a reason writes it: "12.35 L/s", in the duty's own unit (amperes for a current), four significant digits.
 */
const char *judging_shown(struct judging *judging, enum dimension dimension, double si);

/* Two values of one unit: "2.000 to 11.50 L/s". */
const char *judging_shown_range(struct judging *judging, enum dimension dimension, double low_si, double high_si);

/* "tested flows 2.000 to 11.50 L/s". */
const char *judging_tested(struct judging *judging, const struct curve *curve);

/* A check that is not judged yet and says the refusal, if there is one. */
struct check judging_begin(const struct judging *judging, enum check_item item, const char *name,
                           enum dimension dimension);

/* Appends a check to the result. */
void judging_add(struct judging *judging, struct check check);

/* The value as the grade rounds it for comparison: to the significant places of the guarantee as it is written, in the
 * duty's unit. Absent where the grade does not round, or the guarantee's places are not known. */
struct quantity judging_rounded(const struct judging *judging, const struct check *check, const char *guarantee_text);

/* Compares the rounded (else the plain) value with the limits that are known, ends inside: sets margin and verdict. A
 * value that is absent stays not judged. */
void check_decide(struct check *check);

/* a <= b to JUDGE_RESOLUTION of b; false for NaN. */
bool judged_at_most(double a, double b);

/* True when the head at the end of the tested flows lies above a head: where the curve comes down to it was not tested.
 */
bool curve_ends_above(const struct curve *head, double head_m);

#endif
