#include "verdict/likely_slip.h"

#include "verdict/judge_overload.h"

#include <math.h>
#include <string.h>

/* A reading that is no number, or a curve that is not there, is as far off as this, as the logarithm of a factor. A
 * trial that is so far off explains nothing. */
static const double far_off = 10.0;

#define OF(dimension) (UINT32_C(1) << (dimension))

static const uint32_t electric = OF(DIM_VOLTAGE) | OF(DIM_CURRENT) | OF(DIM_POWER);

/* Factors and the dimensions whose readings may be off by them. */
struct factor {
    enum slip_kind kind;
    double value;
    uint32_t dimensions;
};

enum { FACTORS_MAX = 24 };

struct trying {
    const struct chain *chain;
    const struct settled *settled;
    const bool *impossible; /* one a point */
    struct chain trial;
    size_t factor_count;
    struct factor factors[FACTORS_MAX];
    double nearest;
    struct likely_slip best;
    bool no_memory;
};

static void add(struct trying *trying, enum slip_kind kind, double value, uint32_t dimensions)
{
    if (value > 0.0 && value != 1.0 && trying->factor_count < FACTORS_MAX) {
        trying->factors[trying->factor_count++] = (struct factor){kind, value, dimensions};
    }
}

/* Of two kinds with one value, the first is named. */
static void list_factors(struct trying *trying)
{
    const struct rig *rig = &trying->chain->bay->rig;
    const uint32_t flow = OF(DIM_FLOW), pressure = OF(DIM_PRESSURE), power = OF(DIM_POWER);
    add(trying, SLIP_CURRENT_RATIO, rig->current_ratio, OF(DIM_CURRENT) | power);
    add(trying, SLIP_VOLTAGE_RATIO, rig->voltage_ratio, OF(DIM_VOLTAGE) | power);
    add(trying, SLIP_BOTH_RATIOS, rig->current_ratio * rig->voltage_ratio, power);
    add(trying, SLIP_THOUSAND, 1000.0, electric | flow | pressure | OF(DIM_LENGTH) | OF(DIM_VOLUME));
    add(trying, SLIP_MINUTE, 60.0, flow | OF(DIM_SPEED) | OF(DIM_TIME));
    add(trying, SLIP_HOUR, 3.6, flow);
    add(trying, SLIP_MINUTE_HOUR, 1000.0 / 60.0, flow);
    add(trying, SLIP_PSI, 14.5038, pressure);
    add(trying, SLIP_KGF, 1.01972, pressure);
    add(trying, SLIP_WATER_COLUMN, 10.2, pressure);
    add(trying, SLIP_WATER_COLUMN, 0.0980665, pressure);
    add(trying, SLIP_ROOT_THREE, sqrt(3.0), electric);
    add(trying, SLIP_THREE, 3.0, power);
    for (int digits = 1; digits <= 6; digits++) {
        add(trying, SLIP_POWER_OF_TEN, pow(10.0, digits), digits == 1 ? UINT32_MAX : ~OF(DIM_TEMPERATURE));
    }
}

/* --- how near --- */

static double apart(struct quantity value, struct quantity wanted)
{
    if (!wanted.known || !(wanted.value > 0.0)) {
        return 0.0;
    }
    return value.known && value.value > 0.0 ? fmin(fabs(log(value.value / wanted.value)), far_off) : far_off;
}

/* The tested point whose flow lies nearest to a flow, of those that were brought to rated speed. */
static const struct rated_point *nearest_point(const struct chain *chain, double flow_m3s)
{
    const struct rated_point *nearest = NULL;
    double least = INFINITY;
    for (size_t i = 0; i < chain->count; i++) {
        const struct rated_point *point = &chain->at_rated[i];
        double off = point->flow_m3s.known ? fabs(point->flow_m3s.value - flow_m3s) : INFINITY;
        if (chain->usable[i] && point->translated && off < least) {
            nearest = point;
            least = off;
        }
    }
    return nearest;
}

/* At a flow: what a curve says, where it covers the flow, else the nearest point. */
static struct quantity at_flow(const struct chain *chain, enum which_curve which, double flow_m3s,
                               struct quantity otherwise)
{
    const struct curve *curve = &chain->curves.of[which];
    bool covers = curve->known && curve_covers(curve, flow_m3s);
    return covers ? quantity_of(curve_at(curve, flow_m3s)) : otherwise;
}

static double duty_apart(const struct chain *chain, const struct duty *duty)
{
    const struct model *model = chain->model;
    const struct rated_point *near = duty->flow_m3s.known ? nearest_point(chain, duty->flow_m3s.value) : NULL;
    if (near == NULL) {
        return far_off;
    }
    double flow_m3s = duty->flow_m3s.value;
    const struct curve *curve = &chain->curves.of[CURVE_HEAD];
    bool covers = curve->known && curve_covers(curve, flow_m3s);
    struct quantity head_m = at_flow(chain, CURVE_HEAD, flow_m3s, near->head_m);
    struct quantity power_w = at_flow(chain, CURVE_INPUT_POWER, flow_m3s, near->input_power_w);
    struct quantity rated_w = duty->input_power_w.known ? duty->input_power_w : rated_input_power(model);
    double sum = (covers ? 0.0 : apart(near->flow_m3s, duty->flow_m3s)) + apart(head_m, duty->head_m);
    sum += power_w.known ? apart(power_w, rated_w) : 0.0;
    if (!duty->efficiency_of_pump) {
        double share = 0.0;
        bool known = curves_set_efficiency(&chain->curves, flow_m3s, &share);
        struct quantity efficiency = known ? quantity_of(share) : near->set_efficiency;
        sum += efficiency.known ? apart(efficiency, duty->efficiency) : 0.0;
    }
    if (near->current_a.known) {
        sum += apart(near->current_a, model->rated_current_a);
    }
    return sum;
}

/* Sum of the factors, as logarithms, by which a trial is off what is guaranteed and rated. */
static double chain_apart(const struct chain *chain)
{
    double sum = 0.0;
    for (size_t i = 0; i < chain->model->duty_count; i++) {
        sum += duty_apart(chain, &chain->model->duties[i]) / (double)chain->model->duty_count;
    }
    for (size_t i = 0; i < chain->count; i++) {
        const struct operating_point *point = &chain->as_tested[i];
        double off = point->voltage_v.known ? apart(point->voltage_v, chain->model->rated_voltage_v) : 0.0;
        off += point->frequency_hz.known ? apart(point->frequency_hz, chain->model->rated_frequency_hz) : 0.0;
        sum += chain->usable[i] ? off / (double)chain->count : 0.0;
    }
    return sum;
}

/* --- trying --- */

/* Channels that one slip touches together: from .. to. */
struct touched {
    enum channel from, to;
};

/* Scales the channels at all points or the impossible ones. Returns: how many points changed. */
static size_t scale(struct trying *trying, struct touched touched, double factor, bool every_point, int *first)
{
    size_t changed = 0;
    struct chain *trial = &trying->trial;
    memcpy(trial->means, trying->chain->means, trial->count * sizeof *trial->means);
    for (size_t i = 0; i < trial->count; i++) {
        bool scaled = false;
        for (int channel = (int)touched.from; channel <= (int)touched.to; channel++) {
            bool read = means_get(&trial->means[i], (enum channel)channel).known;
            if (read && (every_point || trying->impossible[i])) {
                trial->means[i].value[channel] *= factor;
                scaled = true;
            }
        }
        *first = scaled && changed == 0 ? trying->settled->points[i].number : *first;
        changed += scaled;
    }
    return changed;
}

static void try_one(struct trying *trying, struct touched touched, enum slip_kind kind, double factor, bool every_point)
{
    struct likely_slip slip = {.known = true,
                               .kind = kind,
                               .factor = factor,
                               .channel = touched.from,
                               .together = touched.to != touched.from,
                               .every_point = every_point};
    slip.points = scale(trying, touched, factor, every_point, &slip.point);
    if (slip.points == 0) {
        return;
    }
    if (chain_run(&trying->trial) != OK) {
        trying->no_memory = true;
        return;
    }
    double off = impossible_any(&trying->trial, trying->settled) ? INFINITY : chain_apart(&trying->trial);
    if (off < trying->nearest * (1.0 - 1e-9)) { /* the first of equals stands */
        trying->nearest = off;
        trying->best = slip;
    }
}

static bool was_read(const struct chain *chain, enum channel channel)
{
    bool read = false;
    for (size_t i = 0; i < chain->count; i++) {
        read = read || means_get(&chain->means[i], channel).known;
    }
    return read;
}

static void try_channels(struct trying *trying, struct touched touched)
{
    enum dimension dimension = channel_info(touched.from)->dimension;
    for (size_t i = 0; i < trying->factor_count && !trying->no_memory; i++) {
        const struct factor *factor = &trying->factors[i];
        for (int way = 0; way < 4 && (factor->dimensions & OF(dimension)) != 0; way++) {
            try_one(trying, touched, factor->kind, way % 2 == 0 ? factor->value : 1.0 / factor->value, way < 2);
        }
    }
}

static void try_all(struct trying *trying)
{
    static const struct touched groups[] = {
        {CH_VOLTAGE_RY, CH_VOLTAGE_BR}, {CH_CURRENT_R, CH_CURRENT_B}, {CH_WATTMETER_1, CH_WATTMETER_3}};
    for (size_t i = 0; i < sizeof groups / sizeof groups[0]; i++) {
        if (was_read(trying->chain, groups[i].from)) {
            try_channels(trying, groups[i]);
        }
    }
    for (int channel = CH_FLOW; channel < CHANNEL_COUNT; channel++) {
        if (was_read(trying->chain, (enum channel)channel)) {
            try_channels(trying, (struct touched){(enum channel)channel, (enum channel)channel});
        }
    }
}

static bool *points_hit(const struct settled *settled, const struct odd_values *impossible, struct arena *scratch)
{
    bool *hit = arena_alloc(scratch, settled->count, sizeof *hit);
    for (size_t i = 0; hit != NULL && i < settled->count; i++) {
        for (size_t k = 0; k < impossible->count; k++) {
            hit[i] = hit[i] || impossible->items[k].point == settled->points[i].number;
        }
    }
    return hit;
}

enum status likely_slip_find(const struct chain *chain, const struct settled *settled,
                             const struct odd_values *impossible, struct arena *scratch, struct likely_slip *slip)
{
    struct trying trying = {.chain = chain, .settled = settled, .nearest = far_off};
    *slip = (struct likely_slip){0};
    trying.impossible = points_hit(settled, impossible, scratch);
    if (trying.impossible == NULL || chain_init(&trying.trial, scratch, chain->count) != OK) {
        return E_MEMORY;
    }
    trying.trial.bay = chain->bay;
    trying.trial.model = chain->model;
    trying.trial.site = chain->site;
    trying.trial.basis = chain->basis;
    memcpy(trying.trial.usable, chain->usable, chain->count * sizeof *chain->usable);
    list_factors(&trying);
    try_all(&trying);
    *slip = trying.best;
    return trying.no_memory ? E_MEMORY : OK;
}
