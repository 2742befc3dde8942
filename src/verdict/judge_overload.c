/* Overload over the model's head range
 *
 * Every flow at which the head lies within the range counts, on a rising branch too: the crossings of both heads cut
 * the tested flows into pieces, and a piece counts when its middle does. The range is wholly tested when the curve
 * reaches its upper head, or starts at shut-off, and comes down to its lower head. What was tested and exceeds the
 * limit fails in any case; to pass the whole range must have been tested.
 */
#include "verdict/judge_overload.h"

/* The greatest value of a curve over the head range. */
struct greatest {
    bool found;        /* any flow counted */
    bool covered;      /* the head range wholly tested */
    bool measured;     /* the curve covers all of it that was tested */
    bool at_range_end; /* at flow_m3s the head curve meets an end of the head range */
    double value, flow_m3s;
};

enum { CUTS_MAX = 2 * (FIT_DEGREE_MAX + 1) + 2 };

/* The ends of the tested flows and the crossings of both heads, rising. Returns: how many. */
static size_t cut_flows(const struct curve *head, double low_m, double high_m, double cut[CUTS_MAX])
{
    size_t count = 0;
    cut[count++] = head->flow_low_m3s;
    count += curve_crossings(head, low_m, 0, cut + count);
    count += curve_crossings(head, high_m, 0, cut + count);
    cut[count++] = head->flow_high_m3s;
    for (size_t i = 1; i < count; i++) { /* insertion sort: a dozen at most */
        for (size_t j = i; j > 0 && cut[j] < cut[j - 1]; j--) {
            double higher = cut[j - 1];
            cut[j - 1] = cut[j];
            cut[j] = higher;
        }
    }
    return count;
}

/* Takes the part of a piece [low, high] of the tested flows that the curve covers into account. */
static void take_piece(struct greatest *greatest, const struct curve *head, const struct curve *curve, double low_m3s,
                       double high_m3s)
{
    double least, most, at, from_m3s = low_m3s, to_m3s = high_m3s;
    if (!curve_covers(curve, low_m3s) || !curve_covers(curve, high_m3s)) {
        greatest->measured = false;
        low_m3s = fmax(low_m3s, curve->flow_low_m3s);
        high_m3s = fmin(high_m3s, curve->flow_high_m3s);
    }
    if (!(low_m3s <= high_m3s)) {
        return;
    }
    curve_extremes(curve, low_m3s, high_m3s, &least, &most, &at);
    if (!greatest->found || most > greatest->value) {
        greatest->value = most;
        greatest->flow_m3s = at;
        greatest->at_range_end =
            (at <= from_m3s && from_m3s > head->flow_low_m3s) || (at >= to_m3s && to_m3s < head->flow_high_m3s);
    }
    greatest->found = true;
}

static struct greatest greatest_over(const struct curve *head, const struct curve *curve, double low_m, double high_m)
{
    double at_low_flow = curve_at(head, head->flow_low_m3s), at_high_flow = curve_at(head, head->flow_high_m3s);
    bool from_shut_off = head->flow_low_m3s <= JUDGE_RESOLUTION * head->flow_high_m3s;
    struct greatest greatest = {.covered = (from_shut_off || judged_at_most(high_m, at_low_flow)) &&
                                           judged_at_most(at_high_flow, low_m),
                                .measured = true};
    double cut[CUTS_MAX];
    size_t count = cut_flows(head, low_m, high_m, cut);
    for (size_t i = 1; i < count; i++) {
        double middle = curve_at(head, cut[i - 1] + (cut[i] - cut[i - 1]) / 2);
        if (judged_at_most(low_m, middle) && judged_at_most(middle, high_m)) {
            take_piece(&greatest, head, curve, cut[i - 1], cut[i]);
        }
    }
    return greatest;
}

/* The heads of the tested flows, for the reason. */
static struct reason range_not_tested(const struct judging *judging)
{
    const struct curve *head = &judging->curves->of[CURVE_HEAD];
    struct reason reason = judging_tested(judging, REASON_RANGE_NOT_TESTED, CURVE_HEAD);
    double at;
    curve_extremes(head, head->flow_low_m3s, head->flow_high_m3s, &reason.least_m, &reason.greatest_m, &at);
    return reason;
}

/* One check: the greatest value of a curve against limit_high, which check carries. */
static void judge_greatest(struct judging *judging, struct check check, enum which_curve which,
                           const char *guarantee_text)
{
    const struct curve *curve = &judging->curves->of[which];
    check.place = PLACE_HEAD_RANGE;
    check.range_low_m = judging->model->head_low_m.value;
    check.range_high_m = judging->model->head_high_m.value;
    if (judging->refusal.code == REASON_NONE && !curve->known) {
        check.reason = (struct reason){.code = REASON_NO_CURVE, .curve = which, .why = curve->why};
    } else if (judging->refusal.code == REASON_NONE) {
        struct greatest greatest =
            greatest_over(&judging->curves->of[CURVE_HEAD], curve, check.range_low_m, check.range_high_m);
        if (greatest.found) {
            check.value = quantity_of(greatest.value);
            check.at_flow_m3s = quantity_of(greatest.flow_m3s);
            check.at_range_end = greatest.at_range_end;
            check_round(judging, &check, guarantee_text);
            check_decide(&check);
        }
        bool whole = greatest.covered && greatest.measured;
        if (!greatest.found || (!whole && check.verdict == VERDICT_PASS)) {
            check.verdict = VERDICT_NOT_JUDGED;
            check.reason = greatest.covered && !greatest.measured ? judging_tested(judging, REASON_RANGE_IN_PART, which)
                                                                  : range_not_tested(judging);
        }
    }
    judging_add(judging, check);
}

void judge_overload(struct judging *judging)
{
    const struct model *model = judging->model;
    const struct grade *grade = judging->grade;
    struct quantity input_power_w = rated_input_power(model);
    if (!model->head_low_m.known || !model->head_high_m.known) {
        return;
    }
    if (model->rated_current_a.known) {
        struct check check = judging_begin(judging, CHECK_OVERLOAD_CURRENT, DIM_CURRENT);
        struct quantity plus = grade == NULL ? quantity_absent() : grade->current_plus;
        check.guaranteed = model->rated_current_a;
        check.limit_high = quantity_times(model->rated_current_a, 1 + quantity_or(plus, 0));
        check.source = (struct limit_source){.basis = LIMIT_RATED_CURRENT, .grade = plus.known ? grade : NULL};
        judge_greatest(judging, check, CURVE_CURRENT, model->rated_current_text);
    }
    if (input_power_w.known) {
        struct check check = judging_begin(judging, CHECK_OVERLOAD_POWER, DIM_POWER);
        check.guaranteed = input_power_w;
        check.limit_high = input_power_w;
        check.source.basis = model->motor != NULL ? LIMIT_RATED_POWER_BY_CURVE : LIMIT_RATED_POWER_BY_EFFICIENCY;
        /* The limit is derived, not written: there are no places to round to. */
        judge_greatest(judging, check, CURVE_INPUT_POWER, NULL);
    }
}
