/* judge.h - the verdict on a duty point by its grade's own geometry (stage 7)
 */
#ifndef DUTYPROOF_JUDGE_H
#define DUTYPROOF_JUDGE_H

#include "physics/fit.h"
#include "tables/bay.h"

enum verdict { VERDICT_PASS, VERDICT_FAIL, VERDICT_NOT_JUDGED };

/* "pass", "fail", "not judged". */
const char *verdict_name(enum verdict verdict);

/* fail over not judged over pass. */
enum verdict verdict_worse(enum verdict a, enum verdict b);

/* Checks compare with a resolution of 1e-9 of the limit, so that a value on the limit is inside whatever the
 * arithmetic's last bit. */
#define JUDGE_RESOLUTION 1e-9

enum { CHECKS_MAX = 8 };

enum check_item {
    CHECK_FLOW_AND_HEAD,
    CHECK_EFFICIENCY, /* of the set or of the pump, as the duty states */
    CHECK_INPUT_POWER,
    CHECK_OVERLOAD_CURRENT, /* greatest current over the stated head range */
    CHECK_OVERLOAD_POWER,   /* greatest input power over the stated head range against the rated input */
};

/* One check. Values in SI; dimension says which unit they are shown in. */
struct check {
    enum check_item item;
    const char
        *name; /* "flow and head", "set efficiency", "pump efficiency", "input power", "current over head range", ... */
    enum dimension dimension; /* of value and limits */
    struct quantity value, limit_low, limit_high;
    struct quantity margin;     /* to the nearest limit, in the value's unit; negative: outside */
    struct quantity guaranteed; /* the value that the limits are derived from */
    struct quantity compared;   /* the value as rounded by the grade's rule, where it rounds */
    enum verdict verdict;
    const char *reason; /* why it is not judged; NULL otherwise */
    const char *where;  /* "at guaranteed flow", "on the duty line", "head 20 to 50 m" */
    const char *source;
    struct quantity conformity_probability;
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
    /* limits on the curve's two readings, for the tolerance mark: absent without a grade. */
    struct quantity flow_low_m3s, flow_high_m3s, head_low_m, head_high_m;
    double ellipse_flow_m3s, ellipse_head_m; /* semi-axes, 0 when not an ellipse */
    struct {
        struct quantity head_m, set_efficiency; /* expanded, 95 %, absolute, at guaranteed flow */
    } uncertainty;
    size_t check_count;
    struct check checks[CHECKS_MAX];
    enum verdict verdict;
    const char
        *not_stated; /* what the model does not guarantee, for the papers: "efficiency, input power"; "" when all is */
};

/* Judges one duty point of a model. curves need not be known: then everything is not judged, with the reason
 * (why_no_curve or the curve's own). Texts live in the arena. Status: E_MEMORY. */
enum status judge_duty(const struct model *model, const struct duty *duty, const struct curves *curves,
                       const char *why_no_curve, struct arena *arena, struct duty_result *result);

#endif
