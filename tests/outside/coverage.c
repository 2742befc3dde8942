/* coverage TRIALS - simulated tests with known truth: how often do the stated 95 % intervals hold it?
 *
 * Every trial draws each instrument's error once for the whole test and scatter for every reading, goes through the
 * same chain as a real log (reduction, translation, fit, judgement, uncertainty), and asks whether head and set
 * efficiency at the guaranteed flow lie within the stated interval of the truth. Prints a line per case: "rectangular 3
 * head 0.9512 efficiency 0.9498". Then single readings ("single 1"), a power that one analyser reads on two inputs
 * ("analyser 3"), and records at 10 Hz whose noise has a correlation time, so many tenths of a second ("record 150");
 * of these a tenth of the trials. Invented pump.
 */
#include "certainty/uncertainty.h"
#include "physics/chain.h"
#include "verdict/judge.h"

#include <gsl/gsl_errno.h>
#include <gsl/gsl_randist.h>
#include <gsl/gsl_rng.h>
#include <stdio.h>
#include <stdlib.h>

enum { POINTS = 8, READINGS_MAX = 50, RECORD_ROWS = 400 };

/* What a case does otherwise than the first ones. */
struct variant {
    const char *name; /* NULL: by the distribution */
    bool normal, analyser;
    size_t readings;
    double memory_s; /* > 0: a record */
};

static const double gravity_m_s2 = 9.79, density_kg_m3 = 997.0, gauge_height_m = 1.2;
static const double flow_guaranteed_m3s = 0.0043;

/* The true set: a cubic head curve and a cubic power curve. */
static double true_head(double q)
{
    return 62.0 + 300.0 * q - 9.0e5 * q * q - 2.0e7 * q * q * q;
}

static double true_power(double q)
{
    return 1900.0 + 5.2e5 * q - 2.1e7 * q * q - 1.2e9 * q * q * q;
}

static double true_efficiency(double q)
{
    return density_kg_m3 * gravity_m_s2 * q * true_head(q) / true_power(q);
}

/* What the bay believes of its instruments, and what they really do in this trial. */
struct rig_of_trial {
    struct bay bay;
    struct model model;
    struct duty duty;
    struct grade grade;
    struct instrument instruments[4];
    double error[3]; /* of each instrument, in units of its limit */
};

static const enum channel channels[3] = {CH_FLOW, CH_GAUGE_PRESSURE, CH_INPUT_POWER};

static void set_up(struct rig_of_trial *rig, enum accuracy_distribution distribution)
{
    *rig = (struct rig_of_trial){0};
    for (int k = 0; k < 3; k++) {
        rig->instruments[k] = (struct instrument){.channel = channels[k],
                                                  .serial = "",
                                                  .unit_text = "",
                                                  .accuracy = quantity_of(k == 1 ? 0.004 : 0.01),
                                                  .basis = k == 1 ? ACCURACY_OF_RANGE : ACCURACY_OF_READING,
                                                  .range_low_si = quantity_of(0.0),
                                                  .range_high_si = quantity_of(1e6),
                                                  .distribution = distribution,
                                                  .gain = 1.0};
    }
    rig->grade = (struct grade){.name = "2B",
                                .standard = "ISO 9906:2012",
                                .geometry = GEOMETRY_BILATERAL,
                                .flow_plus = quantity_of(0.08),
                                .flow_minus = quantity_of(0.08),
                                .head_plus = quantity_of(0.05),
                                .head_minus = quantity_of(0.05),
                                .class_name = "",
                                .source = ""};
    rig->duty = (struct duty){.flow_m3s = quantity_of(flow_guaranteed_m3s),
                              .head_m = quantity_of(45.0),
                              .grade = &rig->grade,
                              .grade_name = "2B",
                              .flow_text = "",
                              .head_text = "",
                              .efficiency_text = "",
                              .input_power_text = "",
                              .flow_unit = "L/s",
                              .head_unit = "m",
                              .power_unit = "kW"};
    rig->model = (struct model){.name = "invented",
                                .rated_frequency_hz = quantity_of(50.0),
                                .phases = quantity_of(3.0),
                                .duty_count = 1,
                                .duties = &rig->duty,
                                .motor_name = "",
                                .label_scheme = ""};
    rig->bay.rig = (struct rig){.flow_method = FLOW_METER,
                                .gravity_m_s2 = quantity_of(gravity_m_s2),
                                .water_density_kg_m3 = quantity_of(density_kg_m3),
                                .gauge_height_m = quantity_of(gauge_height_m),
                                .water_level_m = quantity_of(0.0),
                                .delivery_bore_m = quantity_of(0.08),
                                .current_ratio = 1.0,
                                .voltage_ratio = 1.0,
                                .speed_basis = SPEED_FREQUENCY};
    rig->bay.instrument_count = 3;
    rig->bay.instruments = rig->instruments;
    rig->bay.models = &rig->model;
    rig->bay.model_count = 1;
}

static double true_reading(enum channel channel, double q)
{
    double area_m2 = 3.14159265358979 / 4.0 * 0.08 * 0.08;
    double velocity_head_m = q * q / (area_m2 * area_m2) / (2.0 * gravity_m_s2);
    switch (channel) {
    case CH_FLOW: return q;
    case CH_GAUGE_PRESSURE: return (true_head(q) - gauge_height_m - velocity_head_m) * density_kg_m3 * gravity_m_s2;
    case CH_INPUT_POWER: return true_power(q);
    default: return 0.0;
    }
}

/* Statistics of n readings with relative scatter about one true reading. */
static struct channel_stats read_channel(gsl_rng *rng, double reading, double scatter, size_t n)
{
    double value[READINGS_MAX], sum = 0.0, square = 0.0;
    struct channel_stats stats = {.n = n, .low = INFINITY, .high = -INFINITY, .effective_n = (double)n};
    for (size_t i = 0; i < n; i++) {
        value[i] = reading + gsl_ran_gaussian(rng, scatter);
        sum += value[i];
        stats.low = fmin(stats.low, value[i]);
        stats.high = fmax(stats.high, value[i]);
    }
    stats.mean = sum / (double)n;
    for (size_t i = 0; i < n; i++) {
        square += (value[i] - stats.mean) * (value[i] - stats.mean);
    }
    stats.deviation = n > 1 ? sqrt(square / (double)(n - 1)) : 0.0;
    stats.standard_error = stats.deviation / sqrt((double)n);
    return stats;
}

static const double scatter[3] = {0.006, 0.004, 0.004}; /* of the greatest reading */

static double greatest_of(int k)
{
    return k == 0 ? 0.0056 : (k == 1 ? 5.5e5 : 3600.0);
}

/* What an instrument reads at a point of the test, but for scatter. */
static double erring_reading(const struct rig_of_trial *rig, int k, double q)
{
    double reading = true_reading(channels[k], q);
    return reading + rig->error[k] * instrument_limit(&rig->instruments[k], reading, 1.0).value;
}

/* A record at 10 Hz with numbered points, whose noise falls to 1/e of its correlation in memory_s. */
static bool record(const struct rig_of_trial *rig, gsl_rng *rng, double memory_s, struct arena *arena,
                   struct settled *settled)
{
    static const struct settle_rule rule = {0};
    const uint32_t bits = UINT32_C(1) << CH_TIME | UINT32_C(1) << CH_POINT | UINT32_C(1) << CH_FLOW |
                          UINT32_C(1) << CH_GAUGE_PRESSURE | UINT32_C(1) << CH_INPUT_POWER |
                          UINT32_C(1) << CH_FREQUENCY;
    double keep = exp(-0.1 / memory_s), noise[3];
    struct log log = {.file = "simulated", .channels = bits};
    struct notes notes = {0};
    struct faults faults = {0};
    struct settler *settler = settle_new(&rule, arena);
    for (size_t row = 0; settler != NULL && row < POINTS * RECORD_ROWS; row++) {
        size_t i = row / RECORD_ROWS;
        struct reading reading = {.present = bits};
        reading.value[CH_TIME] = 0.1 * (double)row;
        reading.value[CH_POINT] = (double)i + 1.0;
        reading.value[CH_FREQUENCY] = 50.0;
        for (int k = 0; k < 3; k++) {
            double fresh = gsl_ran_gaussian_ziggurat(rng, 1.0);
            noise[k] = row % RECORD_ROWS == 0 ? fresh : keep * noise[k] + sqrt(1.0 - keep * keep) * fresh;
            reading.value[channels[k]] =
                erring_reading(rig, k, 0.0008 * (double)i) + scatter[k] * greatest_of(k) * noise[k];
        }
        if (settle_take(settler, &reading) != OK) {
            return false;
        }
    }
    bool good = settler != NULL && settle_finish(settler, &log, settled, &notes, &faults) == OK;
    settle_release(settler);
    return good && settled->count == POINTS;
}

/* Splits the power over two inputs of one analyser. */
static void split_power(struct settled *settled)
{
    for (size_t i = 0; i < POINTS; i++) {
        struct channel_stats *all = settled->points[i].channels, *one = &all[CH_WATTMETER_1],
                             *two = &all[CH_WATTMETER_2];
        *one = *two = all[CH_INPUT_POWER];
        one->mean *= 0.6, two->mean *= 0.4;
        one->standard_error *= 0.6, two->standard_error *= 0.8; /* scatters apart: the squares add up */
        all[CH_INPUT_POWER].n = 0;
    }
}

static void simulate(const struct rig_of_trial *rig, gsl_rng *rng, size_t readings, struct settled *settled)
{
    for (size_t i = 0; i < POINTS; i++) {
        struct settled_point *point = &settled->points[i];
        double q = 0.0008 * (double)i;
        *point = (struct settled_point){
            .number = (int)i + 1, .readings = readings, .steady = true, .from_s = NAN, .to_s = NAN};
        for (int k = 0; k < 3; k++) {
            point->channels[channels[k]] =
                read_channel(rng, erring_reading(rig, k, q), scatter[k] * greatest_of(k), readings);
        }
        point->channels[CH_FREQUENCY] = (struct channel_stats){
            .n = readings, .mean = 50.0, .low = 50.0, .high = 50.0, .effective_n = (double)readings};
    }
}

/* One test. Returns: bit 0 head within its interval, bit 1 efficiency; -1 when memory is out. */
static int run_trial(struct rig_of_trial *rig, gsl_rng *rng, const struct variant *variant)
{
    struct arena arena = {0};
    struct settled settled = {.count = POINTS, .points = arena_alloc(&arena, POINTS, sizeof *settled.points)};
    for (int k = 0; k < 3; k++) {
        rig->error[k] = variant->normal ? gsl_ran_gaussian(rng, 0.5) : gsl_ran_flat(rng, -1.0, 1.0);
    }
    struct site site = site_of(&rig->bay.rig);
    struct duty_result duty;
    struct certainty certainty;
    struct chain chain;
    int held = -1;
    if (settled.points != NULL && chain_init(&chain, &arena, POINTS) == OK) {
        simulate(rig, rng, variant->readings, &settled);
        if (variant->memory_s > 0.0) {
            settled = (struct settled){0};
            if (!record(rig, rng, variant->memory_s, &arena, &settled)) {
                return -1;
            }
        } else if (variant->analyser) {
            split_power(&settled);
        }
        chain.bay = &rig->bay;
        chain.model = &rig->model;
        chain.site = &site;
        chain.basis = SPEED_FREQUENCY;
        for (size_t i = 0; i < POINTS; i++) {
            chain.usable[i] = true;
            for (int c = 0; c < CHANNEL_COUNT; c++) {
                if (settled.points[i].channels[c].n > 0) {
                    chain.means[i].value[c] = settled.points[i].channels[c].mean;
                    chain.means[i].present |= UINT32_C(1) << c;
                }
            }
        }
        chain_run(&chain);
        struct certainty_input input = {.chain = &chain, .settled = &settled, .duties = &duty, .duty_count = 1};
        duty = judge_duty(&rig->model, &rig->duty, &chain.curves, NULL);
        if (uncertainty_find(&input, &arena, &arena, &certainty) == OK) {
            const struct duty_certainty *found = &certainty.duties[0];
            double head_error = fabs(duty.at_guaranteed_flow.head_m.value - true_head(flow_guaranteed_m3s));
            double efficiency_error =
                fabs(duty.at_guaranteed_flow.set_efficiency.value - true_efficiency(flow_guaranteed_m3s));
            bool head = found->head_m.known && head_error <= found->head_m.value;
            bool efficiency = found->set_efficiency.known && efficiency_error <= found->set_efficiency.value;
            held = (head ? 1 : 0) + (efficiency ? 2 : 0);
        }
    }
    arena_release(&arena);
    return held;
}

/* Runs and prints one case. Returns: false when a trial could not be made. */
static bool run_case(gsl_rng *rng, const struct variant *variant, long trials)
{
    struct rig_of_trial rig;
    long head = 0, efficiency = 0;
    set_up(&rig, variant->normal ? DISTRIBUTION_NORMAL : DISTRIBUTION_RECTANGULAR);
    if (variant->analyser) {
        rig.instruments[3] = rig.instruments[2];
        rig.instruments[2].serial = rig.instruments[3].serial = "PA-1";
        rig.instruments[2].channel = CH_WATTMETER_1;
        rig.instruments[3].channel = CH_WATTMETER_2;
        rig.bay.instrument_count = 4;
    }
    for (long t = 0; t < trials; t++) {
        int held = run_trial(&rig, rng, variant);
        if (held < 0) {
            return false;
        }
        head += held & 1;
        efficiency += held >> 1;
    }
    printf("%s %.0f head %.4f efficiency %.4f %ld\n",
           variant->name != NULL ? variant->name
           : variant->normal     ? "normal"
                                 : "rectangular",
           variant->memory_s > 0.0 ? 10.0 * variant->memory_s : (double)variant->readings,
           (double)head / (double)trials, (double)efficiency / (double)trials, trials);
    return true;
}

int main(int argc, char **argv)
{
    static const struct variant variants[] = {
        {NULL, false, false, 3, 0.0},    {NULL, false, false, 5, 0.0},     {NULL, false, false, 50, 0.0},
        {NULL, true, false, 3, 0.0},     {NULL, true, false, 5, 0.0},      {NULL, true, false, 50, 0.0},
        {"single", true, false, 1, 0.0}, {"analyser", true, true, 5, 0.0}, {"record", true, false, 3, 0.3},
        {"record", true, false, 3, 2.0}, {"record", true, false, 3, 5.0},  {"record", true, false, 3, 15.0},
    };
    long trials = argc > 1 ? strtol(argv[1], NULL, 10) : 10000;
    gsl_set_error_handler_off();
    gsl_rng *rng = gsl_rng_alloc(gsl_rng_mt19937);
    bool good = rng != NULL && trials >= 1;
    for (size_t v = 0; good && v < sizeof variants / sizeof variants[0]; v++) {
        gsl_rng_set(rng, 20260611 + v);
        good = run_case(rng, &variants[v], variants[v].memory_s > 0.0 ? trials / 10 + 1 : trials);
    }
    gsl_rng_free(rng);
    return good ? EXIT_SUCCESS : EXIT_FAILURE;
}
