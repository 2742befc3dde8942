#include "causes/signs.h"

#include <math.h>

/* Limits of the signs. Common practice; 6 to 10 times the voltages' unbalance is what current answers with (secondary
 * sources). */
static const double dead_below = 0.1, unbalance_from = 0.10, unbalance_per_voltage = 10.0, voltage_low = 0.95,
                    frequency_low = 0.98, follow_least = 0.02, follow_most_of_it = 0.7;

/* What is read directly is not quite sure either: an instrument's lead may be off. Common practice. */
static const double seen_probability = 0.99;

static bool all_known(const struct quantity of[PHASES])
{
    return of[0].known && of[1].known && of[2].known;
}

struct quantity phase_unbalance(const struct quantity of[PHASES])
{
    double mean = (of[0].value + of[1].value + of[2].value) / PHASES, greatest = 0.0;
    if (!all_known(of) || !(mean > 0.0)) {
        return quantity_absent();
    }
    for (int i = 0; i < PHASES; i++) {
        greatest = fmax(greatest, fabs(of[i].value - mean));
    }
    return quantity_of(greatest / mean);
}

int dead_phase(const struct quantity current_a[PHASES])
{
    if (!all_known(current_a)) {
        return -1;
    }
    for (int i = 0; i < PHASES; i++) {
        double lesser = fmin(current_a[(i + 1) % PHASES].value, current_a[(i + 2) % PHASES].value);
        if (lesser > 0.0 && fabs(current_a[i].value) < dead_below * lesser) {
            return i;
        }
    }
    return -1;
}

/* Variance of a pattern over three places: how much of the unbalance stays at one place. */
static double pattern(const double sum[PHASES])
{
    double variance = 0.0;
    for (int i = 0; i < PHASES; i++) {
        variance += sum[i] * sum[i] / PHASES;
    }
    return variance;
}

enum follows unbalance_follows(const struct hook_ups *hook_ups)
{
    double by_line[PHASES] = {0}, by_lead[PHASES] = {0}, all = 0.0;
    for (int roll = 0; roll < PHASES; roll++) {
        const double *line = hook_ups->current_a[roll];
        double mean = (line[0] + line[1] + line[2]) / PHASES;
        for (int i = 0; i < PHASES; i++) {
            double deviation = line[i] / mean - 1.0;
            by_line[i] += deviation / PHASES;
            by_lead[(i + PHASES - roll) % PHASES] += deviation / PHASES; /* lead m lies on line m + roll */
            all += deviation * deviation / (PHASES * PHASES);
        }
    }
    if (!(all > follow_least * follow_least)) {
        return FOLLOWS_NOT_KNOWN;
    }
    if (pattern(by_line) > follow_most_of_it * all) {
        return FOLLOWS_SUPPLY;
    }
    return pattern(by_lead) > follow_most_of_it * all ? FOLLOWS_MOTOR : FOLLOWS_NOT_KNOWN;
}

static struct quantity below(struct quantity q, double limit)
{
    return q.known && q.value < limit ? q : quantity_absent();
}

void signs_find(const struct supply_readings *readings, struct signs *signs)
{
    const struct phase_readings *phases = &readings->phases;
    struct quantity current = phase_unbalance(phases->current_a), voltage = phase_unbalance(phases->voltage_v);
    *signs = (struct signs){.dead_phase = dead_phase(phases->current_a)};
    if (current.known && current.value > unbalance_from) {
        signs->unbalance = current;
        signs->supply_explains = voltage.known && current.value <= unbalance_per_voltage * voltage.value;
    }
    if (readings->hook_ups != NULL) {
        signs->follows = unbalance_follows(readings->hook_ups);
    }
    signs->low_voltage = below(readings->voltage, voltage_low);
    signs->low_frequency = below(readings->frequency, frequency_low);
}

/* Puts one in front; what stood there moves back, and a second of its name goes. */
static void put_first(const struct cause_row *row, struct quantity severity, struct causes_result *result)
{
    size_t kept = 1;
    struct cause_found found[CAUSES_FOUND_MAX] = {
        {.row = row, .probability = seen_probability, .severity = severity, .seen = true},
    };
    for (size_t i = 0; i < result->found_count && kept < CAUSES_FOUND_MAX; i++) {
        if (result->found[i].row != row) {
            found[kept++] = result->found[i];
        }
    }
    for (size_t i = 0; i < kept; i++) {
        result->found[i] = found[i];
    }
    result->found_count = kept;
    result->outcome = CAUSES_NAMED;
}

static void put_named(const char *name, const struct cause_table *causes, struct quantity severity,
                      struct causes_result *result)
{
    const struct cause_row *row = cause_find(causes, name);
    if (row != NULL) {
        put_first(row, severity, result);
    }
}

static bool voltage_is_read_wrong(const struct causes_result *result)
{
    return result->outcome == CAUSES_NAMED && result->found_count > 0 &&
           result->found[0].row->family == FAMILY_VOLTAGE_RATIO;
}

void causes_add_signs(const struct signs *signs, const struct cause_table *causes, struct causes_result *result)
{
    if (signs->dead_phase >= 0) {
        result->found_count = 0;
        put_named("dead phase", causes, quantity_of(signs->dead_phase + 1.0), result);
        return;
    }
    if (signs->unbalance.known) {
        put_named("phase unbalance", causes, signs->unbalance, result);
    }
    if (signs->low_voltage.known && !voltage_is_read_wrong(result)) {
        put_named("low supply", causes, signs->low_voltage, result);
    }
}
