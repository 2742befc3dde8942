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
    bool found;    /* any flow counted */
    bool covered;  /* the head range wholly tested */
    bool measured; /* the curve covers all of it that was tested */
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

/* Takes the part of [low, high] that the curve covers into account. */
static void take_piece(struct greatest *greatest, const struct curve *curve, double low_m3s, double high_m3s)
{
    double least, most, at;
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
            take_piece(&greatest, curve, cut[i - 1], cut[i]);
        }
    }
    return greatest;
}

/* The heads of the tested flows, for the reason. */
static const char *range_not_tested(struct judging *judging, const char *range)
{
    const struct curve *head = &judging->curves->of[CURVE_HEAD];
    double least, greatest, at;
    curve_extremes(head, head->flow_low_m3s, head->flow_high_m3s, &least, &greatest, &at);
    return judging_say(judging, "head range %s was not wholly tested: heads %s at %s", range,
                       judging_shown_range(judging, DIM_LENGTH, least, greatest), judging_tested(judging, head));
}

/* One check: the greatest value of a curve against limit_high, which check carries. */
static void judge_greatest(struct judging *judging, struct check check, const struct curve *curve, const char *measured,
                           const char *guarantee_text)
{
    const struct model *model = judging->model;
    const char *range = judging_shown_range(judging, DIM_LENGTH, model->head_low_m.value, model->head_high_m.value);
    check.where = judging_say(judging, "head %s", range);
    if (judging->refusal == NULL && !curve->known) {
        check.reason = judging_say(judging, "%s: %s", measured, curve->why);
    } else if (judging->refusal == NULL) {
        struct greatest greatest =
            greatest_over(&judging->curves->of[CURVE_HEAD], curve, model->head_low_m.value, model->head_high_m.value);
        if (greatest.found) {
            check.where = judging_say(judging, "%s, at %s", range, judging_shown(judging, DIM_FLOW, greatest.flow_m3s));
            check.value = quantity_of(greatest.value);
            check.compared = judging_rounded(judging, &check, guarantee_text);
            check_decide(&check);
        }
        bool whole = greatest.covered && greatest.measured;
        if (!greatest.found || (!whole && check.verdict == VERDICT_PASS)) {
            check.verdict = VERDICT_NOT_JUDGED;
            check.reason = greatest.covered && !greatest.measured
                               ? judging_say(judging, "head range %s was wholly tested, but %s only at %s", range,
                                             measured, judging_tested(judging, curve))
                               : range_not_tested(judging, range);
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
        struct check check = judging_begin(judging, CHECK_OVERLOAD_CURRENT, "current over head range", DIM_CURRENT);
        struct quantity plus = grade == NULL ? quantity_absent() : grade->current_plus;
        check.guaranteed = model->rated_current_a;
        check.limit_high = quantity_times(model->rated_current_a, 1 + quantity_or(plus, 0));
        check.source = plus.known
                           ? judging_say(judging, "rated current of the model, with the tolerance of %s", grade->source)
                           : "rated current of the model";
        judge_greatest(judging, check, &judging->curves->of[CURVE_CURRENT], "current", model->rated_current_text);
    }
    if (input_power_w.known) {
        struct check check = judging_begin(judging, CHECK_OVERLOAD_POWER, "input power over head range", DIM_POWER);
        check.guaranteed = input_power_w;
        check.limit_high = input_power_w;
        check.source = model->motor != NULL ? "rated power of the model, by its motor's curve"
                                            : "rated power of the model, by its motor's efficiency";
        /* The limit is derived, not written: there are no places to round to. */
        judge_greatest(judging, check, &judging->curves->of[CURVE_INPUT_POWER], "input power", NULL);
    }
}
