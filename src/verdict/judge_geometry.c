/* Flow and head against the tolerances of the grade
 *
 * Two readings decide: the head at the guaranteed flow (the vertical arm of the tolerance cross) and the flow at the
 * guaranteed head (the horizontal arm). Nothing is extrapolated, so that each arm is passed, failed or open:
 *
 * - The vertical arm is open unless the tested flows cover the guaranteed flow.
 * - The horizontal arm is passed where the curve meets the guaranteed head within it. Where it does not, the arm is
 * failed if the tested flows cover the whole of it, or if the curve met the guaranteed head and ends below; else open.
 *
 * A cross is passed by either arm and failed only by both (ISO 9906:2012, 4.4); a profile of minimum values needs both.
 * Of two arms that say the same the check shows the one that decides: for a cross the one with the more room, for
 * minimum values the one with the less, as a share of its tolerance.
 */
#include "verdict/judge_geometry.h"

/* --- readings --- */

static bool ends_above(const struct judging *judging)
{
    return curve_ends_above(&judging->curves->of[CURVE_HEAD], judging->duty->head_m.value);
}

/* Where the curve meets the guaranteed head, on whichever branch: an arm counts as met where the curve touches it. */
static struct quantity crossing(const struct judging *judging)
{
    double flow_m3s;
    bool found = curve_cross(&judging->curves->of[CURVE_HEAD], judging->duty->head_m.value, 0, &flow_m3s);
    return found ? quantity_of(flow_m3s) : quantity_absent();
}

/* --- the arms of a cross --- */

static struct check check_arm(const struct judging *judging, enum dimension dimension, struct quantity value)
{
    struct check check = judging_begin(judging, CHECK_FLOW_AND_HEAD, dimension);
    bool head = dimension == DIM_LENGTH;
    check.place = head ? PLACE_GUARANTEED_FLOW : PLACE_GUARANTEED_HEAD;
    check.guaranteed = head ? judging->duty->head_m : judging->duty->flow_m3s;
    check.limit_low = head ? judging->result->tolerance.head_low_m : judging->result->tolerance.flow_low_m3s;
    check.limit_high = head ? judging->result->tolerance.head_high_m : judging->result->tolerance.flow_high_m3s;
    check.value = value;
    check_round(judging, &check, head ? judging->duty->head_text : judging->duty->flow_text);
    check_decide(&check);
    return check;
}

static struct reason flow_not_tested(const struct judging *judging)
{
    struct reason reason = judging_tested(judging, REASON_FLOW_NOT_TESTED, CURVE_HEAD);
    reason.value = judging->duty->flow_m3s.value;
    return reason;
}

static struct reason head_not_met(const struct judging *judging)
{
    struct reason reason =
        judging_tested(judging, ends_above(judging) ? REASON_CURVE_ABOVE : REASON_CURVE_BELOW, CURVE_HEAD);
    reason.value = judging->duty->head_m.value;
    return reason;
}

/* Whether a horizontal arm without a passing reading is closed, so that a better one cannot lie outside the tested
 * flows. */
static bool flow_arm_closed(const struct judging *judging, const struct check *arm)
{
    const struct curve *head = &judging->curves->of[CURVE_HEAD];
    if (judging->grade->geometry != GEOMETRY_MINIMUM) {
        bool covered = curve_covers(head, arm->limit_low.value) && curve_covers(head, arm->limit_high.value);
        return covered || (arm->value.known && !ends_above(judging));
    }
    return ends_above(judging) ? judged_at_most(arm->limit_low.value, head->flow_high_m3s)
                               : judged_at_most(head->flow_low_m3s, arm->limit_low.value);
}

/* Decides a horizontal arm that no reading passes. Without a reading the whole tested curve lies on one side of the
 * guaranteed head (or comes down to it beyond): the arm of a cross is not touched, a minimum is met by a curve above.
 */
static void decide_flow_arm(const struct judging *judging, struct check *arm)
{
    if (!flow_arm_closed(judging, arm)) {
        arm->verdict = VERDICT_NOT_JUDGED;
        arm->reason = head_not_met(judging);
    } else if (!arm->value.known) {
        bool above = ends_above(judging);
        arm->verdict = above && judging->grade->geometry == GEOMETRY_MINIMUM ? VERDICT_PASS : VERDICT_FAIL;
        arm->place = above ? PLACE_ABOVE_HEAD : PLACE_BELOW_HEAD;
    }
}

/* Half the width of what is allowed, and never 0. */
static double half_width_of(const struct check *arm)
{
    double guaranteed = arm->guaranteed.value, low = arm->limit_low.value;
    double width = arm->limit_high.known ? (arm->limit_high.value - low) / 2 : guaranteed - low;
    return fmax(width, JUDGE_RESOLUTION * guaranteed);
}

/* Room of an arm as a share of its tolerance; an arm without a reading has none to show. */
static double room(const struct check *arm)
{
    return arm->margin.known ? arm->margin.value / half_width_of(arm) : -INFINITY;
}

static struct check either_arm(const struct check *head, const struct check *flow)
{
    if (head->verdict == flow->verdict && head->verdict != VERDICT_NOT_JUDGED) {
        return room(head) >= room(flow) ? *head : *flow;
    }
    if (head->verdict == VERDICT_PASS || flow->verdict == VERDICT_PASS) {
        return head->verdict == VERDICT_PASS ? *head : *flow;
    }
    return head->verdict == VERDICT_NOT_JUDGED ? *head : *flow;
}

static struct check both_arms(const struct check *head, const struct check *flow)
{
    enum verdict worse = verdict_worse(head->verdict, flow->verdict);
    if (head->verdict == flow->verdict && head->margin.known && flow->margin.known) {
        return room(head) <= room(flow) ? *head : *flow;
    }
    if (head->verdict == flow->verdict) {
        return head->margin.known ? *head : *flow;
    }
    return head->verdict == worse ? *head : *flow;
}

static struct check judge_cross(const struct judging *judging)
{
    const struct duty_result *result = judging->result;
    bool minimum = judging->grade->geometry == GEOMETRY_MINIMUM;
    struct check head = check_arm(judging, DIM_LENGTH, result->at_guaranteed_flow.head_m);
    struct check flow = check_arm(judging, DIM_FLOW, minimum ? result->at_guaranteed_head.flow_m3s : crossing(judging));
    if (head.verdict == VERDICT_NOT_JUDGED) {
        head.reason = flow_not_tested(judging);
    }
    if (flow.verdict != VERDICT_PASS) {
        decide_flow_arm(judging, &flow);
    } else if (!head.value.known) {
        flow.place = PLACE_GUARANTEED_HEAD_ALONE;
    }
    return minimum ? both_arms(&head, &flow) : either_arm(&head, &flow);
}

/* --- the ellipse --- */

/* (H_G X_H / dH)^2 + (Q_G X_Q / dQ)^2 >= 1. Value: the left side; limit 1. The standard needs both distances: when one
 * cannot be measured nothing is judged. A curve through the point itself passes, and its left side has no value. */
static struct check judge_ellipse(const struct judging *judging)
{
    struct duty_result *result = judging->result;
    const struct duty *duty = judging->duty;
    struct check check = judging_begin(judging, CHECK_FLOW_AND_HEAD, DIM_NONE);
    check.place = PLACE_ELLIPSE;
    check.limit_low = quantity_of(1);
    if (!result->at_guaranteed_flow.head_m.known) {
        check.reason = flow_not_tested(judging);
        return check;
    }
    if (!result->at_guaranteed_head.flow_m3s.known) {
        check.reason = head_not_met(judging);
        return check;
    }
    double head_apart_m = fabs(result->at_guaranteed_flow.head_m.value - duty->head_m.value);
    double flow_apart_m3s = fabs(result->at_guaranteed_head.flow_m3s.value - duty->flow_m3s.value);
    if (head_apart_m <= JUDGE_RESOLUTION * duty->head_m.value ||
        flow_apart_m3s <= JUDGE_RESOLUTION * duty->flow_m3s.value) {
        check.verdict = VERDICT_PASS;
        check.place = PLACE_THROUGH_POINT;
        return check;
    }
    double head_term = result->tolerance.ellipse_head_m / head_apart_m,
           flow_term = result->tolerance.ellipse_flow_m3s / flow_apart_m3s;
    check.value = quantity_of(head_term * head_term + flow_term * flow_term);
    check_decide(&check);
    struct tolerance_room room =
        tolerance_room_of(&result->tolerance, &judging->curves->of[CURVE_HEAD], result->at_guaranteed_head.flow_m3s);
    check.too_high = room.rise_m.value < room.fall_m.value;
    check.margin = check.too_high ? room.rise_m : room.fall_m;
    check.margin_m3s = check.too_high ? room.rise_m3s : room.fall_m3s;
    return check;
}

/* --- the check --- */

/* The tolerance of the geometry that the profile leaves blank; DIM_NONE when it has all. */
static enum dimension blank_tolerance(const struct grade *grade)
{
    bool upper = grade->geometry == GEOMETRY_BILATERAL || grade->geometry == GEOMETRY_UNILATERAL;
    bool lower = grade->geometry != GEOMETRY_UNILATERAL;
    if ((upper && !grade->flow_plus.known) || (lower && !grade->flow_minus.known)) {
        return DIM_FLOW;
    }
    return (upper && !grade->head_plus.known) || (lower && !grade->head_minus.known) ? DIM_LENGTH : DIM_NONE;
}

/* Why flow and head cannot be judged, before any reading. */
static struct reason flow_and_head_refusal(const struct judging *judging)
{
    struct quantity flow = judging->duty->flow_m3s, head = judging->duty->head_m;
    if (!flow.known || !head.known) {
        bool both = !flow.known && !head.known;
        return (struct reason){.code = both ? REASON_NO_FLOW_AND_HEAD : head.known ? REASON_NO_FLOW : REASON_NO_HEAD};
    }
    if (!(flow.value > 0 && head.value > 0)) {
        return (struct reason){.code = REASON_NOT_POSITIVE};
    }
    if (judging->refusal.code != REASON_NONE) {
        return judging->refusal;
    }
    enum dimension blank = blank_tolerance(judging->grade);
    return (struct reason){.code = blank == DIM_NONE ? REASON_NONE : REASON_BLANK_TOLERANCE, .dimension = blank};
}

void judge_flow_and_head(struct judging *judging)
{
    struct reason refusal = flow_and_head_refusal(judging);
    struct check check;
    if (refusal.code != REASON_NONE) {
        check = judging_begin(judging, CHECK_FLOW_AND_HEAD, DIM_NONE);
        check.reason = refusal;
    } else {
        check = judging->grade->geometry == GEOMETRY_ELLIPSE ? judge_ellipse(judging) : judge_cross(judging);
    }
    judging_add(judging, check);
}
