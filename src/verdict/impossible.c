#include "verdict/impossible.h"

#include "physics/electric.h"
#include "verdict/judge_overload.h"

#include <math.h>

/* What is found, or (NULL) only whether. */
struct search {
    const struct chain *chain;
    const struct settled *settled;
    struct arena *arena;
    struct odd_values *impossible, *doubtful;
    bool any, no_memory;
};

/* A value to be held to the limits of its item; those are parts of base, counted from origin. */
struct asked {
    struct odd_value odd;
    struct quantity base;
    double origin;
};

/* --- limits --- */

static bool is_beyond(struct asked *asked, struct quantity low, struct quantity high)
{
    struct odd_value *odd = &asked->odd;
    bool at_low_too = odd->item == PLAUSIBLE_CURRENT; /* no current at all while power is drawn */
    double low_si = asked->origin + low.value * asked->base.value;
    double high_si = asked->origin + high.value * asked->base.value;
    bool below = low.known && (at_low_too ? odd->value <= low_si : odd->value < low_si);
    odd->above = high.known && odd->value > high_si;
    odd->limit = odd->above ? high_si : low_si;
    return below || odd->above;
}

static void keep(struct search *search, struct odd_values *values, const struct odd_value *odd)
{
    struct odd_value *place =
        values == NULL ? NULL : arena_push(search->arena, &values->items, &values->count, sizeof *place);
    if (place != NULL) {
        *place = *odd;
    }
    search->no_memory = search->no_memory || (values != NULL && place == NULL);
}

static void ask(struct search *search, struct asked asked)
{
    const struct plausible_limits *limits = &search->chain->bay->plausible.of[asked.odd.item];
    if (!asked.base.known) {
        return;
    }
    if (is_beyond(&asked, limits->impossible_low, limits->impossible_high)) {
        search->any = true;
        keep(search, search->impossible, &asked.odd);
    } else if (is_beyond(&asked, limits->doubtful_low, limits->doubtful_high)) {
        keep(search, search->doubtful, &asked.odd);
    }
}

/* --- what limits are relative to --- */

static struct quantity greatest(struct quantity a, struct quantity b)
{
    return !a.known || (b.known && b.value > a.value) ? b : a;
}

static struct quantity if_positive(struct quantity q)
{
    return q.known && q.value > 0.0 ? q : quantity_absent();
}

static struct quantity base_of(const struct model *model, enum plausible_item item, const struct operating_point *point)
{
    struct quantity head_m = quantity_absent(), flow_m3s = head_m, power_w = rated_input_power(model);
    for (size_t i = 0; i < model->duty_count; i++) {
        head_m = greatest(head_m, model->duties[i].head_m);
        flow_m3s = greatest(flow_m3s, model->duties[i].flow_m3s);
        power_w = greatest(power_w, model->duties[i].input_power_w);
    }
    struct quantity frequency_hz = if_positive(point->frequency_hz);
    frequency_hz = frequency_hz.known ? frequency_hz : model->rated_frequency_hz;
    bool poled = frequency_hz.known && model->poles.known && model->poles.value > 0.0;
    switch (item) {
    case PLAUSIBLE_HEAD:
    case PLAUSIBLE_GREATEST_HEAD: return if_positive(head_m);
    case PLAUSIBLE_FLOW: return if_positive(flow_m3s);
    case PLAUSIBLE_VOLTAGE: return if_positive(model->rated_voltage_v);
    case PLAUSIBLE_SPEED:
        return poled ? quantity_of(120.0 * frequency_hz.value / model->poles.value) : quantity_absent();
    case PLAUSIBLE_CURRENT: return if_positive(model->rated_current_a);
    case PLAUSIBLE_INPUT_POWER: return if_positive(power_w);
    default: return quantity_of(1.0);
    }
}

/* --- points --- */

/* The readings' own power factor, even where one was read. */
static struct quantity power_factor(const struct model *model, const struct operating_point *point)
{
    struct quantity found =
        power_factor_of(quantity_or(model->phases, 3.0), point->input_power_w, point->voltage_v, point->current_a);
    return found.known ? found : point->power_factor;
}

/* A flow meter's reading below zero counts as no flow where it is reduced; here it is what it is. */
static struct quantity flow_as_read(const struct chain *chain, size_t i)
{
    struct quantity read_m3s = means_get(&chain->means[i], CH_FLOW);
    bool metered = chain->bay->rig.flow_method == FLOW_METER && read_m3s.known;
    return metered ? read_m3s : chain->as_tested[i].flow_m3s;
}

/* A current of 0 is odd only where power is drawn; any other item is asked whenever it is known. */
static struct quantity current_asked(const struct operating_point *point)
{
    bool idle = !point->input_power_w.known || !(point->input_power_w.value > 0.0);
    return point->current_a.known && point->current_a.value <= 0.0 && idle ? quantity_absent() : point->current_a;
}

static struct quantity value_of(const struct chain *chain, size_t i, enum plausible_item item)
{
    const struct operating_point *point = &chain->as_tested[i];
    switch (item) {
    case PLAUSIBLE_SET_EFFICIENCY: return point->set_efficiency;
    case PLAUSIBLE_PUMP_EFFICIENCY: return point->pump_efficiency;
    case PLAUSIBLE_POWER_FACTOR: return power_factor(chain->model, point);
    case PLAUSIBLE_HEAD: return point->head_m;
    case PLAUSIBLE_FLOW: return flow_as_read(chain, i);
    case PLAUSIBLE_VOLTAGE: return point->voltage_v;
    case PLAUSIBLE_FREQUENCY: return point->frequency_hz;
    case PLAUSIBLE_SPEED: return point->speed_rpm;
    case PLAUSIBLE_CURRENT: return current_asked(point);
    case PLAUSIBLE_INPUT_POWER: return point->input_power_w;
    case PLAUSIBLE_VOLTAGE_UNBALANCE: return point->voltage_unbalance;
    case PLAUSIBLE_WATER_TEMPERATURE: return means_get(&chain->means[i], CH_WATER_TEMPERATURE);
    case PLAUSIBLE_BEST_EFFICIENCY:
    case PLAUSIBLE_GREATEST_HEAD:
    case PLAUSIBLE_INSTRUMENT:
    case PLAUSIBLE_COUNT: break;
    }
    return quantity_absent();
}

static struct odd_value odd_of(const struct search *search, size_t i, enum plausible_item item, double value)
{
    const struct settled_point *point = &search->settled->points[i];
    return (struct odd_value){.item = item,
                              .channel = CHANNEL_COUNT,
                              .dimension = plausible_dimension(item),
                              .point = point->number,
                              .line = point->line,
                              .value = value};
}

/* Holds the lowest and highest reading of a channel, as the instrument showed them, to its range. The means may have
 * been scaled: the single readings go with them. */
static void ask_instrument(struct search *search, size_t i, enum channel channel)
{
    const struct instrument *instrument = bay_instrument(search->chain->bay, channel);
    const struct channel_stats *stats = &search->settled->points[i].channels[channel];
    bool ranged = instrument != NULL && instrument->range_low_si.known && instrument->range_high_si.known;
    if (!ranged || stats->n == 0 || instrument->gain == 0.0) {
        return;
    }
    double mean = search->chain->means[i].value[channel], scale = stats->mean != 0.0 ? mean / stats->mean : 1.0;
    double back = 1.0 / (channel_ratio(&search->chain->bay->rig, channel) * instrument->gain);
    bool each = search->settled->kind == LOG_READING_SHEET;
    double ends[] = {each ? stats->low * scale : mean, each ? stats->high * scale : mean};
    for (int end = 0; end < 2; end++) {
        double shown = ends[end] * back + instrument->zero_si, low_si = instrument->range_low_si.value;
        struct asked asked = {.odd = odd_of(search, i, PLAUSIBLE_INSTRUMENT, shown),
                              .base = quantity_of(instrument->range_high_si.value - low_si),
                              .origin = low_si};
        asked.odd.channel = channel;
        asked.odd.dimension = channel_info(channel)->dimension;
        if (end == 0 || ends[1] != ends[0]) {
            ask(search, asked);
        }
    }
}

static void ask_point(struct search *search, size_t i)
{
    const struct chain *chain = search->chain;
    for (int item = 0; item < PLAUSIBLE_COUNT; item++) {
        struct quantity value = value_of(chain, i, (enum plausible_item)item);
        if (value.known) {
            ask(search, (struct asked){.odd = odd_of(search, i, (enum plausible_item)item, value.value),
                                       .base = base_of(chain->model, (enum plausible_item)item, &chain->as_tested[i])});
        }
    }
    for (int channel = 0; channel < CHANNEL_COUNT; channel++) {
        ask_instrument(search, i, (enum channel)channel);
    }
}

/* --- the curve --- */

static void ask_curve(struct search *search, enum plausible_item item, struct quantity value)
{
    static const struct operating_point none = {0};
    if (value.known) {
        ask(search, (struct asked){.odd = {.item = item,
                                           .channel = CHANNEL_COUNT,
                                           .dimension = plausible_dimension(item),
                                           .value = value.value},
                                   .base = base_of(search->chain->model, item, &none)});
    }
}

static void ask_curves(struct search *search)
{
    struct best_efficiency best;
    struct quantity head_m = quantity_absent();
    for (size_t i = 0; i < search->chain->count; i++) {
        if (search->chain->usable[i]) {
            head_m = greatest(head_m, search->chain->as_tested[i].head_m);
        }
    }
    bool known = curves_best_efficiency(&search->chain->curves, &best);
    ask_curve(search, PLAUSIBLE_BEST_EFFICIENCY, known ? quantity_of(best.set_efficiency) : quantity_absent());
    ask_curve(search, PLAUSIBLE_GREATEST_HEAD, head_m);
}

static void ask_all(struct search *search)
{
    for (size_t i = 0; i < search->chain->count; i++) {
        if (search->chain->usable[i]) {
            ask_point(search, i);
        }
    }
    ask_curves(search);
}

enum status impossible_find(const struct chain *chain, const struct settled *settled, struct arena *arena,
                            struct odd_values *impossible, struct odd_values *doubtful)
{
    *impossible = *doubtful = (struct odd_values){0};
    struct search search = {
        .chain = chain, .settled = settled, .arena = arena, .impossible = impossible, .doubtful = doubtful};
    ask_all(&search);
    return search.no_memory ? E_MEMORY : OK;
}

bool impossible_any(const struct chain *chain, const struct settled *settled)
{
    struct search search = {.chain = chain, .settled = settled};
    ask_all(&search);
    return search.any;
}
