/* The EU minimum efficiency index: pump efficiency at 75, 100 and 110 % of best-efficiency flow against a surface. */
#include "label/label_eu.h"

#include "base/text.h"

#include <math.h>
#include <string.h>

enum { CONSTANTS_MAX = 16 };

static const double seconds_per_hour = 3600.0;

const double label_load_share[LABEL_LOADS] = {0.947, 1.0, 0.985}; /* from memory, confirm */

double eu_specific_speed(double speed_rpm, double stages, double flow_m3s, double head_m)
{
    return speed_rpm * sqrt(flow_m3s) / pow(head_m / stages, 0.75);
}

/* The surface without its constant, percent. */
static double surface(double specific_speed, double flow_m3s)
{
    double x = log(specific_speed), y = log(flow_m3s * seconds_per_hour);
    return 88.59 * x + 13.46 * y - 11.48 * x * x - 0.85 * y * y - 0.38 * x * y;
}

double eu_required_efficiency(double specific_speed, double flow_m3s, double c)
{
    return (surface(specific_speed, flow_m3s) - c) / 100.0;
}

double eu_constant_met(double specific_speed, double flow_m3s, double efficiency)
{
    return surface(specific_speed, flow_m3s) - efficiency * 100.0;
}

/* The two constants between which a C (or an index) lies: the first of the pair; beyond the ends the outermost pair. */
static size_t pair_by_c(const struct label_constant *const *constants, size_t count, double c)
{
    size_t at = 0;
    while (at + 2 < count && c < constants[at + 1]->c) {
        at++;
    }
    return at;
}

static size_t pair_by_index(const struct label_constant *const *constants, size_t count, double index)
{
    size_t at = 0;
    while (at + 2 < count && index > constants[at + 1]->index.value) {
        at++;
    }
    return at;
}

double eu_index(const struct label_constant *const *constants, size_t count, double c, bool *beyond)
{
    size_t at = pair_by_c(constants, count, c);
    const struct label_constant *a = constants[at], *b = constants[at + 1];
    *beyond = c > constants[0]->c || c < constants[count - 1]->c;
    return a->index.value + (a->c - c) / (a->c - b->c) * (b->index.value - a->index.value);
}

double eu_constant_of(const struct label_constant *const *constants, size_t count, double index)
{
    size_t at = pair_by_index(constants, count, index);
    const struct label_constant *a = constants[at], *b = constants[at + 1];
    return a->c - (index - a->index.value) / (b->index.value - a->index.value) * (a->c - b->c);
}

/* --- the label --- */

struct eu {
    const struct label_constant *constants[CONSTANTS_MAX];
    size_t count, load; /* load: the one that counts */
    double specific_speed, flow_m3s, measured, input_power_w;
};

static double index_at(const void *context, double efficiency)
{
    const struct eu *eu = context;
    bool beyond;
    double c = eu_constant_met(eu->specific_speed, eu->flow_m3s, efficiency / label_load_share[eu->load]);
    return eu_index(eu->constants, eu->count, c, &beyond);
}

static double efficiency_at(const void *context, double index)
{
    const struct eu *eu = context;
    double c = eu_constant_of(eu->constants, eu->count, index);
    return label_load_share[eu->load] * eu_required_efficiency(eu->specific_speed, eu->flow_m3s, c);
}

static double spare_power_w(const void *context, double index)
{
    const struct eu *eu = context;
    return eu->input_power_w * (eu->measured / efficiency_at(context, index) - 1.0);
}

/* The constants of a type and nominal speed by rising index. */
static bool gather(struct labelling *labelling, double speed_rpm, struct eu *eu)
{
    const struct label_book *book = labelling->input->book;
    for (size_t i = 0; i < book->constant_count && eu->count < CONSTANTS_MAX; i++) {
        const struct label_constant *constant = &book->constants[i];
        if (!name_equal(constant->scheme, labelling->scheme) || !name_equal(constant->type, labelling->type) ||
            constant->speed_rpm != speed_rpm || !constant->index.known) {
            continue;
        }
        size_t at = eu->count++;
        for (; at > 0 && eu->constants[at - 1]->index.value > constant->index.value; at--) {
            eu->constants[at] = eu->constants[at - 1];
        }
        eu->constants[at] = constant;
    }
    bool falls = eu->count >= 2;
    for (size_t i = 1; i < eu->count; i++) {
        falls = falls && eu->constants[i]->c < eu->constants[i - 1]->c;
    }
    return falls ? true
                 : label_refuse(
                       labelling,
                       "%s: the tables need two constants C or more for %s at %g rpm, falling as the index rises",
                       labelling->label->scheme, labelling->type, speed_rpm);
}

/* The load at which the pump stands worst: the least index, which is the least efficiency over its share. */
static void find_load(const struct label_pump *pump, struct eu *eu)
{
    double least = INFINITY;
    for (size_t i = 0; i < LABEL_LOADS; i++) {
        const struct label_loads *loads = &pump->loads;
        double efficiency = pump->weight_n_m3[i] * loads->flow_m3s[i] * loads->head_m[i] / loads->shaft_power_w[i];
        if (efficiency / label_load_share[i] < least) {
            least = efficiency / label_load_share[i];
            eu->load = i;
            eu->measured = efficiency;
        }
    }
}

static void say_loads(struct labelling *labelling, const struct eu *eu, const struct label_pump *pump)
{
    double index[LABEL_LOADS];
    bool beyond;
    for (size_t i = 0; i < LABEL_LOADS; i++) {
        const struct label_loads *loads = &pump->loads;
        double efficiency = pump->weight_n_m3[i] * loads->flow_m3s[i] * loads->head_m[i] / loads->shaft_power_w[i];
        double c = eu_constant_met(eu->specific_speed, eu->flow_m3s, efficiency / label_load_share[i]);
        index[i] = eu_index(eu->constants, eu->count, c, &beyond);
    }
    label_note(labelling,
               "index %.4f at 75 %%, %.4f at 100 %%, %.4f at 110 %% of best-efficiency flow; the least counts",
               index[0], index[1], index[2]);
}

void label_eu(struct labelling *labelling)
{
    static const char *const names[LABEL_LOADS] = {
        "pump efficiency (shaft to water, by the motor's curve) at 75 % of best-efficiency flow",
        "pump efficiency (shaft to water, by the motor's curve) at best efficiency",
        "pump efficiency (shaft to water, by the motor's curve) at 110 % of best-efficiency flow",
    };
    const struct label_input *input = labelling->input;
    const struct label_pump *pump = &input->pump;
    const struct label_constant *constant = label_constant_at_speed(labelling);
    struct eu eu = {.input_power_w = quantity_or(input->input_power_w, NAN)};
    bool beyond;
    if (constant == NULL || !label_in_scope(labelling, 0.0, 0.0) || !gather(labelling, constant->speed_rpm, &eu)) {
        return;
    }
    if (!input->model->stages.known) {
        (void)label_refuse(labelling, "models.csv does not state 'stages' of model %.60s", input->model->name);
        return;
    }
    if (!pump->shaft_known) {
        (void)label_refuse(labelling,
                           "%s is an index of the pump alone: it needs the motor's curve (motors.csv) "
                           "or 'motor efficiency' in models.csv",
                           labelling->label->scheme);
        return;
    }
    if (pump->why != NULL) {
        (void)label_refuse(labelling, "%s", pump->why);
        return;
    }
    struct label_loads loads = loads_at_speed(&pump->loads, constant->speed_rpm / input->model->rated_speed_rpm.value);
    eu.flow_m3s = loads.flow_m3s[1];
    eu.specific_speed =
        eu_specific_speed(constant->speed_rpm, input->model->stages.value, loads.flow_m3s[1], loads.head_m[1]);
    find_load(pump, &eu);
    double c = eu_constant_met(eu.specific_speed, eu.flow_m3s, eu.measured / label_load_share[eu.load]);
    struct label_scale scale = {.index = eu_index(eu.constants, eu.count, c, &beyond),
                                .measured = eu.measured,
                                .index_at = index_at,
                                .efficiency_at = efficiency_at,
                                .spare_power_w = spare_power_w,
                                .context = &eu};
    labelling->label->efficiency_name = names[eu.load];
    labelling->label->source = constant->source;
    say_loads(labelling, &eu, pump);
    if (beyond) {
        label_note(labelling,
                   "beyond the tabulated constants of index %.2f to %.2f: the line through them goes on, confirm",
                   eu.constants[0]->index.value, eu.constants[eu.count - 1]->index.value);
    }
    label_place(labelling, &scale);
}
