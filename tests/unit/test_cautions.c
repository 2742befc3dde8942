/* cautions.c and caution_power.c: what a test is cautioned about, and with which words. */
#include "dutyproof/remarks.h"

#include "near.h"

#include <string.h>

#define COUNT(array) ((int)(sizeof(array) / sizeof *(array)))
#define KNOWN(x)     ((struct quantity){.value = (x), .known = true})

enum { POINTS = 3 };

static struct arena arena;
static struct bay bay;
static struct model model;
static struct duty duty;
static struct settled_point settled[POINTS];
static struct point points[POINTS];
static struct result result;

/* Three healthy points: shut-off, half and full flow. */
static void setup(void)
{
    arena = (struct arena){0};
    bay = (struct bay){.rig = {.current_ratio = 1.0, .voltage_ratio = 1.0}};
    duty = (struct duty){0};
    model = (struct model){.phases = KNOWN(3.0), .duty_count = 1, .duties = &duty};
    for (int i = 0; i < POINTS; i++) {
        settled[i] = (struct settled_point){.number = i + 1, .readings = 1, .steady = true};
        points[i] = (struct point){.settled = &settled[i], .fitted = true};
        points[i].as_tested.flow_m3s = KNOWN(0.005 * i);
        points[i].at_rated.translated = true;
        points[i].fluctuation.within = points[i].spread.within = true;
    }
    result = (struct result){.bay = &bay, .model = &model, .serial = "C-1", .point_count = POINTS, .points = points};
}

static void teardown(void)
{
    arena_release(&arena);
}

/* The texts of all notes but the one on the small number of points, one a line. */
static const char *notes(void)
{
    const char *text = "";
    result.notes = (struct notes){0};
    ck_assert_int_eq(cautions_add(&result, &arena), OK);
    for (size_t i = 0; i < result.notes.count; i++) {
        if (strstr(result.notes.items[i].text, "fewer than 5") == NULL) {
            text = arena_format(&arena, "%s%s: %s\n", text, note_kind_name(result.notes.items[i].kind),
                                result.notes.items[i].text);
        }
    }
    return text;
}

static void has(const char *text, const char *part)
{
    ck_assert_msg(strstr(text, part) != NULL, "lacks '%s':\n%s", part, text);
}

START_TEST(a_sound_test_has_no_cautions)
{
    ck_assert_str_eq(notes(), "");
}
END_TEST

/* --- flow device --- */

static void limit_at(int i, double value)
{
    struct flow_limits *limits = &points[i].remarks.flow_limits;
    limits->items[limits->count++] = (struct flow_limit){
        .name = "Reynolds number", .unit = "", .source = "ISO 5167-2", .value = value, .limit = 5000.0};
}

START_TEST(a_limit_is_named_once_with_its_points)
{
    limit_at(1, 3000.0);
    limit_at(2, 4500.0);
    ck_assert_str_eq(notes(),
                     "caution: flow device, point 2, 3: Reynolds number = 3000 to 4500 is below 5000 (ISO 5167-2)\n");
    points[1].remarks.flow_limits.count = 0;
    ck_assert_str_eq(notes(), "caution: flow device, point 3: Reynolds number = 4500 is below 5000 (ISO 5167-2)\n");
}
END_TEST

START_TEST(a_limit_of_the_rig_needs_no_points)
{
    struct flow_limit beta = {
        .name = "β", .unit = "", .source = "ISO 5167-2", .value = 0.8, .limit = 0.75, .above = true};
    struct flow_limit sentence = {.name = "crest height is not stated", .unit = ""};
    for (int i = 1; i < POINTS; i++) {
        points[i].remarks.flow_limits = (struct flow_limits){.count = 2, .items = {beta, sentence}};
    }
    ck_assert_str_eq(notes(), "caution: flow device: β = 0.8 is above 0.75 (ISO 5167-2)\n"
                              "caution: flow device: crest height is not stated\n");
}
END_TEST

/* --- what is absent, and why --- */

START_TEST(a_reason_is_given_once_with_its_points)
{
    points[0].remarks.zero = "below zero";
    points[0].remarks.power = points[2].remarks.power = "no input power: why";
    ck_assert_str_eq(notes(), "input: point 1: below zero\ninput: point 1, 3: no input power: why\n");
}
END_TEST

/* --- power --- */

/* Three-phase, 400 V line to line and 10 A: S = sqrt(3) 4 kVA = 6928.2 VA. What two wattmeters show of power factor
 * cos phi: W1 = U I cos(phi - 30 deg), W2 = U I cos(phi + 30 deg). */
static void supply_at(int i, double power_w)
{
    points[i].as_tested.voltage_v = KNOWN(400.0);
    points[i].as_tested.current_a = KNOWN(10.0);
    points[i].as_tested.input_power_w = KNOWN(power_w);
    points[i].as_tested.power_factor = KNOWN(power_w / (sqrt(3.0) * 4000.0));
}

static void wattmeters_at(int i, double first_w, double second_w)
{
    settled[i].channels[CH_WATTMETER_1].n = settled[i].channels[CH_WATTMETER_2].n = 1;
    settled[i].channels[CH_WATTMETER_1].mean = first_w;
    settled[i].channels[CH_WATTMETER_2].mean = second_w;
    supply_at(i, first_w + second_w);
}

static const char sign_note[] = "point 3: the two wattmeters fit the other readings only with the sign of one changed";

/* By true power factor; which sign is wrong. */
static const struct {
    double power_factor, first_sign, second_sign;
    bool wrong;
} leads[] = {
    {0.8, 1, 1, false},  {0.9, 1, 1, false}, {0.6, 1, 1, false}, {0.4, 1, 1, false},
    {0.95, 1, 1, false}, {0.8, 1, -1, true}, {0.9, 1, -1, true}, {0.6, 1, -1, true},
    {0.8, -1, 1, true},  {0.4, 1, -1, true}, /* below 0.5 the second one is truly negative: a sign lost in writing */
};

START_TEST(a_reversed_wattmeter_is_told)
{
    double phi = acos(leads[_i].power_factor), sixth = acos(-1.0) / 6.0;
    wattmeters_at(2, leads[_i].first_sign * 4000.0 * cos(phi - sixth),
                  leads[_i].second_sign * 4000.0 * cos(phi + sixth));
    const char *text = notes();
    ck_assert_msg((strstr(text, sign_note) != NULL) == leads[_i].wrong, "%s", text);
    ck_assert_msg(leads[_i].wrong || *text == '\0', "%s", text);
}
END_TEST

START_TEST(unbalance_is_no_reversed_wattmeter)
{
    wattmeters_at(2, 3971.0 * 1.05, 1571.0 * 0.95); /* power factor 0.8, the readings 5 % off either way */
    ck_assert_str_eq(notes(), "");
}
END_TEST

START_TEST(a_swapped_sign_shows_in_the_efficiency_where_voltage_was_not_read)
{
    wattmeters_at(2, 3971.0, -1571.0);
    points[2].as_tested.voltage_v = points[2].as_tested.power_factor = quantity_absent();
    points[2].as_tested.hydraulic_power_w = KNOWN(2400.0); /* 100 % of 2400 W, 43 % of 5542 W */
    points[2].as_tested.set_efficiency = KNOWN(1.0);
    const char *text = notes();
    has(text, sign_note);
    has(text, "efficiency higher than such a set can have at point 3");
    settled[2].channels[CH_WATTMETER_2].mean = 1571.0;
    points[2].as_tested.set_efficiency = KNOWN(0.43);
    ck_assert_str_eq(notes(), "");
}
END_TEST

START_TEST(negative_power_is_told)
{
    wattmeters_at(2, -3971.0, -1571.0);
    has(notes(), "point 3: the input power is negative: look for reversed wattmeter leads");
}
END_TEST

/* A power factor that cannot be, and the slip that explains it. */
static const struct {
    double power_factor, current_ratio, voltage_ratio;
    const char *note; /* NULL: none */
} factors[] = {
    {1.0, 1, 1, NULL},
    {0.3, 1, 1, NULL},
    {1.001, 1, 1, "power factor above 1 at point 3: look for a transformer ratio that was forgotten"},
    {0.299, 1, 1, "power factor below 0.3 at point 3: the power seems to be that of one phase of three"},
    {0.05, 1, 1, "power factor below 0.3 at point 3: look for a reversed wattmeter lead"},
    {8.2, 10, 1, "power factor above 1 at point 3: the power seems to be a primary value already"},
    {0.082, 10, 1, "power factor below 0.3 at point 3: the current or voltage seems to be a primary value already"},
    {3.3, 1, 4, "the power seems to be a primary value already"},
    {1.42, 1, 1, "power factor above 1 at point 3: the voltage seems to be that to neutral"}, /* 0.82 sqrt(3) */
};

START_TEST(an_impossible_power_factor_names_the_slip)
{
    bay.rig.current_ratio = factors[_i].current_ratio;
    bay.rig.voltage_ratio = factors[_i].voltage_ratio;
    supply_at(2, factors[_i].power_factor * sqrt(3.0) * 4000.0);
    points[2].as_tested.power_factor.value = factors[_i].power_factor; /* to the last bit */
    const char *text = notes();
    if (factors[_i].note == NULL) {
        ck_assert_str_eq(text, "");
    } else {
        has(text, factors[_i].note);
        ck_assert_ptr_eq(strchr(text, '\n'), text + strlen(text) - 1); /* and nothing else */
    }
}
END_TEST

START_TEST(a_motor_at_no_load_may_have_a_low_power_factor)
{
    supply_at(0, 800.0); /* shut-off: 0.12 */
    ck_assert_str_eq(notes(), "");
    points[0].as_tested.flow_m3s = KNOWN(0.0009); /* 9 % of the greatest flow */
    ck_assert_str_eq(notes(), "");
    points[0].as_tested.flow_m3s = KNOWN(0.001); /* 10 % */
    has(notes(), "power factor below 0.3 at point 1");
}
END_TEST

START_TEST(one_wattmeter_is_a_caution)
{
    points[1].remarks.one_wattmeter = points[2].remarks.one_wattmeter = true;
    ck_assert_str_eq(notes(), "caution: input power is three times the reading of one wattmeter at point 2, 3: "
                              "true of a balanced load only\n");
    model.phases = quantity_absent();
    has(notes(), "models.csv states no phases of this model: taken as three-phase at point 2, 3");
}
END_TEST

/* --- instruments --- */

START_TEST(readings_outside_the_range_are_counted)
{
    struct instrument instruments[] = {{.channel = CH_VOLTAGE, .serial = "V-1"}, {.channel = CH_FLOW, .serial = ""}};
    bay.instruments = instruments;
    bay.instrument_count = 2;
    result.log.channels = UINT32_C(1) << CH_VOLTAGE_RY | UINT32_C(1) << CH_FLOW;
    result.log.above_range[CH_VOLTAGE_RY] = 2; /* of the instrument for all three voltages */
    result.log.below_range[CH_FLOW] = 1;
    ck_assert_str_eq(notes(), "input: flow: 1 reading outside the instrument's range (serial not stated)\n"
                              "input: voltage ry: 2 readings outside the instrument's range (serial V-1)\n");
}
END_TEST

START_TEST(an_instrument_for_three_phases_may_be_overdue)
{
    struct instrument instrument = {.channel = CH_VOLTAGE, .serial = "V-1"};
    bay.instruments = &instrument;
    bay.instrument_count = 1;
    ck_assert(date_parse("2025-01-31", &instrument.due) && date_parse("2025-02-01", &result.tested));
    result.log.channels = UINT32_C(1) << CH_VOLTAGE_RY;
    has(notes(), "calibration overdue: voltage, serial V-1, was due 2025-01-31, tested 2025-02-01");
    instrument.due = result.tested;
    ck_assert_str_eq(notes(), "");
}
END_TEST

START_TEST(long_lists_of_points_are_cut)
{
    enum { MANY = 60 };
    static struct settled_point many_settled[MANY];
    static struct point many[MANY];
    for (int i = 0; i < MANY; i++) {
        many_settled[i] = (struct settled_point){.number = i + 1, .steady = true};
        many[i] = points[0];
        many[i].settled = &many_settled[i];
        many[i].remarks.power = "no input power: why";
    }
    result.points = many;
    result.point_count = MANY;
    has(notes(), "input: point 1, 2, 3, ");
    has(notes(), ", ...: no input power: why");
}
END_TEST

/* --- routine --- */

START_TEST(failing_routine_results_are_a_caution)
{
    struct routine row = {.serial = "C-1", .line = 7};
    result.routine = (struct routine_result){.row = &row, .rows = 2, .check_count = 2};
    result.routine.checks[0] =
        (struct routine_check){.name = "winding imbalance", .limited = true, .verdict = VERDICT_FAIL};
    result.routine.checks[1] = (struct routine_check){.name = "no-load current", .verdict = VERDICT_NOT_JUDGED};
    bay.routine_count = 2;
    ck_assert_str_eq(notes(), "input: routine.csv has 2 rows for this serial: the latest, on line 7, counts\n"
                              "caution: routine results fail: winding imbalance\n");
    result.routine = (struct routine_result){0};
    ck_assert_str_eq(notes(), "input: routine.csv has no row for serial 'C-1'\n");
}
END_TEST

Suite *cautions_suite(void);

Suite *cautions_suite(void)
{
    Suite *suite = suite_create("cautions");
    TCase *core = tcase_create("core");
    tcase_add_checked_fixture(core, setup, teardown);
    tcase_add_test(core, a_sound_test_has_no_cautions);
    tcase_add_test(core, a_limit_is_named_once_with_its_points);
    tcase_add_test(core, a_limit_of_the_rig_needs_no_points);
    tcase_add_test(core, a_reason_is_given_once_with_its_points);
    tcase_add_loop_test(core, a_reversed_wattmeter_is_told, 0, COUNT(leads));
    tcase_add_test(core, unbalance_is_no_reversed_wattmeter);
    tcase_add_test(core, a_swapped_sign_shows_in_the_efficiency_where_voltage_was_not_read);
    tcase_add_test(core, negative_power_is_told);
    tcase_add_loop_test(core, an_impossible_power_factor_names_the_slip, 0, COUNT(factors));
    tcase_add_test(core, a_motor_at_no_load_may_have_a_low_power_factor);
    tcase_add_test(core, one_wattmeter_is_a_caution);
    tcase_add_test(core, readings_outside_the_range_are_counted);
    tcase_add_test(core, an_instrument_for_three_phases_may_be_overdue);
    tcase_add_test(core, long_lists_of_points_are_cut);
    tcase_add_test(core, failing_routine_results_are_a_caution);
    suite_add_tcase(suite, core);
    return suite;
}
