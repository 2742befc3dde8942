/* cautions.c and caution_power.c: what a test is cautioned about, and with which words. */
#include "run/cautions.h"

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

/* --- supply, water, steadiness: each limit from both sides --- */

/* 1 % of frequency, 5 % of voltage, 40 °C: ISO 9906:2012 (from memory, confirm); 3 % and 10 % of unbalance: common
 * practice, no source. Rated are 400 V and 50 Hz. */
static const struct {
    double voltage_v, frequency_hz, voltage_unbalance, current_unbalance, water_c;
    const char *note; /* NULL: none */
} supplies[] = {
    {400.0, 50.0, 0.0, 0.0, 20.0, NULL},
    {400.0, 50.49, 0.0, 0.0, 20.0, NULL},
    {400.0, 50.51, 0.0, 0.0, 20.0, "caution: frequency more than 1 % from rated at point 2: "},
    {400.0, 49.51, 0.0, 0.0, 20.0, NULL},
    {400.0, 49.49, 0.0, 0.0, 20.0, "caution: frequency more than 1 % from rated at point 2: "},
    {419.9, 50.0, 0.0, 0.0, 20.0, NULL},
    {420.1, 50.0, 0.0, 0.0, 20.0, "caution: voltage more than 5 % from rated at point 2 "},
    {380.1, 50.0, 0.0, 0.0, 20.0, NULL},
    {379.9, 50.0, 0.0, 0.0, 20.0, "caution: voltage more than 5 % from rated at point 2 "},
    {400.0, 50.0, 0.0299, 0.0, 20.0, NULL},
    {400.0, 50.0, 0.0301, 0.0, 20.0, "caution: voltage unbalance above 3 % at point 2 "},
    {400.0, 50.0, 0.0, 0.0999, 20.0, NULL},
    {400.0, 50.0, 0.0, 0.1001, 20.0, "caution: current unbalance above 10 % at point 2 "},
    {400.0, 50.0, 0.0, 0.0, 39.99, NULL},
    {400.0, 50.0, 0.0, 0.0, 40.01, "caution: water above 40 °C at point 2: "},
};

/* One note, which begins so, or none. */
static void only(const char *text, const char *start)
{
    if (start == NULL) {
        ck_assert_str_eq(text, "");
        return;
    }
    ck_assert_msg(strncmp(text, start, strlen(start)) == 0, "wanted '%s':\n%s", start, text);
    ck_assert_ptr_eq(strchr(text, '\n'), text + strlen(text) - 1);
}

START_TEST(supply_and_water_are_cautioned_beyond_their_limits)
{
    model.rated_voltage_v = KNOWN(400.0);
    model.rated_frequency_hz = KNOWN(50.0);
    struct operating_point *tested = &points[1].as_tested;
    tested->voltage_v = KNOWN(supplies[_i].voltage_v);
    tested->frequency_hz = KNOWN(supplies[_i].frequency_hz);
    tested->voltage_unbalance = KNOWN(supplies[_i].voltage_unbalance);
    tested->current_unbalance = KNOWN(supplies[_i].current_unbalance);
    tested->water_temperature_c = KNOWN(supplies[_i].water_c);
    only(notes(), supplies[_i].note);
}
END_TEST

START_TEST(what_did_not_hold_still_is_a_caution)
{
    points[0].fluctuation.within = false;
    only(notes(), "caution: readings swing by more than the permissible amplitude of the grade at point 1\n");
    points[0].fluctuation.within = true;
    points[1].spread.within = false;
    only(notes(), "caution: repeated readings differ by more than the permissible spread of the grade at point 2 ");
    points[1].spread.within = true;
    settled[2].steady = false;
    only(notes(), "caution: point 3 did not settle and is not fitted\n");
}
END_TEST

START_TEST(standard_gravity_is_a_caution)
{
    result.site.gravity_assumed = true;
    only(notes(), "caution: rig.csv states no site latitude: standard gravity 9.80665 m/s² is used\n");
}
END_TEST

/* --- number and place of points: ISO 9906:2012 (from memory, confirm) --- */

static const struct {
    double below, above; /* two points, as shares of guaranteed flow */
    const char *note;
} places[] = {
    {0.9501, 1.0499, NULL},
    {0.9499, 1.0499, "caution: no point at 95 to 100 % of guaranteed flow "},
    {0.9501, 1.0501, "caution: no point at 100 to 105 % of guaranteed flow "},
    {0.9499, 1.0501, "caution: no point at 95 to 105 % of guaranteed flow "},
    {0.5, 1.0, NULL}, /* at the guaranteed flow itself: both */
};

START_TEST(points_lie_about_the_guaranteed_flow)
{
    duty.flow_m3s = KNOWN(0.01);
    points[0].fitted = false;
    points[0].at_rated.flow_m3s = KNOWN(0.01); /* at the very place, but not fitted */
    points[1].at_rated.flow_m3s = KNOWN(0.01 * places[_i].below);
    points[2].at_rated.flow_m3s = KNOWN(0.01 * places[_i].above);
    only(notes(), places[_i].note);
}
END_TEST

START_TEST(five_points_are_enough)
{
    enum { ENOUGH = 5 };
    struct point many[ENOUGH];
    for (int i = 0; i < ENOUGH; i++) {
        many[i] = points[i % POINTS];
    }
    result.points = many;
    result.point_count = ENOUGH;
    ck_assert_int_eq(cautions_add(&result, &arena), OK);
    ck_assert_uint_eq(result.notes.count, 0);
    many[4].fitted = false;
    ck_assert_int_eq(cautions_add(&result, &arena), OK);
    ck_assert_uint_eq(result.notes.count, 1);
    has(result.notes.items[0].text, "4 points could be fitted, fewer than 5");
}
END_TEST

/* --- shape of the curves --- */

/* A straight head curve of so many metres a litre a second over 0 to 10 L/s, that scatters by 0.1 m. */
static void head_curve(double slope_m_per_l_s)
{
    result.curves.of[CURVE_HEAD] = (struct curve){.known = true,
                                                  .degree = 1,
                                                  .center = 0.005,
                                                  .scale = 0.005,
                                                  .scaled = {50.0, 5.0 * slope_m_per_l_s},
                                                  .flow_low_m3s = 0.0,
                                                  .flow_high_m3s = 0.01,
                                                  .residual = 0.1};
}

START_TEST(a_head_curve_that_rises_is_a_caution)
{
    head_curve(-2.0);
    only(notes(), NULL);
    head_curve(0.0099); /* 0.099 m in all: scatter */
    only(notes(), NULL);
    head_curve(0.0101);
    only(notes(), "caution: the head curve rises with flow up to 36.00 m³/h: unstable there\n");
}
END_TEST

START_TEST(best_efficiency_at_the_end_is_a_caution)
{
    head_curve(-2.0);
    result.best_known = true;
    result.best = (struct best_efficiency){.flow_m3s = 0.01, .head_m = 40.0, .set_efficiency = 0.5};
    only(notes(), NULL);
    result.best.at_end = true;
    only(notes(), "caution: the best efficiency lies at the end of the tested flows, 36.00 m³/h: ");
}
END_TEST

START_TEST(outliers_are_named_by_curve)
{
    head_curve(-2.0);
    result.curves.of[CURVE_HEAD].outliers[result.curves.of[CURVE_HEAD].outlier_count++] = 2;
    only(notes(), "caution: point 3 lies off the head curve (outlier, kept in the fit)\n");
    result.curves.of[CURVE_HEAD].outlier_count = 0;
    result.curves.of[CURVE_INPUT_POWER].outliers[result.curves.of[CURVE_INPUT_POWER].outlier_count++] = 1;
    only(notes(), "caution: point 2 lies off the input power curve (outlier, kept in the fit)\n");
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
    /* what a power factor at load may be, from both sides: 0.65 to 0.95 */
    {1.1270, 1, 1, "power factor above 1 at point 3: the voltage seems to be that to neutral"}, /* 0.6507 sqrt(3) */
    {1.1247, 1, 1, "power factor above 1 at point 3: look for a transformer ratio"},            /* 0.6493 sqrt(3) */
    {1.6443, 1, 1, "power factor above 1 at point 3: the voltage seems to be that to neutral"}, /* 0.9493 sqrt(3) */
    {1.6466, 1, 1, "power factor above 1 at point 3: look for a transformer ratio"},            /* 0.9507 sqrt(3) */
    {0.2170, 1, 1, "power factor below 0.3 at point 3: the power seems to be that of one phase"},
    {0.2163, 1, 1, "power factor below 0.3 at point 3: look for a reversed wattmeter lead"},
    {6.51, 10, 1, "power factor above 1 at point 3: the power seems to be a primary value already"},
    {6.49, 10, 1, "power factor above 1 at point 3: look for a transformer ratio"},
    {9.49, 1, 10, "power factor above 1 at point 3: the power seems to be a primary value already"},
    {9.51, 1, 10, "power factor above 1 at point 3: look for a transformer ratio"},
    {8.0, 2, 5, "power factor above 1 at point 3: the power seems to be a primary value already"}, /* both ratios */
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

START_TEST(a_set_of_unknown_phases_is_taken_as_three_phase)
{
    model.phases = quantity_absent();
    supply_at(2, 0.299 * sqrt(3.0) * 4000.0);
    has(notes(), "power factor below 0.3 at point 3: the power seems to be that of one phase of three");
    model.phases = KNOWN(1.0);
    has(notes(), "power factor below 0.3 at point 3: look for a reversed wattmeter lead");
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

/* Which readings a turned sign mends. The true load has power factor cos phi; the sign of the second wattmeter was
 * turned; power factor by voltage and current is off by a factor `stretched` from slips of their own. With P = U I sin
 * phi as read, the two ways differ by |s sin phi / sqrt(3) - sin phi / sqrt(sin^2 phi + 9 cos^2 phi)| and, with the
 * sign turned back, by cos phi |s - 1|. The limits, 0.05 and a third of the former: common practice, no source. */
static const struct {
    double power_factor, stretched;
    bool told;
} mended[] = {
    {0.977, 1.0, true},   /* differs by 0.0506 as read */
    {0.978, 1.0, false},  /* by 0.0495: no contradiction */
    {0.8, 1.0500, true},  /* 0.0400 mended, 0.1212 as read */
    {0.8, 1.0510, false}, /* 0.0408 and 0.1215: not mended by so much */
    {0.3, 0.8340, true},  /* 0.0498 mended */
    {0.3, 0.8327, false}, /* 0.0502: not mended */
};

START_TEST(a_turned_sign_must_mend_the_readings)
{
    double phi = acos(mended[_i].power_factor), sixth = acos(-1.0) / 6.0;
    wattmeters_at(2, 4000.0 * cos(phi - sixth), -4000.0 * cos(phi + sixth));
    points[2].as_tested.power_factor.value *= mended[_i].stretched;
    const char *text = notes();
    ck_assert_msg((strstr(text, sign_note) != NULL) == mended[_i].told, "%s", text);
}
END_TEST

/* Without voltage: useful power above 0.75 of the sum cannot be, and between 0.1 and 0.75 of the difference it can
 * (common practice, no source). */
static const struct {
    double first_w, second_w, useful_w;
    bool told;
} efficiencies[] = {
    {3971.0, -1571.0, 1799.0, false}, {3971.0, -1571.0, 1801.0, true},  /* 0.75 x 2400 W */
    {3971.0, -1571.0, 4156.0, true},  {3971.0, -1571.0, 4157.0, false}, /* 0.75 x 5542 W = 4156.5 W */
    {3000.0, -2800.0, 579.0, false},  {3000.0, -2800.0, 581.0, true},   /* 0.1 x 5800 W */
};

START_TEST(a_turned_sign_must_make_the_efficiency_possible)
{
    wattmeters_at(2, efficiencies[_i].first_w, efficiencies[_i].second_w);
    points[2].as_tested.voltage_v = points[2].as_tested.power_factor = quantity_absent();
    points[2].as_tested.hydraulic_power_w = KNOWN(efficiencies[_i].useful_w);
    const char *text = notes();
    ck_assert_msg((strstr(text, sign_note) != NULL) == efficiencies[_i].told, "%s", text);
}
END_TEST

/* A set above 0.75, a pump of 1 and more (common practice, no source; of the pump: energy). */
static const struct {
    double set, pump;
    bool told;
} high_efficiencies[] = {
    {0.7499, 0.0, false}, {0.7501, 0.0, true}, {0.5, 0.9999, false}, {0.5, 1.0, true}, {0.5, 1.0001, true},
};

START_TEST(an_efficiency_that_cannot_be_is_told)
{
    points[2].as_tested.set_efficiency = KNOWN(high_efficiencies[_i].set);
    points[2].as_tested.pump_efficiency = KNOWN(high_efficiencies[_i].pump);
    only(notes(), high_efficiencies[_i].told ? "input: efficiency higher than such a set can have at point 3: " : NULL);
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
    tcase_add_loop_test(core, supply_and_water_are_cautioned_beyond_their_limits, 0, COUNT(supplies));
    tcase_add_test(core, what_did_not_hold_still_is_a_caution);
    tcase_add_test(core, standard_gravity_is_a_caution);
    tcase_add_loop_test(core, points_lie_about_the_guaranteed_flow, 0, COUNT(places));
    tcase_add_test(core, five_points_are_enough);
    tcase_add_test(core, a_head_curve_that_rises_is_a_caution);
    tcase_add_test(core, best_efficiency_at_the_end_is_a_caution);
    tcase_add_test(core, outliers_are_named_by_curve);
    tcase_add_test(core, a_reason_is_given_once_with_its_points);
    tcase_add_loop_test(core, a_reversed_wattmeter_is_told, 0, COUNT(leads));
    tcase_add_test(core, unbalance_is_no_reversed_wattmeter);
    tcase_add_test(core, a_swapped_sign_shows_in_the_efficiency_where_voltage_was_not_read);
    tcase_add_test(core, negative_power_is_told);
    tcase_add_loop_test(core, a_turned_sign_must_mend_the_readings, 0, COUNT(mended));
    tcase_add_loop_test(core, a_turned_sign_must_make_the_efficiency_possible, 0, COUNT(efficiencies));
    tcase_add_loop_test(core, an_efficiency_that_cannot_be_is_told, 0, COUNT(high_efficiencies));
    tcase_add_loop_test(core, an_impossible_power_factor_names_the_slip, 0, COUNT(factors));
    tcase_add_test(core, a_set_of_unknown_phases_is_taken_as_three_phase);
    tcase_add_test(core, a_motor_at_no_load_may_have_a_low_power_factor);
    tcase_add_test(core, one_wattmeter_is_a_caution);
    tcase_add_test(core, readings_outside_the_range_are_counted);
    tcase_add_test(core, an_instrument_for_three_phases_may_be_overdue);
    tcase_add_test(core, long_lists_of_points_are_cut);
    tcase_add_test(core, failing_routine_results_are_a_caution);
    suite_add_tcase(suite, core);
    return suite;
}
