/* Causes: forms by arithmetic, evidence by closed forms and plain sums, signs by published ratios, steps by what they
 * must say.
 *
 * Sources: affinity laws; two-wattmeter method (reversed: tan(phi) / sqrt(3) of the true power); one phase lost: 0,
 * sqrt(3), sqrt(3) of the normal currents; four-quadrant table for a pump turned backwards (0.49 at closed valve,
 * nothing at 0.44 of best flow).
 */
#include "causes/causes.h"
#include "causes/learn.h"
#include "causes/next_steps.h"
#include "near.h"

#include <gsl/gsl_errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static struct arena arena;
static struct faults faults;
static struct notes notes;
static struct cause_table causes;

static void setup(void)
{
    arena = (struct arena){0};
    faults = (struct faults){0};
    notes = (struct notes){0};
    ck_assert_int_eq(cause_table_read(NULL, &arena, &causes, &notes, &faults), OK);
}

static void teardown(void)
{
    arena_release(&arena);
}

/* A bowl of ten stages: H = 100 - 50 q^2 m, P = 5000 + 3000 q W, 6 A of magnetising current beside 1 A a kW; q = Q /
 * 0.01 m3/s. */
static double current_of(double power_w)
{
    return sqrt(36.0 + power_w * power_w / 1e6); /* 10 A at 8 kW, power factor 0.8 */
}

static struct model_reference made_reference(double units)
{
    struct model_reference reference = {
        .stages = quantity_of(10), .best_flow_m3s = 0.01, .no_load_w = 600.0, .slip = 0.0, .speed_measured = true};
    struct reference_curves *curves = &reference.curves;
    curves->units = units;
    curves->node_count = 5;
    for (size_t i = 0; i < 5; i++) {
        double q = 0.35 * (double)i;
        curves->flow_m3s[i] = 0.01 * q;
        curves->mean.of[GOOD_HEAD][i] = 100.0 - 50.0 * q * q;
        curves->mean.of[GOOD_POWER][i] = 5000.0 + 3000.0 * q;
        curves->mean.of[GOOD_CURRENT][i] = current_of(5000.0 + 3000.0 * q);
        curves->known[GOOD_HEAD] = curves->known[GOOD_POWER] = curves->known[GOOD_CURRENT] = true;
    }
    return reference;
}

static double head_at(double q)
{
    return 100.0 - 50.0 * q * q;
}

static const double rounding = 1e-9;

START_TEST(nodes_are_met_and_left_smoothly)
{
    static const double node[] = {0.0, 1.0, 3.0, 4.0}, value[] = {2.0, -1.0, 5.0, 0.5};
    struct node_curve curve;
    double slope;
    node_curve_make(node, value, 4, &curve);
    for (size_t i = 0; i < 4; i++) {
        near_abs(node_curve_at(&curve, node[i], NULL), value[i], 1e-12); /* rounding */
    }
    for (size_t i = 0; i < 2; i++) { /* value and slope go on across the ends: steps of 1e-7 see slopes to 1e-6 */
        double end = node[3 * i], h = 1e-7;
        (void)node_curve_at(&curve, end, &slope);
        near_abs((node_curve_at(&curve, end + h, NULL) - node_curve_at(&curve, end - h, NULL)) / (2 * h), slope, 1e-5);
    }
    near_abs(node_curve_doubt(&curve, 2.0), 0.0, 0.0);
    ck_assert(node_curve_doubt(&curve, 4.5) > 0.0);
}
END_TEST

/* A parabola is its own continuation. */
START_TEST(a_parabola_goes_on)
{
    static const double node[] = {0.5, 1.0, 2.0}, value[] = {100 - 0.25, 100 - 1.0, 100 - 4.0};
    struct node_curve curve;
    double slope;
    node_curve_make(node, value, 3, &curve);
    near_abs(node_curve_at(&curve, 3.0, &slope), 91.0, 1e-11);
    near_abs(slope, -6.0, 1e-11);
    near_abs(node_curve_at(&curve, 0.0, NULL), 100.0, 1e-11);
    near_abs(node_curve_doubt(&curve, 3.0), 1.0, 1e-11);
}
END_TEST

START_TEST(forms_by_arithmetic)
{
    struct model_reference reference = made_reference(20);
    struct good_unit good;
    good_unit_make(&reference, 0.014, &good);
    struct predicted at = family_at(&good, FAMILY_STAGES, 2, 0.006);
    near_abs(at.of[GOOD_HEAD], 0.8 * head_at(0.6), rounding);
    near_abs(at.of[GOOD_POWER], 600.0 + 0.8 * (5000.0 + 1800.0 - 600.0), rounding);
    at = family_at(&good, FAMILY_SCALE, -0.05, 0.0095); /* affinity: the point of q = 1, at 0.95 of its flow */
    near_abs(at.of[GOOD_HEAD], 0.95 * 0.95 * 50.0, rounding);
    near_abs(at.of[GOOD_POWER], 600.0 + 0.95 * 0.95 * 0.95 * 7400.0, rounding);
    at = family_at(&good, FAMILY_RESTRICTION, 0.1, 0.012);
    near_abs(at.of[GOOD_HEAD], head_at(1.2) - 0.1 * 50.0 * 1.44, rounding);
    near_abs(at.of[GOOD_POWER], 5000.0 + 3600.0, rounding);
    at = family_at(&good, FAMILY_FRICTION, 0.1, 0.002);
    near_abs(at.of[GOOD_HEAD], head_at(0.2), rounding);
    near_abs(at.of[GOOD_POWER], 5600.0 + 800.0, rounding);
    at = family_at(&good, FAMILY_HEAD_OFFSET, -0.1, 0.0);
    near_abs(at.of[GOOD_HEAD], 95.0, rounding);
    at = family_at(&good, FAMILY_HEAD_FACTOR, 1.02, 0.01);
    near_abs(at.of[GOOD_HEAD], 51.0, rounding);
    at = family_at(&good, FAMILY_FLOW_FACTOR, 1.1, 0.011);
    near_abs(at.of[GOOD_HEAD], 50.0, rounding);
    near_abs(at.of[GOOD_POWER], 8000.0, rounding);
}
END_TEST

START_TEST(electric_forms_by_arithmetic)
{
    struct model_reference reference = made_reference(20);
    struct good_unit good;
    good_unit_make(&reference, 0.014, &good);
    struct predicted at = family_at(&good, FAMILY_CURRENT_RATIO, 0.8, 0.01);
    near_abs(at.of[GOOD_POWER], 6400.0, rounding);
    near_abs(at.of[GOOD_CURRENT], 8.0, 1e-5); /* five nodes carry the root so far */
    near_abs(at.voltage, 1.0, 0.0);
    at = family_at(&good, FAMILY_VOLTAGE_RATIO, 0.5, 0.01);
    near_abs(at.of[GOOD_POWER], 4000.0, rounding);
    near_abs(at.of[GOOD_CURRENT], 10.0, 1e-5);
    near_abs(at.voltage, 0.5, 0.0);
    /* One wattmeter reversed: 0.589, 0.433, 0.358, 0.280 of the true power at these power factors, to the places given.
     */
    static const double table[][2] = {{0.70, 0.589}, {0.80, 0.433}, {0.85, 0.358}, {0.90, 0.280}};
    for (size_t i = 0; i < 4; i++) {
        at = family_at(&good, FAMILY_WATTMETER, table[i][0], 0.01);
        near_abs(at.of[GOOD_POWER] / 8000.0, table[i][1], 0.0006);
    }
    /* A voltage of 90 %: current +11 %. */
    near_rel(family_at(&good, FAMILY_SUPPLY, 0.9, 0.01).of[GOOD_CURRENT], 11.1, 0.002);
}
END_TEST

/* The leak is as large as head drives it: the flow through the set solves Q' = Q + s Qb sqrt(H(Q') / Hb), here by
 * bisection. */
START_TEST(a_leak_is_driven_by_head)
{
    struct model_reference reference = made_reference(20);
    struct good_unit good;
    good_unit_make(&reference, 0.014, &good);
    double low = 0.3, high = 1.4;
    for (int i = 0; i < 60; i++) {
        double q = 0.5 * (low + high);
        *(q < 0.5 + 0.1 * sqrt(head_at(q) / 50.0) ? &low : &high) = q;
    }
    /* Three repetitions of a contraction of about 0.05 leave 1e-4 of the leak of 0.12. */
    near_abs(family_at(&good, FAMILY_LEAKAGE, 0.1, 0.005).of[GOOD_HEAD], head_at(low), 60 * 0.12 * 1e-4);
}
END_TEST

START_TEST(turned_backwards)
{
    struct model_reference reference = made_reference(20);
    struct good_unit good;
    good_unit_make(&reference, 0.005, &good);
    static const double table[][2] = {{0.0, 0.49}, {0.1, 0.47}, {0.2, 0.37}, {0.3, 0.24}, {0.4, 0.07}, {0.44, 0.0}};
    for (size_t i = 0; i < 6; i++) {
        double q = table[i][0];
        near_abs(family_at(&good, FAMILY_REVERSED, 0.44, 0.01 * q).of[GOOD_HEAD], table[i][1] * head_at(q), 1e-6);
    }
}
END_TEST

START_TEST(what_is_excluded)
{
    struct model_reference reference = made_reference(20);
    struct good_unit good;
    good_unit_make(&reference, 0.014, &good);
    ck_assert(!family_excluded(&good, FAMILY_STAGES, 9, false));
    ck_assert(family_excluded(&good, FAMILY_STAGES, 10, false));  /* none would be left */
    ck_assert(family_excluded(&good, FAMILY_SPEED, -0.02, true)); /* speed is measured */
    ck_assert(family_excluded(&good, FAMILY_VOLTAGE_RATIO, 0.8, false));
    reference.stages = quantity_absent();
    reference.speed_measured = false;
    ck_assert(family_excluded(&good, FAMILY_STAGES, 1, false));
    ck_assert(!family_excluded(&good, FAMILY_SPEED, -0.02, true));
}
END_TEST

/* Covariance 4, 2; 2, 5: L = 2, 0; 1, 2. A residual (2, 3) whitens to (1, 1). */
START_TEST(whitening_by_hand)
{
    double covariance[EVIDENCE_MAX][EVIDENCE_MAX] = {{4.0, 2.0}, {2.0, 5.0}}, x[] = {2.0, 3.0};
    static struct whitener whitener;
    ck_assert(whitener_make((const double(*)[EVIDENCE_MAX])covariance, 2, &whitener));
    whiten(&whitener, x);
    near_abs(x[0], 1.0, 1e-15);
    near_abs(x[1], 1.0, 1e-15);
    covariance[1][1] = 1.0; /* 4 * 1 = 2 * 2: singular */
    ck_assert(!whitener_make((const double(*)[EVIDENCE_MAX])covariance, 2, &whitener));
}
END_TEST

/* Unit covariance and one direction (1, 1) of length s: variance along it 1 + 2 s^2, across it 1. */
START_TEST(a_direction_widens_along_itself)
{
    static struct directions directions = {.count = 1, .vector = {{1.0, 1.0}}};
    struct residual along = {.of = {3.0, 3.0}}, across = {.of = {3.0, -3.0}};
    directions_multiply(&directions, 2);
    directions_scale(&directions, 2.0);
    residual_multiply(&directions, &along);
    residual_multiply(&directions, &across);
    near_abs(residual_chi2(&directions, &along), 18.0 / 9.0, 1e-12);
    near_abs(residual_chi2(&directions, &across), 18.0, 1e-12);
    near_abs(directions.log_determinant, log(9.0), 1e-12);
}
END_TEST

/* The mean likelihood of a segment against a sum over 20000 parts, for minima inside, beyond either end and far away.
 */
START_TEST(a_segment_by_plain_sum)
{
    static const double ends[][4] = {{-2, 0.5, 3, 0.7}, {1, 1, 4, 2},     {-4, 1, -1, 1},
                                     {12, 3, 15, 4},    {-15, 2, -12, 2}, {1, 1, 1, 1}};
    static struct directions none = {.count = 0, .size = 2};
    for (size_t k = 0; k < sizeof ends / sizeof *ends; k++) {
        struct residual a = {.of = {ends[k][0], ends[k][1]}}, b = {.of = {ends[k][2], ends[k][3]}};
        double sum = 0.0;
        for (int i = 0; i < 20000; i++) {
            double t = (i + 0.5) / 20000.0;
            double x = a.of[0] + t * (b.of[0] - a.of[0]), y = a.of[1] + t * (b.of[1] - a.of[1]);
            sum += exp(-0.5 * (x * x + y * y)) / 20000.0;
        }
        residual_multiply(&none, &a);
        residual_multiply(&none, &b);
        struct segment segment = segment_between(&none, &a, &b);
        /* Beyond five deviations only the nearer end counts: 1/25 of it is left out at most. */
        near_abs(segment.log_mean, log(sum), k < 3 || k == 5 ? 1e-6 : 0.04);
    }
}
END_TEST

/* With a direction, each place of a segment has the likelihood of a value there: exp(-(chi2 + log det G) / 2). */
START_TEST(a_segment_with_a_direction)
{
    static struct directions directions = {.count = 1, .vector = {{0.8, -0.3}}};
    struct residual a = {.of = {-2.0, 0.5}}, b = {.of = {3.0, 0.7}}, at;
    double sum = 0.0;
    directions_multiply(&directions, 2);
    directions_scale(&directions, 1.7);
    for (int i = 0; i < 20000; i++) {
        double t = (i + 0.5) / 20000.0;
        at.of[0] = a.of[0] + t * (b.of[0] - a.of[0]);
        at.of[1] = a.of[1] + t * (b.of[1] - a.of[1]);
        residual_multiply(&directions, &at);
        sum += exp(-0.5 * (residual_chi2(&directions, &at) + directions.log_determinant)) / 20000.0;
    }
    residual_multiply(&directions, &a);
    residual_multiply(&directions, &b);
    near_abs(segment_between(&directions, &a, &b).log_mean, log(sum), 1e-6); /* the sum's own 1e-8, and room */
}
END_TEST

static const char *const names[] = {
    "missing stage",
    "reversed rotation",
    "internal leakage",
    "restriction",
    "friction",
    "impeller size",
    "low speed",
    "air or cavitation",
    "dead phase",
    "phase unbalance",
    "low supply",
    "gauge offset",
    "head factor",
    "flow factor",
    "current transformer ratio",
    "voltage transformer ratio",
    "wattmeter reversed",
    "none of the known",
};

START_TEST(the_table_names_all)
{
    double priors = 0.0;
    ck_assert_uint_eq(causes.count, sizeof names / sizeof *names);
    for (size_t i = 0; i < causes.count; i++) {
        const struct cause_row *row = cause_find(&causes, names[i]);
        ck_assert_msg(row != NULL, "no cause '%s'", names[i]);
        ck_assert_msg(*row->check_first != '\0' && *row->source != '\0' && row->prior > 0.0, "'%s' is bare", names[i]);
        priors += row->prior;
    }
    ck_assert(priors > 0.05 && priors < 0.2); /* one unit in five to twenty: what the trade calls usual */
}
END_TEST

static char path[] = "/tmp/causes_test_XXXXXX";

static void write_file(const char *text)
{
    (void)snprintf(path, sizeof path, "/tmp/causes_test_XXXXXX");
    int fd = mkstemp(path);
    FILE *file = fdopen(fd, "w");
    ck_assert_ptr_nonnull(file);
    ck_assert_int_ge(fputs(text, file), 0);
    ck_assert_int_eq(fclose(file), 0);
}

START_TEST(a_bay_changes_and_adds)
{
    write_file("cause,family,prior [%],severities,check first\n"
               "Missing Stage,,2,,ask Ravi\n"
               "sand in the bowl,restriction,0.5,0.1..0.6,flush it\n");
    ck_assert_int_eq(cause_table_read(path, &arena, &causes, &notes, &faults), OK);
    (void)unlink(path);
    const struct cause_row *stage = cause_find(&causes, "missing stage"),
                           *sand = cause_find(&causes, "sand in the bowl");
    near_abs(stage->prior, 0.02, 1e-15);
    ck_assert_str_eq(stage->check_first, "ask Ravi");
    ck_assert_uint_eq(stage->range_count, 3);
    ck_assert_int_eq(sand->family, FAMILY_RESTRICTION);
    near_abs(sand->ranges[0].high, 0.6, 0.0);
}
END_TEST

static const struct {
    const char *text, *message;
} bad[] = {
    {"cause,prior [%]\nnew one,1\n", "'family' is blank"},
    {"cause,family\nmissing stage,magic\n", "'family' is 'magic', expected stages"},
    {"cause,severities\nfriction,0.3..0.1\n", "values or ranges a..b"},
    {"cause,severities\nfriction,-0.1..0.1\n", "values or ranges a..b"},
    {"cause,prior [%]\nfriction,40\nrestriction,30\n", "add up to"},
    {"cause,prior [%]\nfriction,60\n", "'prior' is 60"},
};

START_TEST(bad_tables)
{
    write_file(bad[_i].text);
    enum status status = cause_table_read(path, &arena, &causes, &notes, &faults);
    (void)unlink(path);
    ck_assert_int_eq(status, E_INPUT);
    ck_assert_msg(strstr(faults.text[0], bad[_i].message) != NULL, "'%s' lacks '%s'", faults.text[0], bad[_i].message);
}
END_TEST

enum { POINTS = 8 };
static struct causes_reading readings[POINTS];

/* Readings of a unit with the arithmetic fault that change makes of a good one's. */
static struct causes_case made_case(const struct model_reference *reference,
                                    void (*change)(double q, double of[CURVES]))
{
    for (size_t i = 0; i < POINTS; i++) {
        double q = 1.3 * (double)i / (POINTS - 1), of[CURVES] = {head_at(q), 5000.0 + 3000.0 * q, 0.0};
        change(q, of);
        of[GOOD_CURRENT] = current_of(of[GOOD_POWER]);
        readings[i] = (struct causes_reading){.flow_m3s = 0.01 * q, .deviation = {0.3, 25.0, 0.05}};
        for (size_t c = 0; c < CURVES; c++) {
            readings[i].of[c] = quantity_of(of[c]);
        }
    }
    return (struct causes_case){.reference = reference,
                                .reading_count = POINTS,
                                .readings = readings,
                                .instruments = {.flow = 0.005, .of = {0.003, 0.005, 0.005}, .head_offset_m = 0.1},
                                .units = 1.0};
}

static void nothing(double q, double of[CURVES])
{
    (void)q, (void)of;
}

static void a_stage(double q, double of[CURVES])
{
    (void)q;
    of[GOOD_HEAD] *= 0.9;
    of[GOOD_POWER] = 600.0 + 0.9 * (of[GOOD_POWER] - 600.0);
}

static void a_rub(double q, double of[CURVES])
{
    (void)q;
    of[GOOD_POWER] += 800.0;
}

static void a_trim(double q, double of[CURVES])
{
    double x = q / 0.955;
    of[GOOD_HEAD] = 0.955 * 0.955 * head_at(x);
    of[GOOD_POWER] = 600.0 + 0.955 * 0.955 * 0.955 * (4400.0 + 3000.0 * x);
}

static void a_jumble(double q, double of[CURVES])
{
    of[GOOD_HEAD] *= 1.0 + 0.12 * sin(3.0 * q);
    of[GOOD_POWER] *= 1.0 - 0.15 * cos(4.0 * q);
}

START_TEST(a_good_unit_is_left_in_peace)
{
    struct model_reference reference = made_reference(30);
    struct causes_case of = made_case(&reference, nothing);
    struct causes_result result;
    causes_find(&of, &causes, &result);
    ck_assert_int_eq(result.outcome, CAUSES_HEALTHY);
    ck_assert_uint_eq(result.found_count, 0);
    ck_assert(result.healthy > 0.95);
}
END_TEST

START_TEST(a_missing_stage_is_named)
{
    struct model_reference reference = made_reference(30);
    struct causes_case of = made_case(&reference, a_stage);
    struct causes_result result;
    causes_find(&of, &causes, &result);
    ck_assert_int_eq(result.outcome, CAUSES_NAMED);
    ck_assert_str_eq(result.found[0].row->name, "missing stage");
    near_abs(result.found[0].severity.value, 1.0, 0.0);
    ck_assert(result.found[0].probability > 0.5);
}
END_TEST

START_TEST(friction_is_named_with_its_size)
{
    struct model_reference reference = made_reference(30);
    struct causes_case of = made_case(&reference, a_rub);
    struct causes_result result;
    causes_find(&of, &causes, &result);
    ck_assert_int_eq(result.outcome, CAUSES_NAMED);
    ck_assert_str_eq(result.found[0].row->name, "friction");
    near_abs(result.found[0].severity.value, 0.1, 0.03); /* the spread of power from unit to unit is 1 to 2 % */
}
END_TEST

START_TEST(a_jumble_is_none_of_the_known)
{
    struct model_reference reference = made_reference(30);
    struct causes_case of = made_case(&reference, a_jumble);
    struct causes_result result;
    causes_find(&of, &causes, &result);
    ck_assert_int_eq(result.outcome, CAUSES_NONE_KNOWN);
    ck_assert_str_eq(result.found[0].row->name, "none of the known");
}
END_TEST

/* A trim that a missing stage explains badly: with few good units the stage is not named for want of something better.
 */
START_TEST(a_poor_discrete_cause_is_not_named)
{
    struct model_reference reference = made_reference(12);
    struct causes_case of = made_case(&reference, a_trim);
    struct causes_result result;
    causes_find(&of, &causes, &result);
    ck_assert_int_eq(result.outcome, CAUSES_FEW_UNITS);
    reference.curves.units = 30;
    causes_find(&of, &causes, &result);
    ck_assert_int_eq(result.outcome, CAUSES_NAMED);
    ck_assert_str_eq(result.found[0].row->name, "impeller size");
}
END_TEST

/* Few good units: a discrete cause is still named, another is held back. */
START_TEST(few_good_units)
{
    struct model_reference reference = made_reference(6);
    struct causes_result result;
    struct causes_case of = made_case(&reference, a_stage);
    causes_find(&of, &causes, &result);
    ck_assert_int_eq(result.outcome, CAUSES_NAMED);
    ck_assert_str_eq(result.found[0].row->name, "missing stage");
    of = made_case(&reference, a_rub);
    causes_find(&of, &causes, &result);
    ck_assert_int_eq(result.outcome, CAUSES_FEW_UNITS);
    ck_assert_uint_eq(result.found_count, 0);
}
END_TEST

/* One of sixty stages is 1.7 % of head: inside the spread from unit to unit; one of six stands out. */
START_TEST(one_of_sixty_cannot_be_seen)
{
    struct model_reference reference = made_reference(30);
    struct causes_case of = made_case(&reference, nothing);
    const struct cause_row *row = cause_find(&causes, "missing stage");
    reference.stages = quantity_of(60);
    ck_assert(causes_stand_out(&of, row, 1.0) < CAUSES_SEEN_FROM);
    reference.stages = quantity_of(6);
    ck_assert(causes_stand_out(&of, row, 1.0) > 2.0 * CAUSES_SEEN_FROM);
}
END_TEST

/* What every unit of a day shows is the rig's: their mean has little of the units' own spread. */
START_TEST(a_days_mean_sees_the_rig)
{
    struct model_reference reference = made_reference(100);
    struct causes_case of = made_case(&reference, nothing);
    struct causes_result one, day;
    for (size_t i = 0; i < POINTS; i++) {
        readings[i].of[GOOD_HEAD].value -= 2.0; /* 4 % of the head at best flow */
    }
    causes_find(&of, &causes, &one);
    of.units = 25.0;
    causes_find(&of, &causes, &day);
    ck_assert_int_eq(one.outcome, CAUSES_HEALTHY);
    ck_assert_int_eq(day.outcome, CAUSES_NAMED);
    ck_assert_int_eq(day.outcome, CAUSES_NAMED);
    ck_assert_str_eq(day.found[0].row->name, "gauge offset");
}
END_TEST

START_TEST(too_little_is_not_asked)
{
    struct model_reference reference = made_reference(30);
    struct causes_case of = made_case(&reference, a_stage);
    struct causes_result result;
    of.reading_count = 2;
    causes_find(&of, &causes, &result);
    ck_assert_int_eq(result.outcome, CAUSES_NOT_ASKED);
    of.reading_count = POINTS;
    of.reference = NULL;
    causes_find(&of, &causes, &result);
    ck_assert_int_eq(result.outcome, CAUSES_NOT_ASKED);
}
END_TEST

/* Units that differ in one way, +-a of a level: the mean is met, the first spread is the sample deviation of that level
 * and the others are nothing. */
START_TEST(learning_finds_level)
{
    enum { UNITS = 5 };
    static const double level[UNITS] = {-0.02, -0.01, 0.0, 0.01, 0.02};
    static struct curve curves[UNITS];
    struct good_curves units[UNITS] = {0};
    struct reference_curves learned;
    for (size_t i = 0; i < UNITS; i++) {
        double flow[9], head[9];
        for (size_t k = 0; k < 9; k++) {
            flow[k] = 0.00175 * (double)k;
            head[k] = (1.0 + level[i]) * head_at(100.0 * flow[k]);
        }
        ck_assert(fit_curve(flow, head, 9, 2, &curves[i]));
        units[i].of[GOOD_HEAD] = &curves[i];
    }
    ck_assert_int_eq(reference_learn(units, UNITS, &learned, &faults), OK);
    near_abs(learned.units, UNITS, 0.0);
    ck_assert(learned.known[GOOD_HEAD] && !learned.known[GOOD_POWER]);
    for (size_t k = 0; k < learned.node_count; k++) {
        double head = head_at(100.0 * learned.flow_m3s[k]);
        near_abs(learned.mean.of[GOOD_HEAD][k], head, 1e-9); /* a fit of exact points */
        near_abs(fabs(learned.spread[0].of[GOOD_HEAD][k]), sqrt(0.001 / 4.0) * head, 1e-6);
        near_abs(learned.spread[1].of[GOOD_HEAD][k], 0.0, 1e-5); /* the root of the rounding of a variance */
    }
    ck_assert_int_eq(reference_learn(units, 1, &learned, &faults), E_INPUT);
}
END_TEST

START_TEST(curves_are_written_and_read)
{
    struct model_reference reference = made_reference(25);
    struct reference_curves *curves = &reference.curves;
    curves->model = "TW \"6\", ten";
    curves->stages = quantity_of(10);
    curves->known[GOOD_CURRENT] = false;
    curves->spread_count = 2;
    for (size_t i = 0; i < 5; i++) {
        curves->spread[0].of[GOOD_HEAD][i] = 1.25;
        curves->spread[1].of[GOOD_POWER][i] = 80.5;
    }
    struct reference_book book = {.count = 1, .items = curves}, again;
    write_file("");
    FILE *file = fopen(path, "w");
    ck_assert(file != NULL && reference_book_write(&book, file) && fclose(file) == 0);
    ck_assert_int_eq(reference_book_read(path, &arena, &again, &notes, &faults), OK);
    (void)unlink(path);
    ck_assert_uint_eq(again.count, 1);
    const struct reference_curves *read = reference_find(&again, "tw \"6\", ten", quantity_of(10));
    ck_assert_ptr_nonnull(read);
    near_abs(read->units, 25.0, 0.0);
    ck_assert_uint_eq(read->node_count, 5);
    ck_assert_uint_eq(read->spread_count, 2);
    ck_assert(!read->known[GOOD_CURRENT] && read->known[GOOD_POWER]);
    for (size_t i = 0; i < 5; i++) { /* six digits are written */
        near_abs(read->flow_m3s[i], curves->flow_m3s[i], 1e-8);
        near_abs(read->mean.of[GOOD_HEAD][i], curves->mean.of[GOOD_HEAD][i], 1e-4);
        near_abs(read->spread[0].of[GOOD_HEAD][i], 1.25, 1e-12);
        near_abs(read->spread[1].of[GOOD_POWER][i], 80.5, 1e-9);
    }
    ck_assert_ptr_null(reference_find(&again, "tw \"6\", ten", quantity_of(12)));
}
END_TEST

static const struct {
    const char *text, *message;
} bad_curves[] = {
    {"model,units,flow [m3/h],head [m]\nA,20,0,50\nA,20,10,40\n", "has 2 nodes, expected 3 to 7"},
    {"model,units,flow [m3/h],head [m]\nA,20,0,50\nA,20,10,40\nA,20,10,30\n", "'flow' does not rise"},
    {"model,units,flow [m3/h],head [m],input power [kW]\nA,20,0,50,3\nA,20,10,40,\nA,20,20,30,4\n",
     "expected all or none"},
    {"model,units,flow [m3/h],head [m]\nA,20,0,\nA,20,10,40\nA,20,15,30\n", "'head' is blank"},
};

START_TEST(bad_curve_tables)
{
    struct reference_book book;
    write_file(bad_curves[_i].text);
    enum status status = reference_book_read(path, &arena, &book, &notes, &faults);
    (void)unlink(path);
    ck_assert_int_eq(status, E_INPUT);
    ck_assert_msg(strstr(faults.text[0], bad_curves[_i].message) != NULL, "'%s' lacks '%s'", faults.text[0],
                  bad_curves[_i].message);
}
END_TEST

static struct quantity of(double value)
{
    return quantity_of(value);
}

START_TEST(phases)
{
    const struct quantity normal[] = {of(10), of(10.2), of(9.9)}, lost[] = {of(17.3), of(0.0), of(17.3)};
    const struct quantity uneven[] = {of(12), of(9), of(9)}, unread[] = {of(10), quantity_absent(), of(10)};
    ck_assert_int_eq(dead_phase(normal), -1);
    ck_assert_int_eq(dead_phase(lost), 1);
    ck_assert_int_eq(dead_phase(unread), -1);
    near_abs(phase_unbalance(uneven).value, 0.2, 1e-12);
    ck_assert(!phase_unbalance(unread).known);
}
END_TEST

/* Three hook-ups: what stays with the line is the supply's, what goes with the lead is the motor's. */
START_TEST(three_hook_ups)
{
    const struct hook_ups supply = {{{11, 9.5, 9.5}, {11.1, 9.4, 9.5}, {10.9, 9.6, 9.5}}};
    const struct hook_ups motor = {{{11, 9.5, 9.5}, {9.5, 11, 9.5}, {9.5, 9.5, 11}}};
    const struct hook_ups even = {{{10, 10, 10}, {10, 10.05, 9.95}, {10, 10, 10}}};
    ck_assert_int_eq(unbalance_follows(&supply), FOLLOWS_SUPPLY);
    ck_assert_int_eq(unbalance_follows(&motor), FOLLOWS_MOTOR);
    ck_assert_int_eq(unbalance_follows(&even), FOLLOWS_NOT_KNOWN);
}
END_TEST

START_TEST(signs_stand_in_front)
{
    struct supply_readings supply = {.voltage = of(0.9), .phases = {.current_a = {of(12), of(9), of(9)}}};
    struct signs signs;
    struct causes_result result = {.outcome = CAUSES_NAMED, .found_count = 1};
    result.found[0] = (struct cause_found){.row = cause_find(&causes, "friction"), .probability = 0.8};
    signs_find(&supply, &signs);
    near_abs(signs.unbalance.value, 0.2, 1e-12);
    causes_add_signs(&signs, &causes, &result);
    ck_assert_uint_eq(result.found_count, 3);
    ck_assert_str_eq(result.found[0].row->name, "low supply");
    ck_assert_str_eq(result.found[1].row->name, "phase unbalance");
    ck_assert_str_eq(result.found[2].row->name, "friction");
    supply.phases.current_a[2] = of(0.1);
    signs_find(&supply, &signs);
    causes_add_signs(&signs, &causes, &result);
    ck_assert_uint_eq(result.found_count, 1); /* a dead phase stands alone */
    ck_assert_str_eq(result.found[0].row->name, "dead phase");
    near_abs(result.found[0].severity.value, 3.0, 0.0);
}
END_TEST

START_TEST(limits_of_the_signs)
{
    struct supply_readings supply = {
        .voltage = of(0.951), .frequency = of(0.981), .phases = {.current_a = {of(10.9), of(9.5), of(9.6)}}};
    struct signs signs;
    signs_find(&supply, &signs);
    ck_assert(!signs.unbalance.known && !signs.low_voltage.known && !signs.low_frequency.known);
    supply = (struct supply_readings){
        .voltage = of(0.949), .frequency = of(0.979), .phases = {.current_a = {of(11.1), of(9.4), of(9.5)}}};
    signs_find(&supply, &signs);
    ck_assert(signs.unbalance.known && signs.low_voltage.known && signs.low_frequency.known && !signs.supply_explains);
    supply.phases.voltage_v[0] = of(422), supply.phases.voltage_v[1] = of(414), supply.phases.voltage_v[2] = of(409);
    signs_find(&supply, &signs); /* 1.7 % of voltage covers 11 % of current */
    ck_assert(signs.supply_explains);
}
END_TEST

static size_t steps_of(const struct step_facts *facts, struct next_step *steps)
{
    return next_steps_find(facts, steps);
}

START_TEST(every_fail_has_a_step)
{
    struct next_step steps[NEXT_STEPS_MAX];
    struct step_facts facts = {0};
    ck_assert_uint_eq(steps_of(&facts, steps), 1);
    ck_assert_int_eq(steps[0].code, STEP_TEST_AGAIN);
    facts.passes = true;
    ck_assert_uint_eq(steps_of(&facts, steps), 0);
    facts.calibration_overdue = true; /* even of a unit that passes */
    ck_assert_uint_eq(steps_of(&facts, steps), 1);
    ck_assert_int_eq(steps[0].code, STEP_CALIBRATE);
}
END_TEST

START_TEST(steps_carry_numbers_and_cautions)
{
    struct next_step steps[NEXT_STEPS_MAX];
    struct step_facts facts = {.lowest_head_m = of(26.3),
                               .head_low_needed_m = of(25.0),
                               .current_a = of(11.2),
                               .current_limit_a = of(10.8),
                               .current_at_head_m = of(25.0),
                               .head_above_m = of(5.0)};
    ck_assert_uint_eq(steps_of(&facts, steps), 3);
    ck_assert_int_eq(steps[0].code, STEP_LOWER_HEAD);
    near_abs(steps[0].value.value, 26.3, 0.0);
    near_abs(steps[0].limit.value, 25.0, 0.0);
    ck_assert_int_eq(steps[1].code, STEP_TOO_HIGH);
    ck_assert_int_eq(steps[1].caution, CAUTION_OPEN);
    ck_assert_int_eq(steps[2].code, STEP_OVERLOAD_CURRENT);
    near_abs(steps[2].at_head_m.value, 25.0, 0.0);
}
END_TEST

/* A twin that is cheaper to look at comes first. */
START_TEST(cheap_checks_first)
{
    struct next_step steps[NEXT_STEPS_MAX];
    struct causes_result result = {.outcome = CAUSES_NAMED, .found_count = 1};
    result.found[0] = (struct cause_found){.row = cause_find(&causes, "impeller size"),
                                           .probability = 0.6,
                                           .twin_count = 1,
                                           .twins = {cause_find(&causes, "low speed")}};
    struct step_facts facts = {.causes = &result};
    ck_assert_uint_eq(steps_of(&facts, steps), 2);
    ck_assert_str_eq(steps[0].cause->name, "low speed");
    ck_assert_int_eq(steps[0].caution, CAUTION_TERMINALS);
    ck_assert_str_eq(steps[1].cause->name, "impeller size");
    ck_assert_int_eq(steps[1].caution, CAUTION_OPEN);
}
END_TEST

static void add_tests(TCase *core)
{
    tcase_add_checked_fixture(core, setup, teardown);
    tcase_add_test(core, the_table_names_all);
    tcase_add_test(core, a_bay_changes_and_adds);
    tcase_add_loop_test(core, bad_tables, 0, (int)(sizeof bad / sizeof *bad));
    tcase_add_test(core, a_good_unit_is_left_in_peace);
    tcase_add_test(core, a_missing_stage_is_named);
    tcase_add_test(core, friction_is_named_with_its_size);
    tcase_add_test(core, a_jumble_is_none_of_the_known);
    tcase_add_test(core, few_good_units);
    tcase_add_test(core, a_poor_discrete_cause_is_not_named);
    tcase_add_test(core, one_of_sixty_cannot_be_seen);
    tcase_add_test(core, a_days_mean_sees_the_rig);
    tcase_add_test(core, too_little_is_not_asked);
    tcase_add_test(core, learning_finds_level);
    tcase_add_test(core, curves_are_written_and_read);
    tcase_add_loop_test(core, bad_curve_tables, 0, (int)(sizeof bad_curves / sizeof *bad_curves));
    tcase_add_test(core, phases);
    tcase_add_test(core, three_hook_ups);
    tcase_add_test(core, signs_stand_in_front);
    tcase_add_test(core, limits_of_the_signs);
    tcase_add_test(core, every_fail_has_a_step);
    tcase_add_test(core, steps_carry_numbers_and_cautions);
    tcase_add_test(core, cheap_checks_first);
}

Suite *causes_suite(void);
Suite *causes_suite(void)
{
    Suite *suite = suite_create("causes");
    TCase *forms = tcase_create("forms"), *core = tcase_create("core");
    tcase_add_test(forms, nodes_are_met_and_left_smoothly);
    tcase_add_test(forms, a_parabola_goes_on);
    tcase_add_test(forms, forms_by_arithmetic);
    tcase_add_test(forms, electric_forms_by_arithmetic);
    tcase_add_test(forms, a_leak_is_driven_by_head);
    tcase_add_test(forms, turned_backwards);
    tcase_add_test(forms, what_is_excluded);
    tcase_add_test(forms, whitening_by_hand);
    tcase_add_test(forms, a_direction_widens_along_itself);
    tcase_add_test(forms, a_segment_by_plain_sum);
    tcase_add_test(forms, a_segment_with_a_direction);
    add_tests(core);
    suite_add_tcase(suite, forms);
    suite_add_tcase(suite, core);
    return suite;
}
