#include "causes/causes.h"

#include "causes/covariance.h"

#include <math.h>

/* Parts into which a range of severities is cut, each straight between its ends. */
enum { PARTS = 6 };

/* The best cause must leave residuals of no more than twice what is expected of them, else none of the known explains
 * them. It is far out because the covariance itself is learned from few units. Common practice, tried on made data. */
static const double fits_to_chi2 = 4.0;

/* Explains nearly as well: half of it in log likelihood. */
static const double twin_within_chi2 = 4.0;

/* A fault of the set is not common to a day's units; it may still be (a wrong drawing). Common practice. */
static const double set_common_to_a_day = 0.1;

/* Less likely ones are not listed beside the first. */
static const double listed_from = 0.05;

/* Where few good units are known, a discrete cause is named from this probability on, what it is not told from beside
 * it. Common practice. */
static const double discrete_from = 0.25;

/* A power reading that has no say: this share of it is open; of a head that is roughly known, this. */
static const double no_say = 0.6, roughly = 0.05;

/* Readings at the highest flows that air makes ragged, and by what share of their change. */
enum { RAGGED_POINTS = 3 };
static const double ragged = 0.5;

/* One cause's standing. */
struct standing {
    bool asked;
    double log_posterior; /* up to what all share */
    double best_chi2, best_profile, severity;
};

/* What a severity changes against a good unit, not whitened. */
static void change_at(const struct stacked *stacked, const struct cause_row *row, double severity, double *change)
{
    stacked_predict(stacked, row->family, severity, change);
    for (size_t i = 0; i < stacked->count; i++) {
        change[i] -= stacked->healthy[i];
    }
}

/* How the form may be off, as shares of its own change: more in head than in power, more at high flow than at low. */
static void add_form(const struct stacked *stacked, const double *change, double form, struct directions *directions)
{
    double *balance = directions->vector[0], *tilt = directions->vector[1];
    size_t n = 0;
    for (size_t i = 0; i < stacked->point_count; i++) {
        double where = 2.0 * stacked->flow_m3s[i] / stacked->good.highest_flow_m3s - 1.0;
        for (size_t c = 0; c < CURVES; c++) {
            if (stacked->read[i][c]) {
                balance[n] = (c == GOOD_HEAD ? form : -form) * change[n];
                tilt[n] = form * where * change[n];
                n++;
            }
        }
    }
    if (stacked->voltage_read) {
        balance[n] = tilt[n] = 0.0;
    }
    directions->count = 2;
}

/* Turned backwards, power and current have no say (level and tilt of each are open), and head is roughly known only. */
static void add_no_say(const struct stacked *stacked, enum curve_of curve, struct directions *directions)
{
    size_t n = 0;
    double *level = directions->vector[directions->count++], *tilt = directions->vector[directions->count++];
    double share = curve == GOOD_HEAD ? roughly : no_say;
    for (size_t i = 0; i < stacked->point_count; i++) {
        double where = stacked->flow_m3s[i] / stacked->good.highest_flow_m3s;
        for (size_t c = 0; c < CURVES; c++) {
            if (stacked->read[i][c]) {
                level[n] = c != (size_t)curve ? 0.0 : share * stacked->healthy[n];
                tilt[n] = level[n] * (curve == GOOD_HEAD ? where * (1.0 - where) * 2.0 : where);
                n++;
            }
        }
    }
    if (stacked->voltage_read) {
        level[n] = tilt[n] = 0.0;
    }
}

/* Another form that the fault can have, as far from the first as it is. */
static void add_variant(const struct stacked *stacked, const struct cause_row *row, double severity,
                        const double *change, struct directions *directions)
{
    double *vector = directions->vector[directions->count++];
    stacked_predict_variant(stacked, row->family, severity, vector);
    for (size_t i = 0; i < stacked->count; i++) {
        vector[i] -= stacked->healthy[i] + change[i];
    }
}

/* How air takes head at the highest flows is no curve: each of the last readings falls by its own. */
static void add_ragged(const struct stacked *stacked, const double *change, struct directions *directions)
{
    size_t first = stacked->point_count > RAGGED_POINTS ? stacked->point_count - RAGGED_POINTS : 0, n = 0;
    for (size_t i = 0; i < stacked->point_count; i++) {
        double *vector = i < first ? NULL : directions->vector[directions->count++];
        for (size_t k = 0; vector != NULL && k < stacked->count; k++) {
            vector[k] = 0.0;
        }
        for (size_t c = 0; c < CURVES; c++) {
            if (stacked->read[i][c]) {
                if (vector != NULL) {
                    vector[n] = ragged * change[n];
                }
                n++;
            }
        }
    }
}

/* The directions of a row at one of its severities; at others they are longer as the change is. */
static void form_directions(const struct stacked *stacked, const struct cause_row *row, double severity,
                            const double *change, struct directions *directions)
{
    directions->count = 0;
    if (row->form > 0.0) {
        add_form(stacked, change, row->form, directions);
    }
    if (family_varies(row->family)) {
        add_variant(stacked, row, severity, change, directions);
    }
    if (row->family == FAMILY_AIR) {
        add_ragged(stacked, change, directions);
    }
    if (row->family == FAMILY_REVERSED) {
        add_no_say(stacked, GOOD_HEAD, directions);
        add_no_say(stacked, GOOD_POWER, directions);
        add_no_say(stacked, GOOD_CURRENT, directions);
    }
    for (size_t i = 0; i < directions->count; i++) {
        whiten(&stacked->whitener, directions->vector[i]);
    }
    directions_multiply(directions, stacked->count);
}

/* A row under evaluation: its directions, and how long its change was where they were made. */
struct weighing {
    const struct stacked *stacked;
    const struct cause_row *row;
    const double *healthy; /* a good unit's residual, whitened */
    struct directions directions;
    double length;
};

static double distance(const double *a, const double *b, size_t count)
{
    double sum = 0.0;
    for (size_t i = 0; i < count; i++) {
        sum += (a[i] - b[i]) * (a[i] - b[i]);
    }
    return sqrt(sum);
}

static void residual_at(const struct weighing *weighing, double severity, struct residual *residual)
{
    const struct stacked *stacked = weighing->stacked;
    stacked_predict(stacked, weighing->row->family, severity, residual->of);
    for (size_t i = 0; i < stacked->count; i++) {
        residual->of[i] = stacked->measured[i] - residual->of[i];
    }
    whiten(&stacked->whitener, residual->of);
    residual_multiply(&weighing->directions, residual);
}

static void scale_directions(struct weighing *weighing, const struct residual *residual)
{
    double length = distance(residual->of, weighing->healthy, weighing->stacked->count);
    directions_scale(&weighing->directions, weighing->length > 0.0 ? length / weighing->length : 1.0);
}

static void weigh(const struct stacked *stacked, const struct cause_row *row, const double *healthy,
                  struct weighing *weighing)
{
    double change[EVIDENCE_MAX], severity = row->ranges[0].high;
    weighing->stacked = stacked;
    weighing->row = row;
    weighing->healthy = healthy;
    change_at(stacked, row, severity, change);
    form_directions(stacked, row, severity, change, &weighing->directions);
    whiten(&stacked->whitener, change);
    weighing->length = 0.0;
    for (size_t i = 0; i < stacked->count; i++) {
        weighing->length += change[i] * change[i];
    }
    weighing->length = sqrt(weighing->length);
}

static void keep_best(struct standing *standing, double chi2, double log_determinant, double severity)
{
    if (!(chi2 + log_determinant >= standing->best_profile)) {
        standing->best_profile = chi2 + log_determinant;
        standing->best_chi2 = chi2;
        standing->severity = severity;
    }
}

static double severity_at(const struct severity_range *range, double part)
{
    return range->low * pow(range->high / range->low, part); /* even in the logarithm: small faults are the commoner */
}

/* log of the likelihood of one severity. */
static double value_evidence(struct weighing *weighing, double severity, struct standing *standing)
{
    struct residual at;
    residual_at(weighing, severity, &at);
    scale_directions(weighing, &at);
    double chi2 = residual_chi2(&weighing->directions, &at);
    keep_best(standing, chi2, weighing->directions.log_determinant, severity);
    return -0.5 * (chi2 + weighing->directions.log_determinant);
}

/* log of the mean likelihood over one range. */
static double range_evidence(struct weighing *weighing, const struct severity_range *range, struct standing *standing)
{
    struct residual at[2];
    double sum = -INFINITY;
    residual_at(weighing, range->low, &at[0]);
    for (size_t i = 1; i <= PARTS; i++) {
        struct residual *last = &at[(i - 1) % 2], *next = &at[i % 2];
        residual_at(weighing, severity_at(range, (double)i / PARTS), next);
        scale_directions(weighing, next);
        struct segment segment = segment_between(&weighing->directions, last, next);
        double part = ((double)(i - 1) + segment.best_t) / PARTS;
        keep_best(standing, segment.best_chi2, weighing->directions.log_determinant, severity_at(range, part));
        sum = log_sum(sum, segment.log_mean - log((double)PARTS));
    }
    return sum;
}

/* The likelier severities stand first: weights 1, 1/2, 1/3 ... */
static double row_evidence(const struct stacked *stacked, const struct cause_row *row, const double *healthy,
                           struct standing *standing)
{
    struct weighing weighing;
    double sum = -INFINITY, weights = 0.0;
    if (row->range_count == 0 ||
        family_excluded(&stacked->good, row->family, row->ranges[0].low, stacked->voltage_read)) {
        return -INFINITY;
    }
    weigh(stacked, row, healthy, &weighing);
    for (size_t i = 0; i < row->range_count; i++) {
        const struct severity_range *range = &row->ranges[i];
        if (!family_excluded(&stacked->good, row->family, range->low, stacked->voltage_read)) {
            double weight = 1.0 / (double)(i + 1);
            weights += weight;
            sum = log_sum(sum,
                          log(weight) + (range->low < range->high ? range_evidence(&weighing, range, standing)
                                                                  : value_evidence(&weighing, range->low, standing)));
        }
    }
    standing->asked = true;
    return sum - log(weights);
}

/* Of a fault whose form is not known: any smooth change of the curves. */
static double broad_evidence(const struct stacked *stacked, const double *healthy, struct standing *standing)
{
    struct directions directions = {.count = stacked->broad_count};
    struct residual residual;
    for (size_t i = 0; i < stacked->broad_count; i++) {
        for (size_t k = 0; k < stacked->count; k++) {
            directions.vector[i][k] = stacked->broad[i][k];
        }
        whiten(&stacked->whitener, directions.vector[i]);
    }
    for (size_t k = 0; k < stacked->count; k++) {
        residual.of[k] = healthy[k];
    }
    directions_multiply(&directions, stacked->count);
    directions_scale(&directions, 1.0);
    residual_multiply(&directions, &residual);
    double chi2 = residual_chi2(&directions, &residual);
    keep_best(standing, chi2, directions.log_determinant, 0.0);
    standing->asked = true;
    return -0.5 * (chi2 + directions.log_determinant);
}

static double prior_of(const struct cause_row *row, const struct causes_case *of)
{
    bool common = of->units > 1.0 && row->place == PLACE_SET && row->family != FAMILY_NONE;
    return common ? set_common_to_a_day * row->prior : row->prior;
}

static void stand(const struct causes_case *of, const struct stacked *stacked, const double *healthy,
                  const struct cause_row *row, struct standing *standing)
{
    *standing = (struct standing){.best_profile = INFINITY};
    double evidence = row->family == FAMILY_NONE ? broad_evidence(stacked, healthy, standing)
                                                 : row_evidence(stacked, row, healthy, standing);
    if (standing->asked) {
        standing->log_posterior = log(prior_of(row, of)) + evidence;
    }
}

/* Adds a twin where it belongs: what is looked at first comes first, else by the order of the table. */
static void add_twin(struct cause_found *found, const struct cause_row *twin)
{
    if (found->twin_count < CAUSE_TWINS_MAX) {
        size_t i = found->twin_count++;
        for (; i > 0 && found->twins[i - 1]->place > twin->place; i--) {
            found->twins[i] = found->twins[i - 1];
        }
        found->twins[i] = twin;
    }
}

struct ranking {
    const struct cause_table *causes;
    struct standing standing[CAUSES_MAX];
    double probability[CAUSES_MAX];
    bool discrete_only;
};

static bool may_be_named(const struct ranking *ranking, size_t i)
{
    return ranking->standing[i].asked && (!ranking->discrete_only || ranking->causes->rows[i].discrete);
}

static void fill_found(const struct ranking *ranking, size_t at, struct cause_found *found)
{
    const struct standing *standing = &ranking->standing[at];
    const struct cause_row *row = &ranking->causes->rows[at];
    *found = (struct cause_found){.row = row, .probability = ranking->probability[at]};
    if (row->family == FAMILY_NONE) {
        return;
    }
    found->severity = quantity_of(standing->severity);
    for (size_t i = 0; i < ranking->causes->count; i++) {
        bool near = ranking->standing[i].best_profile <= standing->best_profile + twin_within_chi2;
        if (i != at && near && ranking->standing[i].asked && ranking->causes->rows[i].family != FAMILY_NONE) {
            add_twin(found, &ranking->causes->rows[i]);
        }
    }
}

/* Index of the likeliest that may be named and is less likely than below (or equal and later); causes->count when there
 * is none. */
static size_t likeliest(const struct ranking *ranking, const bool *taken)
{
    size_t best = ranking->causes->count;
    for (size_t i = 0; i < ranking->causes->count; i++) {
        bool better = best == ranking->causes->count || ranking->probability[i] > ranking->probability[best];
        if (!taken[i] && may_be_named(ranking, i) && better) {
            best = i;
        }
    }
    return best;
}

static void list_found(const struct ranking *ranking, struct causes_result *result)
{
    bool taken[CAUSES_MAX] = {false};
    while (result->found_count < CAUSES_FOUND_MAX) {
        size_t i = likeliest(ranking, taken);
        if (i == ranking->causes->count || (result->found_count > 0 && ranking->probability[i] < listed_from)) {
            return;
        }
        taken[i] = true;
        fill_found(ranking, i, &result->found[result->found_count++]);
    }
}

/* The best cause leaves readings that a unit with it would hardly give: what it would have had goes to none of the
 * known. */
static void gate(const struct stacked *stacked, struct ranking *ranking)
{
    bool taken[CAUSES_MAX] = {false};
    size_t best = likeliest(ranking, taken), none = 0;
    while (none < ranking->causes->count && ranking->causes->rows[none].family != FAMILY_NONE) {
        none++;
    }
    if (best == ranking->causes->count || none >= ranking->causes->count || best == none || stacked->count < 2 ||
        ranking->standing[best].best_chi2 <= fits_to_chi2 * (double)(stacked->count - 1)) {
        return;
    }
    for (size_t i = 0; i < ranking->causes->count; i++) {
        if (i != none) {
            ranking->probability[none] += ranking->probability[i];
            ranking->probability[i] = 0.0;
        }
    }
}

static void conclude(const struct stacked *stacked, struct ranking *ranking, struct causes_result *result)
{
    if (result->healthy > CAUSES_SILENT_ABOVE) {
        result->outcome = CAUSES_HEALTHY;
        return;
    }
    gate(stacked, ranking);
    list_found(ranking, result);
    const struct cause_found *first = &result->found[0];
    bool none = result->found_count == 0 || first->row->family == FAMILY_NONE;
    if (ranking->discrete_only && (none || first->probability < discrete_from)) {
        result->outcome = CAUSES_FEW_UNITS;
        result->found_count = 0;
        return;
    }
    result->outcome = none ? CAUSES_NONE_KNOWN : CAUSES_NAMED;
}

/* A good unit's residual, whitened. Returns: its chi2. */
static double healthy_residual(const struct stacked *stacked, double *residual)
{
    double chi2 = 0.0;
    for (size_t i = 0; i < stacked->count; i++) {
        residual[i] = stacked->measured[i] - stacked->healthy[i];
    }
    whiten(&stacked->whitener, residual);
    for (size_t i = 0; i < stacked->count; i++) {
        chi2 += residual[i] * residual[i];
    }
    return chi2;
}

void causes_find(const struct causes_case *of, const struct cause_table *causes, struct causes_result *result)
{
    struct stacked stacked;
    struct ranking ranking = {.causes = causes};
    double residual[EVIDENCE_MAX], prior = 1.0, all = -INFINITY;
    *result = (struct causes_result){.outcome = CAUSES_NOT_ASKED};
    if (!stacked_make(of, &stacked)) {
        return;
    }
    ranking.discrete_only = of->reference->curves.units < GOOD_UNITS_ENOUGH;
    double healthy = -0.5 * healthy_residual(&stacked, residual);
    for (size_t i = 0; i < causes->count; i++) {
        stand(of, &stacked, residual, &causes->rows[i], &ranking.standing[i]);
        if (ranking.standing[i].asked) {
            all = log_sum(all, ranking.standing[i].log_posterior);
            prior -= prior_of(&causes->rows[i], of);
        }
    }
    healthy += log(prior);
    all = log_sum(all, healthy);
    result->healthy = exp(healthy - all);
    for (size_t i = 0; i < causes->count; i++) {
        ranking.probability[i] = ranking.standing[i].asked ? exp(ranking.standing[i].log_posterior - all) : 0.0;
    }
    conclude(&stacked, &ranking, result);
}

double causes_stand_out(const struct causes_case *of, const struct cause_row *row, double severity)
{
    struct stacked stacked;
    double change[EVIDENCE_MAX], nothing[EVIDENCE_MAX] = {0};
    if (!stacked_make(of, &stacked) || family_excluded(&stacked.good, row->family, severity, stacked.voltage_read)) {
        return 0.0;
    }
    change_at(&stacked, row, severity, change);
    whiten(&stacked.whitener, change);
    return distance(change, nothing, stacked.count);
}
