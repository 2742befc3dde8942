/* How sure the checks are, against the chain itself
 *
 * An invented set is read without scatter, so that all that can err are the instruments. What first-order propagation
 * says is held against what the definitions say (JCGM 100:2008, 5.1.3: a sensitivity is the change of the result when
 * a reading changes; JCGM 106:2012, clause 7: the probability is that of the errors for which the true values
 * conform), found by sending moved readings through reduction, fit and judgement.
 */
#include "certainty/uncertainty.h"
#include "physics/chain.h"

#include "near.h"

#include <string.h>

enum { POINTS = 8, INSTRUMENTS = 4 };

static const double density_kg_m3 = 1000.0, gravity_m_s2 = 9.8, weight_n_m3 = 9800.0;
static const double guaranteed_m3s = 0.0043, highest_m3s = 0.0056;
static const enum channel channels[INSTRUMENTS] = {CH_FLOW, CH_GAUGE_PRESSURE, CH_INPUT_POWER, CH_CURRENT};

/* --- an invented set, its bay and its test --- */

/* y = c0 + c1 Q + c2 Q^2 */
struct parabola {
    double c0, c1, c2;
};

static double parabola_at(struct parabola y, double q)
{
    return y.c0 + (y.c1 + y.c2 * q) * q;
}

static struct bench {
    struct arena arena;
    struct bay bay;
    struct model model;
    struct duty duty;
    struct grade grade;
    struct instrument instruments[INSTRUMENTS];
    struct parabola truth[INSTRUMENTS]; /* flow: not used; head, input power, current */
    size_t readings;
    double standard_error[INSTRUMENTS]; /* of each mean */
    double ripple_m;                    /* of the heads: what no parabola follows */
    size_t degree;
    struct settled settled;
    struct chain chain;
    struct site site;
    struct duty_result judged;
    struct certainty certainty;
} bench;

static const struct parabola bent_head = {60.0, -1000.0, -6e5}, straight_head = {70.44, -6000.0, 0.0};
static const struct parabola rising_power = {1900.0, 4e5, -1.5e7}, rising_current = {4.0, 900.0, -3e4};

static void make_instruments(void)
{
    for (int k = 0; k < INSTRUMENTS; k++) {
        bench.instruments[k] = (struct instrument){.channel = channels[k],
                                                   .serial = "",
                                                   .unit_text = "",
                                                   .accuracy = quantity_of(1e-9),
                                                   .basis = ACCURACY_OF_READING,
                                                   .distribution = DISTRIBUTION_NORMAL,
                                                   .range_low_si = quantity_of(0.0),
                                                   .range_high_si = quantity_of(1e6),
                                                   .gain = 1.0};
    }
}

static void make_model(void)
{
    bench.duty = (struct duty){.flow_m3s = quantity_of(guaranteed_m3s),
                               .head_m = quantity_of(44.5),
                               .efficiency = quantity_of(0.56),
                               .input_power_w = quantity_of(3200.0),
                               .grade = &bench.grade,
                               .grade_name = "typed",
                               .flow_text = "4.30",
                               .head_text = "44.5",
                               .efficiency_text = "56.0",
                               .input_power_text = "3.20",
                               .flow_unit = "L/s",
                               .head_unit = "m",
                               .power_unit = "kW"};
    bench.model = (struct model){.name = "invented",
                                 .rated_frequency_hz = quantity_of(50.0),
                                 .phases = quantity_of(3.0),
                                 .rated_current_a = quantity_of(7.9),
                                 .rated_current_text = "7.9",
                                 .rated_power_w = quantity_of(2920.0),
                                 .rated_power_text = "2.92",
                                 .motor_efficiency = quantity_of(0.8),
                                 .head_low_m = quantity_of(38.0),
                                 .head_high_m = quantity_of(55.0),
                                 .duty_count = 1,
                                 .duties = &bench.duty,
                                 .motor_name = "",
                                 .label_scheme = ""};
}

static void make_bay(void)
{
    bench.bay.rig = (struct rig){.flow_method = FLOW_METER,
                                 .gravity_m_s2 = quantity_of(gravity_m_s2),
                                 .water_density_kg_m3 = quantity_of(density_kg_m3),
                                 .gauge_height_m = quantity_of(0.0),
                                 .water_level_m = quantity_of(0.0),
                                 .delivery_bore_m = quantity_of(1.0), /* no velocity head to speak of */
                                 .current_ratio = 1.0,
                                 .voltage_ratio = 1.0,
                                 .speed_basis = SPEED_FREQUENCY};
    bench.bay.instrument_count = INSTRUMENTS;
    bench.bay.instruments = bench.instruments;
    bench.bay.models = &bench.model;
    bench.bay.model_count = 1;
}

static void set_up(void)
{
    memset(&bench, 0, sizeof bench);
    bench.grade = (struct grade){.name = "typed",
                                 .geometry = GEOMETRY_BILATERAL,
                                 .flow_plus = quantity_of(0.08),
                                 .flow_minus = quantity_of(0.08),
                                 .head_plus = quantity_of(0.03),
                                 .head_minus = quantity_of(0.03),
                                 .power_plus = quantity_of(0.0),
                                 .efficiency_minus_set = quantity_of(0.0),
                                 .efficiency_minus_pump = quantity_of(0.0),
                                 .class_name = "",
                                 .source = "typed"};
    bench.truth[1] = bent_head;
    bench.truth[2] = rising_power;
    bench.truth[3] = rising_current;
    bench.readings = 1;
    bench.degree = 2;
    make_instruments();
    make_model();
    make_bay();
}

static void tear_down(void)
{
    arena_release(&bench.arena);
}

static double flow_of(size_t i)
{
    return highest_m3s * (double)i / (POINTS - 1);
}

static double true_reading(int k, size_t i)
{
    /* Third-order orthogonal polynomial on eight even steps (any table of them), sum of squares 264: a parabola fitted
     * to it is 0 throughout. */
    static const double ripple[POINTS] = {-7, 5, 7, 3, -3, -7, -5, 7};
    double value = parabola_at(bench.truth[k], flow_of(i));
    return k == 0 ? flow_of(i) : k == 1 ? (value + bench.ripple_m * ripple[i]) * weight_n_m3 : value;
}

static struct channel_stats stats_of(double mean, double standard_error)
{
    size_t n = bench.readings;
    return (struct channel_stats){.n = n,
                                  .mean = mean,
                                  .low = mean,
                                  .high = mean,
                                  .deviation = standard_error * sqrt((double)n),
                                  .standard_error = standard_error,
                                  .effective_n = (double)n};
}

static void read_point(size_t i)
{
    struct settled_point *point = &bench.settled.points[i];
    struct means *means = &bench.chain.means[i];
    *point = (struct settled_point){
        .number = (int)i + 1, .readings = bench.readings, .steady = true, .from_s = NAN, .to_s = NAN};
    for (int k = 0; k < INSTRUMENTS; k++) {
        point->channels[channels[k]] = stats_of(true_reading(k, i), bench.standard_error[k]);
    }
    point->channels[CH_FREQUENCY] = stats_of(50.0, 0.0);
    for (int c = 0; c < CHANNEL_COUNT; c++) {
        if (point->channels[c].n > 0) {
            means->value[c] = point->channels[c].mean;
            means->present |= UINT32_C(1) << c;
        }
    }
    bench.chain.usable[i] = true;
}

static void run_chain(void)
{
    bench.chain.bay = &bench.bay;
    bench.chain.model = &bench.model;
    bench.chain.site = &bench.site;
    bench.chain.basis = SPEED_FREQUENCY;
    for (int k = 0; k < CURVE_COUNT; k++) {
        bench.chain.degree[k] = bench.degree;
    }
    ck_assert_int_eq(chain_run(&bench.chain), OK);
}

static void read_test(void)
{
    bench.settled.count = POINTS;
    bench.settled.points = arena_alloc(&bench.arena, POINTS, sizeof *bench.settled.points);
    ck_assert_ptr_nonnull(bench.settled.points);
    ck_assert_int_eq(chain_init(&bench.chain, &bench.arena, POINTS), OK);
    bench.site = site_of(&bench.bay.rig);
    for (size_t i = 0; i < POINTS; i++) {
        read_point(i);
    }
    run_chain();
}

static void judge_set(void)
{
    bench.judged = judge_duty(&bench.model, &bench.duty, &bench.chain.curves, NULL);
    struct certainty_input input = {
        .chain = &bench.chain, .settled = &bench.settled, .duties = &bench.judged, .duty_count = 1};
    ck_assert_int_eq(uncertainty_find(&input, &bench.arena, &bench.arena, &bench.certainty), OK);
}

/* The test as the program goes through it: curves, verdict, uncertainty. */
static void test_set(void)
{
    read_test();
    judge_set();
}

/* What would be judged had instrument k erred by so many of its standard uncertainties. */
static struct duty_result judged_when_off(int k, double times)
{
    struct duty_result moved;
    struct means kept[POINTS];
    for (size_t i = 0; i < POINTS; i++) {
        double *reading = &bench.chain.means[i].value[channels[k]];
        kept[i] = bench.chain.means[i];
        *reading += times * 0.5 * instrument_limit(&bench.instruments[k], *reading, 1.0).value;
    }
    run_chain();
    moved = judge_duty(&bench.model, &bench.duty, &bench.chain.curves, NULL);
    for (size_t i = 0; i < POINTS; i++) {
        bench.chain.means[i] = kept[i];
    }
    return moved;
}

static const struct check *check_of(const struct duty_result *duty, enum check_item item)
{
    for (size_t i = 0; i < duty->check_count; i++) {
        if (duty->checks[i].item == item) {
            return &duty->checks[i];
        }
    }
    ck_abort_msg("no check of item %d", (int)item);
    return NULL;
}

/* --- sensitivities --- */

static double number_in(const struct duty_result *duty, enum duty_number number)
{
    switch (number) {
    case NUMBER_HEAD: return duty->at_guaranteed_flow.head_m.value;
    case NUMBER_SET_EFFICIENCY: return duty->at_guaranteed_flow.set_efficiency.value;
    case NUMBER_EFFICIENCY: return check_of(duty, CHECK_EFFICIENCY)->value.value;
    case NUMBER_INPUT_POWER: return check_of(duty, CHECK_INPUT_POWER)->value.value;
    case NUMBER_CURRENT_MAX: return check_of(duty, CHECK_OVERLOAD_CURRENT)->value.value;
    case NUMBER_POWER_MAX: return check_of(duty, CHECK_OVERLOAD_POWER)->value.value;
    case NUMBER_COUNT: break;
    }
    return NAN;
}

/* Each number's standard uncertainty from one instrument is the change that this instrument's error makes. Step: a
 * twentieth of the uncertainty either way, so that the curves' bend over it is beyond the sixth place; the program's
 * own step is the whole uncertainty, which in what is not linear (efficiency) shows in the fourth. */
static void numbers_move_as_the_chain_moves(void)
{
    for (int k = 0; k < INSTRUMENTS; k++) {
        make_instruments();
        bench.instruments[k].accuracy = quantity_of(0.004);
        bench.instruments[k].basis = channels[k] == CH_GAUGE_PRESSURE ? ACCURACY_OF_RANGE : ACCURACY_OF_READING;
        test_set();
        struct duty_result up = judged_when_off(k, 0.05), down = judged_when_off(k, -0.05);
        for (int n = 0; n < NUMBER_COUNT; n++) {
            double want = fabs(number_in(&up, (enum duty_number)n) - number_in(&down, (enum duty_number)n)) / 0.1;
            double size = number_in(&up, (enum duty_number)n);
            double got = spread_deviation(&bench.certainty.duties[0].error[n]);
            ck_assert_msg(fabs(got - want) <= 1e-3 * want + 1e-7 * size,
                          "instrument %d, number %d: standard uncertainty %.8g, the chain says %.8g", k, n, got, want);
        }
    }
}

/* Rising power and current: the greatest lie at the low end of the head range. */
START_TEST(overload_moves_with_the_low_end_of_the_head_range)
{
    numbers_move_as_the_chain_moves();
}
END_TEST

/* Falling ones: at its high end. */
START_TEST(overload_moves_with_the_high_end_of_the_head_range)
{
    bench.truth[2] = (struct parabola){3900.0, -1e5, -1.5e7};
    bench.truth[3] = (struct parabola){9.0, -300.0, -3e4};
    numbers_move_as_the_chain_moves();
}
END_TEST

/* With a hump within the range the flow does not move. */
START_TEST(overload_at_a_hump_stays)
{
    bench.truth[2] = (struct parabola){1900.0, 1.08e6, -1.5e8};
    bench.truth[3] = (struct parabola){4.0, 2160.0, -3e5};
    numbers_move_as_the_chain_moves();
}
END_TEST

/* Efficiency and input power read on the duty line, which the head curve carries along, or at the guaranteed flow. */
START_TEST(duty_line_moves_with_the_curve)
{
    bench.duty.efficiency_of_pump = (_i & 1) != 0;
    bench.grade.efficiency_at = (_i & 2) != 0 ? READ_GUARANTEED_FLOW : READ_DUTY_LINE;
    bench.grade.power_at = (_i & 4) != 0 ? READ_GUARANTEED_FLOW : READ_DUTY_LINE;
    bench.truth[1].c0 *= 0.93; /* the line meets the curve well off the guaranteed flow */
    numbers_move_as_the_chain_moves();
}
END_TEST

/* Scatter of each point's mean moves the numbers too; independent errors add in squares (JCGM 100:2008, 5.1.2). Each
 * channel's is so small that the readings' curves stay where they are. */
START_TEST(scatter_of_each_point_adds_in_squares)
{
    static const double standard_error[INSTRUMENTS] = {2e-6, 400.0, 5.0, 0.01};
    bench.readings = 5;
    memcpy(bench.standard_error, standard_error, sizeof standard_error);
    test_set();
    ck_assert(!bench.certainty.scatter_by_residual);
    double square[NUMBER_COUNT] = {0};
    for (size_t i = 0; i < POINTS; i++) {
        for (int k = 0; k < INSTRUMENTS; k++) {
            struct duty_result moved[2];
            double *reading = &bench.chain.means[i].value[channels[k]], kept = *reading;
            for (int side = 0; side < 2; side++) {
                *reading = kept + (side == 0 ? 0.05 : -0.05) * standard_error[k];
                moved[side] = judged_when_off(k, 0.0);
                *reading = kept;
            }
            for (int n = 0; n < NUMBER_COUNT; n++) {
                enum duty_number number = (enum duty_number)n;
                double change = (number_in(&moved[0], number) - number_in(&moved[1], number)) / 0.1;
                square[n] += change * change;
            }
        }
    }
    for (int n = 0; n < NUMBER_COUNT; n++) {
        near_rel(spread_deviation(&bench.certainty.duties[0].error[n]), sqrt(square[n]), 1e-3); /* as above */
    }
}
END_TEST

/* --- probabilities --- */

static double normal_below(double x)
{
    return 0.5 * erfc(-x / sqrt(2.0));
}

static bool conforms_when_off(int k, double times, enum check_item item)
{
    struct duty_result moved = judged_when_off(k, times);
    return check_of(&moved, item)->verdict == VERDICT_PASS;
}

/* Where between two errors the verdict turns, to 1e-9 of a standard uncertainty. */
static double turn_between(int k, double here, double there, enum check_item item)
{
    bool as_here = conforms_when_off(k, here, item);
    for (int step = 0; step < 30; step++) {
        double middle = 0.5 * (here + there);
        *(conforms_when_off(k, middle, item) == as_here ? &here : &there) = middle;
    }
    return 0.5 * (here + there);
}

/* The probability of the errors (normal, symmetric) of instrument k for which the true values conform. */
static double conforming_share(int k, enum check_item item)
{
    const double end = 6.0, step = 0.1; /* beyond 6: 2e-9; bands narrower than a tenth do not occur here */
    double share = 0.0, from = -INFINITY;
    bool inside = conforms_when_off(k, -end, item);
    for (double x = -end; x < end - 1e-9; x += step) {
        bool next = conforms_when_off(k, x + step, item);
        if (next != inside) {
            double turn = turn_between(k, x, x + step, item);
            share += inside ? normal_below(turn) - normal_below(from) : 0.0;
            from = turn;
        }
        inside = next;
    }
    return share + (inside ? 1.0 - normal_below(from) : 0.0);
}

/* A grade and a set near its edge. The errors are those of the gauge, which moves the head curve up and down as a whole
 * by 0.41 m; head is the true one at guaranteed flow, 44.5 m are guaranteed. */
static const struct geometry_case {
    const char *name;
    enum grade_geometry geometry;
    enum grade_rounding rounding;
    double flow_minus, flow_plus, head_minus, head_plus; /* % */
    double head_m;
    bool straight;
} geometry_cases[] = {
    {"cross, left arm decides", GEOMETRY_BILATERAL, ROUND_NONE, 8, 8, 3, 3, 42.6, false},
    {"cross, right arm decides", GEOMETRY_BILATERAL, ROUND_NONE, 8, 8, 3, 3, 46.4, false},
    {"cross, lower arm decides", GEOMETRY_BILATERAL, ROUND_NONE, 3, 3, 5, 5, 42.5, false},
    {"cross, upper arm decides", GEOMETRY_BILATERAL, ROUND_NONE, 3, 3, 5, 5, 46.5, false},
    {"cross, both ends in doubt", GEOMETRY_BILATERAL, ROUND_NONE, 0.8, 0.9, 1, 1, 44.4, false},
    {"unilateral, from below", GEOMETRY_UNILATERAL, ROUND_NONE, 0, 10, 0, 6, 44.7, false},
    {"unilateral, upper arm decides", GEOMETRY_UNILATERAL, ROUND_NONE, 0, 5, 0, 6, 47.0, false},
    {"unilateral, right arm decides", GEOMETRY_UNILATERAL, ROUND_NONE, 0, 10, 0, 3, 47.1, false},
    {"ellipse, from below", GEOMETRY_ELLIPSE, ROUND_NONE, 7, 0, 4, 0, 42.2, true},
    {"ellipse, from above", GEOMETRY_ELLIPSE, ROUND_NONE, 7, 0, 4, 0, 46.9, true},
    {"minimum, head decides", GEOMETRY_MINIMUM, ROUND_NONE, 8, 0, 3, 0, 43.0, false},
    {"minimum, flow decides", GEOMETRY_MINIMUM, ROUND_NONE, 3, 0, 5, 0, 43.4, false},
    {"rounded cross", GEOMETRY_BILATERAL, ROUND_IS2, 3, 3, 5, 5, 42.3, false},
};

enum { GEOMETRY_CASES = sizeof geometry_cases / sizeof geometry_cases[0] };

static double probability_of(enum check_item item)
{
    for (size_t c = 0; c < bench.judged.check_count; c++) {
        if (bench.judged.checks[c].item == item) {
            return bench.certainty.duties[0].conformance_probability[c].value;
        }
    }
    return NAN;
}

static void take_case(const struct geometry_case *row)
{
    bench.grade.geometry = row->geometry;
    bench.grade.rounding = row->rounding;
    bench.grade.flow_minus = quantity_of(row->flow_minus / 100);
    bench.grade.flow_plus = quantity_of(row->flow_plus / 100);
    bench.grade.head_minus = quantity_of(row->head_minus / 100);
    bench.grade.head_plus = quantity_of(row->head_plus / 100);
    bench.duty.head_text = row->rounding == ROUND_IS2 ? "45" : "44.5"; /* whole metres: the rounding shows */
    bench.truth[1] = row->straight ? straight_head : bent_head;
    bench.truth[1].c0 += row->head_m - parabola_at(bench.truth[1], guaranteed_m3s);
    bench.instruments[1].basis = ACCURACY_OF_RANGE;
    bench.instruments[1].accuracy = quantity_of(2.0 * 4000.0 / 1e6);
}

/* Tolerance: a shift of the whole curve is linear in every limit, so that first order is exact; 1e-5 is the convolution
 * with the other instruments' billionths and the arithmetic of the bisections. */
START_TEST(probability_of_each_geometry)
{
    const struct geometry_case *row = &geometry_cases[_i];
    take_case(row);
    test_set();
    double got = probability_of(CHECK_FLOW_AND_HEAD);
    double want = conforming_share(1, CHECK_FLOW_AND_HEAD);
    ck_assert_msg(want > 0.02 && want < 0.98, "%s: %.5f tests nothing", row->name, want);
    ck_assert_msg(fabs(got - want) <= 1e-5, "%s: probability %.6f, want %.6f", row->name, got, want);
}
END_TEST

/* The other checks, each by the instrument that moves it most. Tolerance: these bend over the two standard
 * uncertainties of 0.3 % on either side: 0.003^2 of the value against 0.003 of it, a share of 0.003 at the most. */
START_TEST(probability_of_each_check)
{
    static const struct {
        enum check_item item;
        int instrument;
    } rows[] = {
        {CHECK_EFFICIENCY, 0},     {CHECK_EFFICIENCY, 1},       {CHECK_EFFICIENCY, 2},
        {CHECK_INPUT_POWER, 0},    {CHECK_INPUT_POWER, 2},      {CHECK_OVERLOAD_POWER, 1},
        {CHECK_OVERLOAD_POWER, 2}, {CHECK_OVERLOAD_CURRENT, 1}, {CHECK_OVERLOAD_CURRENT, 3},
    };
    int k = rows[_i].instrument;
    bench.instruments[k].accuracy = quantity_of(0.006);
    bench.instruments[k].basis = k == 1 ? ACCURACY_OF_RANGE : ACCURACY_OF_READING;
    test_set();
    /* The limit half a standard uncertainty from the value: every check is in doubt. */
    struct duty_result up = judged_when_off(k, 0.5);
    double edge = check_of(&up, rows[_i].item)->value.value;
    switch (rows[_i].item) {
    case CHECK_EFFICIENCY: bench.duty.efficiency = quantity_of(edge); break;
    case CHECK_INPUT_POWER: bench.duty.input_power_w = quantity_of(edge); break;
    case CHECK_OVERLOAD_CURRENT: bench.model.rated_current_a = quantity_of(edge); break;
    case CHECK_OVERLOAD_POWER: bench.model.rated_power_w = quantity_of(edge * 0.8); break;
    case CHECK_FLOW_AND_HEAD: break;
    }
    test_set();
    double got = probability_of(rows[_i].item);
    double want = conforming_share(k, rows[_i].item);
    ck_assert(want > 0.02 && want < 0.98);
    near_abs(got, want, 0.003);
}
END_TEST

/* --- points --- */

/* 95 % of a rectangle is 0.95 of its half-width (JCGM 100:2008, 4.3.7); an expanded uncertainty with k = 2 is taken as
 * it stands (4.3.3). Independent ones add in squares; efficiency goes with flow and head and against power. */
START_TEST(instrument_part_of_a_point)
{
    bool normal = _i != 0;
    static const double stated[INSTRUMENTS] = {0.01, 0.004, 0.006, 0.002};
    for (int k = 0; k < INSTRUMENTS; k++) {
        bench.instruments[k].accuracy = quantity_of(stated[k]);
        bench.instruments[k].distribution = normal ? DISTRIBUTION_NORMAL : DISTRIBUTION_RECTANGULAR;
    }
    bench.readings = 3; /* that agree: only the instruments err */
    test_set();
    double part = normal ? 1.0 : 0.95;
    for (size_t i = 1; i < POINTS; i++) {
        const struct point_uncertainty *u = &bench.certainty.points[i];
        /* 1e-5: the velocity head in a bore of 1 m, which flow moves too; efficiency is not linear in power: 0.3 %. */
        near_rel(u->instrument_flow.value, part * 0.01, 1e-5);
        near_rel(u->instrument_head.value, part * 0.004, 1e-5);
        near_rel(u->instrument_power.value, part * 0.006, 1e-5);
        near_rel(u->flow.value, part * 0.01, 1e-5);
        near_rel(u->head.value, part * 0.004, 1e-5);
        near_rel(u->input_power.value, part * 0.006, 1e-5);
        near_rel(u->set_efficiency.value, part * sqrt(0.01 * 0.01 + 0.004 * 0.004 + 0.006 * 0.006), 3e-3);
    }
}
END_TEST

/* One reading: the scatter of the points about their curves stands in, Student's t of 8 - 3 = 5 degrees of freedom,
 * 2.571 (standard tables), times the residual 0.1 m sqrt(264 / 5); of the flow nothing is said. */
START_TEST(a_single_reading_takes_the_residual)
{
    bench.ripple_m = 0.1;
    bench.instruments[1].accuracy = quantity_of(0.01);
    test_set();
    for (size_t i = 1; i < POINTS; i++) {
        const struct point_uncertainty *u = &bench.certainty.points[i];
        double head_m = bench.chain.at_rated[i].head_m.value;
        near_rel(u->head.value, hypot(0.01, 2.571 * 0.1 * sqrt(264.0 / 5.0) / head_m),
                 2e-4); /* the table's last place */
        near_rel(u->instrument_head.value, 0.01, 1e-5);
        ck_assert(!u->flow.known && u->instrument_flow.known);
    }
}
END_TEST

/* Two wattmeters that are one instrument (one serial) err together, two that are not err each for itself: 1 % of 60 and
 * of 40 % of the power. */
START_TEST(inputs_of_one_instrument_err_together)
{
    struct instrument five[INSTRUMENTS + 1];
    test_set();
    memcpy(five, bench.instruments, sizeof bench.instruments);
    five[2].accuracy = quantity_of(0.01);
    five[2].channel = CH_WATTMETER_1;
    five[2].serial = "PA-1";
    five[INSTRUMENTS] = five[2];
    five[INSTRUMENTS].channel = CH_WATTMETER_2;
    five[INSTRUMENTS].serial = _i == 0 ? "PA-1" : "PA-2";
    bench.bay.instruments = five;
    bench.bay.instrument_count = INSTRUMENTS + 1;
    for (size_t i = 0; i < POINTS; i++) {
        struct channel_stats *stats = bench.settled.points[i].channels;
        struct means *means = &bench.chain.means[i];
        stats[CH_WATTMETER_1] = stats[CH_WATTMETER_2] = stats[CH_INPUT_POWER];
        stats[CH_INPUT_POWER].n = 0;
        means->value[CH_WATTMETER_1] = stats[CH_WATTMETER_1].mean *= 0.6;
        means->value[CH_WATTMETER_2] = stats[CH_WATTMETER_2].mean *= 0.4;
        means->present &= ~(UINT32_C(1) << CH_INPUT_POWER);
        means->present |= UINT32_C(1) << CH_WATTMETER_1 | UINT32_C(1) << CH_WATTMETER_2;
    }
    run_chain();
    judge_set();
    double share = _i == 0 ? 0.01 : 0.01 * hypot(0.6, 0.4);
    near_rel(bench.certainty.points[3].instrument_power.value, share, 1e-5);
    double power_w = bench.judged.at_guaranteed_flow.input_power_w.value;
    double got = spread_deviation(&bench.certainty.duties[0].error[NUMBER_INPUT_POWER]);
    near_rel(got, 0.5 * share * power_w, 2e-2); /* on the duty line the flow's billionths and the slope add a little */
}
END_TEST

/* Three readings: Student's t of 2 degrees of freedom, 4.303 (standard tables), times the standard error. */
START_TEST(scatter_part_of_a_point)
{
    bench.readings = 3;
    bench.standard_error[0] = 1e-5;
    bench.instruments[0].accuracy = quantity_of(0.01);
    test_set();
    for (size_t i = 1; i < POINTS; i++) {
        const struct point_uncertainty *u = &bench.certainty.points[i];
        near_rel(u->flow.value, hypot(0.01, 4.303 * 1e-5 / flow_of(i)), 2e-4); /* the table's last place */
        near_rel(u->instrument_flow.value, 0.01, 1e-6);
    }
}
END_TEST

/* --- lack of fit --- */

/* Eight points of three readings on a parabola: 5 degrees of freedom of the fit against 16 of the readings. The upper
 * 1 % point of F is 4.44 (standard tables, two decimals); the ratio is 264 ripple^2 / 5 over the squared standard
 * error.
 */
static bool lacks_fit_at(double ratio)
{
    const double standard_error_m = 0.05;
    bench.readings = 3;
    bench.standard_error[1] = standard_error_m * weight_n_m3;
    bench.standard_error[2] = 20.0; /* power: scatter, and no lack of fit */
    bench.ripple_m = standard_error_m * sqrt(ratio * 5.0 / 264.0);
    test_set();
    near_rel(bench.chain.curves.of[CURVE_HEAD].residual, standard_error_m * sqrt(ratio), 1e-6);
    return bench.certainty.scatter_by_residual;
}

START_TEST(lack_of_fit_is_found_at_its_tail)
{
    ck_assert(!lacks_fit_at(4.43)); /* the table's last place on either side */
    ck_assert(lacks_fit_at(4.45));
    ck_assert(!lacks_fit_at(1.0));
}
END_TEST

Suite *conformity_suite(void);
Suite *conformity_suite(void)
{
    Suite *suite = suite_create("conformity");
    TCase *core = tcase_create("core");
    tcase_add_checked_fixture(core, set_up, tear_down);
    tcase_add_test(core, overload_moves_with_the_low_end_of_the_head_range);
    tcase_add_test(core, overload_moves_with_the_high_end_of_the_head_range);
    tcase_add_test(core, overload_at_a_hump_stays);
    tcase_add_loop_test(core, duty_line_moves_with_the_curve, 0, 8);
    tcase_add_test(core, scatter_of_each_point_adds_in_squares);
    tcase_add_loop_test(core, probability_of_each_geometry, 0, GEOMETRY_CASES);
    tcase_add_loop_test(core, probability_of_each_check, 0, 9);
    tcase_add_loop_test(core, instrument_part_of_a_point, 0, 2);
    tcase_add_test(core, scatter_part_of_a_point);
    tcase_add_test(core, a_single_reading_takes_the_residual);
    tcase_add_loop_test(core, inputs_of_one_instrument_err_together, 0, 2);
    tcase_add_test(core, lack_of_fit_is_found_at_its_tail);
    suite_add_tcase(suite, core);
    return suite;
}
