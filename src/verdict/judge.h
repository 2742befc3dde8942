/* judge.h - the verdict on a duty point by its grade's own geometry (stage 7)
 */
#ifndef DUTYPROOF_JUDGE_H
#define DUTYPROOF_JUDGE_H

#include "physics/fit.h"
#include "tables/bay.h"
#include "verdict/check.h"

/* What a model leaves open: bits of duty_result.not_stated, in the order of the checks. */
enum not_stated {
    NOT_STATED_FLOW = 1 << 0,
    NOT_STATED_HEAD = 1 << 1,
    NOT_STATED_EFFICIENCY = 1 << 2,
    NOT_STATED_INPUT_POWER = 1 << 3,
    NOT_STATED_HEAD_RANGE = 1 << 4,
    NOT_STATED_RATED_CURRENT = 1 << 5,
    NOT_STATED_MOTOR = 1 << 6, /* data for the rated input power */
};

/* What the curves say at one duty point, and the checks on it. */
struct duty_result {
    const struct duty *duty;
    struct {
        struct quantity head_m, input_power_w, set_efficiency, pump_efficiency, current_a;
    } at_guaranteed_flow;
    struct {
        struct quantity flow_m3s;
    } at_guaranteed_head;
    struct {
        struct quantity flow_m3s, head_m, input_power_w, set_efficiency, pump_efficiency;
    } on_duty_line;
    struct tolerance tolerance;
    size_t check_count;
    struct check checks[CHECKS_MAX];
    enum verdict verdict;
    unsigned not_stated; /* NOT_STATED_... */
};

/* Judges one duty point of a model. curves need not be known: then everything is not judged, with the reason
 * (why_no_curve, a static text, or the curve's own). */
struct duty_result judge_duty(const struct model *model, const struct duty *duty, const struct curves *curves,
                              const char *why_no_curve);

#endif
