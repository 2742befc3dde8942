/* impossible.c and plausible.c: each limit from both sides, and what it is relative to. */
#include "verdict/impossible.h"

#include "near.h"
#include "tables/bay.h"

#include <stdlib.h>
#include <string.h>

#define KNOWN(x) ((struct quantity){.value = (x), .known = true})

static struct arena arena;
static struct bay bay;
static struct instrument instrument;
static struct model model;
static struct duty duty;
static struct site site;
static struct settled_point settled_point;
static struct settled settled;
static struct chain chain;
static struct odd_values impossible, doubtful;

/* One point of a set of 100 m, 0.01 m3/s, 400 V, 10 A and 10 kW with two poles, nothing measured yet. */
static void setup(void)
{
    arena = (struct arena){0};
    struct faults faults = {0};
    bay = (struct bay){.rig = {.current_ratio = 1.0, .voltage_ratio = 1.0, .flow_method = FLOW_METER}};
    ck_assert_int_eq(plausible_book_read(NULL, &arena, &bay.plausible, &faults), OK);
    duty = (struct duty){.flow_m3s = KNOWN(0.01), .head_m = KNOWN(100.0), .input_power_w = KNOWN(10e3)};
    model = (struct model){.rated_voltage_v = KNOWN(400.0),
                           .rated_current_a = KNOWN(10.0),
                           .rated_frequency_hz = KNOWN(50.0),
                           .poles = KNOWN(2.0),
                           .duty_count = 1,
                           .duties = &duty};
    settled_point = (struct settled_point){.number = 3, .line = 17, .steady = true};
    settled = (struct settled){.count = 1, .points = &settled_point};
    ck_assert_int_eq(chain_init(&chain, &arena, 1), OK);
    chain.bay = &bay;
    chain.model = &model;
    chain.site = &site;
    chain.usable[0] = true;
}

static void teardown(void)
{
    arena_release(&arena);
}

/* How many values are impossible and doubtful: "impossible + 10 x doubtful". */
static size_t found(void)
{
    ck_assert_int_eq(impossible_find(&chain, &settled, &arena, &impossible, &doubtful), OK);
    ck_assert(impossible_any(&chain, &settled) == (impossible.count > 0));
    return impossible.count + 10 * doubtful.count;
}

static void put(enum plausible_item item, double value)
{
    struct operating_point *point = &chain.as_tested[0];
    *point = (struct operating_point){0};
    chain.means[0] = (struct means){0};
    switch (item) {
    case PLAUSIBLE_SET_EFFICIENCY: point->set_efficiency = KNOWN(value); break;
    case PLAUSIBLE_PUMP_EFFICIENCY: point->pump_efficiency = KNOWN(value); break;
    case PLAUSIBLE_POWER_FACTOR: point->power_factor = KNOWN(value); break;
    case PLAUSIBLE_HEAD: point->head_m = KNOWN(value); break;
    case PLAUSIBLE_FLOW: point->flow_m3s = KNOWN(value); break;
    case PLAUSIBLE_VOLTAGE: point->voltage_v = KNOWN(value); break;
    case PLAUSIBLE_FREQUENCY: point->frequency_hz = KNOWN(value); break;
    case PLAUSIBLE_SPEED: point->speed_rpm = KNOWN(value); break;
    case PLAUSIBLE_CURRENT: point->current_a = KNOWN(value); break;
    case PLAUSIBLE_INPUT_POWER: point->input_power_w = KNOWN(value); break;
    case PLAUSIBLE_VOLTAGE_UNBALANCE: point->voltage_unbalance = KNOWN(value); break;
    case PLAUSIBLE_WATER_TEMPERATURE:
        chain.means[0].value[CH_WATER_TEMPERATURE] = value;
        chain.means[0].present = UINT32_C(1) << CH_WATER_TEMPERATURE;
        break;
    default: ck_abort_msg("not a value of a point");
    }
}

/* The edges of plausible.csv as they are agreed (common practice, no source), in SI of the set above. A value 0.1 % of
 * the greatest of them on the good side is well apart from rounding. */
static const struct {
    enum plausible_item item;
    double good, bad;
    size_t count; /* as found() has it, on the bad side; on the good side what is doubtful alone */
    size_t good_count;
} edges[] = {
    {PLAUSIBLE_SET_EFFICIENCY, 0.7799, 0.7801, 10, 0},
    {PLAUSIBLE_SET_EFFICIENCY, 0.8499, 0.8501, 1, 10},
    {PLAUSIBLE_PUMP_EFFICIENCY, 0.8599, 0.8601, 10, 0},
    {PLAUSIBLE_PUMP_EFFICIENCY, 0.9199, 0.9201, 1, 10},
    {PLAUSIBLE_POWER_FACTOR, 1.0199, 1.0201, 1, 0},
    {PLAUSIBLE_POWER_FACTOR, 0.0501, 0.0499, 1, 0},
    {PLAUSIBLE_HEAD, 199.9, 200.1, 10, 0},
    {PLAUSIBLE_HEAD, 249.9, 250.1, 1, 10},
    {PLAUSIBLE_FLOW, 0.01999, 0.02001, 10, 0},
    {PLAUSIBLE_FLOW, 0.02999, 0.03001, 1, 10},
    {PLAUSIBLE_FLOW, -0.0001999, -0.0002001, 1, 0},
    {PLAUSIBLE_VOLTAGE, 200.1, 199.9, 1, 0},
    {PLAUSIBLE_VOLTAGE, 519.9, 520.1, 1, 0},
    {PLAUSIBLE_FREQUENCY, 20.01, 19.99, 1, 0},
    {PLAUSIBLE_FREQUENCY, 74.99, 75.01, 1, 0},
    {PLAUSIBLE_FREQUENCY, 50.0, 0.0, 1, 0},
    {PLAUSIBLE_SPEED, 900.1, 899.9, 1, 0},
    {PLAUSIBLE_SPEED, 2999.9, 3000.1, 10, 0},
    {PLAUSIBLE_SPEED, 3449.0, 3451.0, 1, 10},
    {PLAUSIBLE_CURRENT, 14.99, 15.01, 10, 0},
    {PLAUSIBLE_CURRENT, 39.99, 40.01, 1, 10},
    {PLAUSIBLE_INPUT_POWER, 14.99e3, 15.01e3, 10, 0},
    {PLAUSIBLE_INPUT_POWER, 39.99e3, 40.01e3, 1, 10},
    {PLAUSIBLE_INPUT_POWER, 0.0, -1.0, 1, 0},
    {PLAUSIBLE_VOLTAGE_UNBALANCE, 0.2499, 0.2501, 1, 0},
    {PLAUSIBLE_WATER_TEMPERATURE, -0.49, -0.51, 1, 0},
    {PLAUSIBLE_WATER_TEMPERATURE, 59.9, 60.1, 1, 0},
    {PLAUSIBLE_WATER_TEMPERATURE, 25.0, 95.0, 1, 0},
};

START_TEST(each_limit_has_two_sides)
{
    put(edges[_i].item, edges[_i].good);
    ck_assert_uint_eq(found(), edges[_i].good_count);
    put(edges[_i].item, edges[_i].bad);
    ck_assert_uint_eq(found(), edges[_i].count);
    const struct odd_value *odd = impossible.count > 0 ? impossible.items : doubtful.items;
    ck_assert_int_eq((int)odd->item, (int)edges[_i].item);
    ck_assert_int_eq(odd->point, 3);
    ck_assert_uint_eq(odd->line, 17);
    ck_assert(odd->value == edges[_i].bad);
    ck_assert(odd->above == (edges[_i].bad > edges[_i].good));
}
END_TEST

/* All points below a tenth of the guaranteed head: the gauge, not the set. A single head far below zero too. */
START_TEST(a_test_without_head_is_one)
{
    put(PLAUSIBLE_HEAD, 10.01);
    ck_assert_uint_eq(found(), 0);
    put(PLAUSIBLE_HEAD, 9.99);
    ck_assert_uint_eq(found(), 1);
    ck_assert_int_eq((int)impossible.items[0].item, (int)PLAUSIBLE_GREATEST_HEAD);
    ck_assert_int_eq(impossible.items[0].point, 0);
    put(PLAUSIBLE_HEAD, -5.01);
    ck_assert_uint_eq(found(), 2);
    put(PLAUSIBLE_HEAD, -4.99);
    ck_assert_uint_eq(found(), 1);
}
END_TEST

START_TEST(no_current_is_odd_while_power_is_drawn)
{
    put(PLAUSIBLE_CURRENT, 0.0);
    ck_assert_uint_eq(found(), 0);
    chain.as_tested[0].input_power_w = KNOWN(5e3);
    ck_assert_uint_eq(found(), 1);
    chain.as_tested[0].input_power_w = KNOWN(0.0);
    ck_assert_uint_eq(found(), 0);
}
END_TEST

/* 10 kW at 400 V: 14.43 A at a power factor of 1. */
START_TEST(power_factor_is_the_readings_own)
{
    put(PLAUSIBLE_POWER_FACTOR, 0.85);
    chain.as_tested[0].input_power_w = KNOWN(10e3);
    chain.as_tested[0].voltage_v = KNOWN(400.0);
    chain.as_tested[0].current_a = KNOWN(14.2);
    ck_assert_uint_eq(found(), 0);
    chain.as_tested[0].current_a = KNOWN(14.0);
    ck_assert_uint_eq(found(), 1);
    ck_assert_int_eq((int)impossible.items[0].item, (int)PLAUSIBLE_POWER_FACTOR);
}
END_TEST

/* A meter that reads below zero gives no flow: the reading itself is held to the limit. */
START_TEST(flow_below_zero_is_seen_where_reduction_has_none)
{
    chain.means[0].present = UINT32_C(1) << CH_FLOW;
    chain.means[0].value[CH_FLOW] = -0.00019;
    ck_assert_uint_eq(found(), 0);
    chain.means[0].value[CH_FLOW] = -0.00021;
    ck_assert_uint_eq(found(), 1);
}
END_TEST

/* 0 to 16 bar with gain 2 and a zero of 1 bar: a corrected 30 bar was read as 16. 5 % of the range are 0.8 bar. */
START_TEST(a_reading_is_held_to_its_instruments_range)
{
    instrument = (struct instrument){.channel = CH_GAUGE_PRESSURE,
                                     .range_low_si = KNOWN(0.0),
                                     .range_high_si = KNOWN(16e5),
                                     .gain = 2.0,
                                     .zero_si = 1e5};
    bay.instruments = &instrument;
    bay.instrument_count = 1;
    const struct {
        double shown_bar;
        size_t count;
    } readings[] = {{16.79, 0}, {16.81, 1}, {-0.79, 0}, {-0.81, 1}, {8.0, 0}};
    for (size_t i = 0; i < sizeof readings / sizeof readings[0]; i++) {
        double corrected_pa = 2.0 * (readings[i].shown_bar - 1.0) * 1e5;
        settled_point.channels[CH_GAUGE_PRESSURE] =
            (struct channel_stats){.n = 1, .mean = corrected_pa, .low = corrected_pa, .high = corrected_pa};
        chain.means[0].value[CH_GAUGE_PRESSURE] = corrected_pa;
        chain.means[0].present = UINT32_C(1) << CH_GAUGE_PRESSURE;
        found();
        ck_assert_uint_eq(impossible.count, readings[i].count);
        ck_assert(impossible.count == 0 || impossible.items[0].channel == CH_GAUGE_PRESSURE);
        if (impossible.count > 0) {
            near_rel(impossible.items[0].value, readings[i].shown_bar * 1e5, 1e-12); /* rounding, there and back */
        }
    }
}
END_TEST

START_TEST(what_is_not_stated_limits_nothing)
{
    model = (struct model){.duty_count = 1, .duties = &duty};
    duty = (struct duty){0};
    static const enum plausible_item relative[] = {PLAUSIBLE_HEAD,  PLAUSIBLE_FLOW,    PLAUSIBLE_VOLTAGE,
                                                   PLAUSIBLE_SPEED, PLAUSIBLE_CURRENT, PLAUSIBLE_INPUT_POWER};
    for (size_t i = 0; i < sizeof relative / sizeof relative[0]; i++) {
        put(relative[i], 1e6);
        ck_assert_uint_eq(found(), 0);
    }
}
END_TEST

START_TEST(a_point_that_is_not_steady_is_not_asked)
{
    put(PLAUSIBLE_SET_EFFICIENCY, 2.0);
    chain.usable[0] = false;
    ck_assert_uint_eq(found(), 0);
}
END_TEST

/* --- a bay's own table --- */

static enum status read_own(const char *text, struct plausible_book *book, struct faults *faults)
{
    char path[] = "/tmp/plausible-XXXXXX";
    int made = mkstemp(path);
    FILE *to = made < 0 ? NULL : fdopen(made, "w");
    ck_assert(to != NULL && fputs(text, to) >= 0 && fclose(to) == 0);
    enum status status = plausible_book_read(path, &arena, book, faults);
    (void)remove(path);
    return status;
}

#define HEADING "quantity,scope,impossible low,impossible high,doubtful low,doubtful high,relative to,unit,note\n"

START_TEST(a_bays_row_replaces_its_own)
{
    struct plausible_book book;
    struct faults faults = {0};
    ck_assert_int_eq(read_own(HEADING "Set_Efficiency,point,,0.6,,,,,ours\n", &book, &faults), OK);
    ck_assert(book.of[PLAUSIBLE_SET_EFFICIENCY].from_bay && !book.of[PLAUSIBLE_SET_EFFICIENCY].doubtful_high.known);
    ck_assert(book.of[PLAUSIBLE_SET_EFFICIENCY].impossible_high.value == 0.6);
    ck_assert(book.of[PLAUSIBLE_BEST_EFFICIENCY].impossible_high.value == 0.85);
}
END_TEST

static const struct {
    const char *row, *message;
} faulty[] = {
    {"sett efficiency,point,,1,,,,,\n", "is not known"},
    {"head,point,,2,,,rated head,,\n", "expected 'greatest guaranteed head'"},
    {"frequency,point,20,70,,,,rpm,\n", "expected 'Hz'"},
    {"frequency,point,70,20,,,,,\n", "is not below"},
    {"flow,point,,2,,,,,\nflow,point,,3,,,,,\n", "is there twice"},
};

START_TEST(a_faulty_row_is_a_fault)
{
    char text[400];
    struct plausible_book book;
    struct faults faults = {0};
    (void)snprintf(text, sizeof text, "%s%s", HEADING, faulty[_i].row);
    ck_assert_int_eq(read_own(text, &book, &faults), E_INPUT);
    ck_assert_msg(strstr(faults.text[0], faulty[_i].message) != NULL, "%s", faults.text[0]);
}
END_TEST

Suite *impossible_suite(void);
Suite *impossible_suite(void)
{
    Suite *suite = suite_create("impossible");
    TCase *tcase = tcase_create("core");
    tcase_add_checked_fixture(tcase, setup, teardown);
    tcase_add_loop_test(tcase, each_limit_has_two_sides, 0, sizeof edges / sizeof edges[0]);
    tcase_add_test(tcase, a_test_without_head_is_one);
    tcase_add_test(tcase, no_current_is_odd_while_power_is_drawn);
    tcase_add_test(tcase, power_factor_is_the_readings_own);
    tcase_add_test(tcase, flow_below_zero_is_seen_where_reduction_has_none);
    tcase_add_test(tcase, a_reading_is_held_to_its_instruments_range);
    tcase_add_test(tcase, what_is_not_stated_limits_nothing);
    tcase_add_test(tcase, a_point_that_is_not_steady_is_not_asked);
    tcase_add_test(tcase, a_bays_row_replaces_its_own);
    tcase_add_loop_test(tcase, a_faulty_row_is_a_fault, 0, sizeof faulty / sizeof faulty[0]);
    suite_add_tcase(suite, tcase);
    return suite;
}
