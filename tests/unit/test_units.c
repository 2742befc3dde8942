/* Factors against a published table, spellings against what bays write; tests/outside/units_gnu.py checks every factor.
 */
#include "base/units.h"
#include "near.h"

#include <stdio.h>
#include <string.h>

#define COUNT(array) ((int)(sizeof(array) / sizeof *(array)))

/* NIST SP 811:2008, Appendix B.8, seven digits (from memory). Half of the last digit of 1.000000 is 5e-7. */
static const double table_digits = 5e-7;

static const struct {
    enum dimension dimension;
    const char *text;
    double reading, want_si;
} published[] = {
    {DIM_FLOW, "ft3/s", 1, 2.831685e-2},
    {DIM_FLOW, "cfm", 1, 4.719474e-4},
    {DIM_FLOW, "US gpm", 1, 6.309020e-5},
    {DIM_VOLUME, "imp gal", 1, 4.54609e-3},
    {DIM_VOLUME, "US gal", 1, 3.785412e-3},
    {DIM_VOLUME, "ft3", 1, 2.831685e-2},
    {DIM_PRESSURE, "psi", 1, 6.894757e3},
    {DIM_PRESSURE, "kgf/cm2", 1, 9.80665e4},
    {DIM_PRESSURE, "in Hg", 1, 3.386389e3},
    {DIM_PRESSURE, "mm Hg", 1, 1.333224e2},
    {DIM_PRESSURE, "torr", 1, 1.333224e2},
    {DIM_PRESSURE, "ft of water", 1, 2.989067e3},
    {DIM_PRESSURE, "in of water", 1, 2.490889e2},
    {DIM_PRESSURE, "cm of water", 1, 9.80665e1},
    {DIM_PRESSURE, "atm", 1, 1.01325e5},
    {DIM_POWER, "hp", 1, 7.456999e2},
    {DIM_POWER, "metric hp", 1, 7.354988e2},
    {DIM_POWER, "hp (electric)", 1, 7.46e2},
    {DIM_DENSITY, "lb/ft3", 1, 1.601846e1},
    {DIM_DENSITY, "slug/ft3", 1, 5.153788e2},
    {DIM_MASS, "lb", 1, 4.535924e-1},
    {DIM_SPEED, "rad/s", 1, 9.549297}, /* from 1 rpm = 1.047198e-1 rad/s */
    {DIM_ANGLE, "deg", 1, 1.745329e-2},
};

START_TEST(unit_published)
{
    const struct unit *unit = unit_find(published[_i].dimension, published[_i].text);
    ck_assert_msg(unit != NULL, "%s", published[_i].text);
    near_rel(unit_to_si(unit, published[_i].reading), published[_i].want_si, table_digits);
}
END_TEST

/* Fixed points of the temperature scales: freezing and body temperature, the scales' meeting point, absolute zero. */
static const struct {
    const char *text;
    double reading, want_c;
} temperatures[] = {
    {"F", 32, 0},      {"degF", 98.6, 37}, {"°F", -40, -40}, {"K", 0, -273.15},
    {"K", 293.15, 20}, {"°C", 25.5, 25.5}, {"F", 212, 100},
};

START_TEST(unit_temperatures)
{
    const struct unit *unit = unit_find(DIM_TEMPERATURE, temperatures[_i].text);
    ck_assert_ptr_nonnull(unit);
    /* a few roundings of numbers near 300 */
    near_abs(unit_to_si(unit, temperatures[_i].reading), temperatures[_i].want_c, 2e-13);
    near_abs(unit_from_si(unit, temperatures[_i].want_c), temperatures[_i].reading, 2e-13);
}
END_TEST

/* A zero error of 1.8 °F is 1 K, whatever the scales' zeros. */
START_TEST(unit_differences)
{
    near_abs(unit_difference_to_si(unit_find(DIM_TEMPERATURE, "F"), 1.8), 1.0, 1e-15);
    near_abs(unit_difference_to_si(unit_find(DIM_TEMPERATURE, "K"), 0.5), 0.5, 0.0);
}
END_TEST

/* want NULL: refused */
static const struct {
    enum dimension dimension;
    const char *text, *want;
} spellings[] = {
    {DIM_FLOW, "m3/h", "m³/h"},
    {DIM_FLOW, "m³/h", "m³/h"},
    {DIM_FLOW, "m^3/h", "m³/h"},
    {DIM_FLOW, " M3 / HR ", "m³/h"},
    {DIM_FLOW, "cum/hr", "m³/h"},
    {DIM_FLOW, "cu.m/hr", "m³/h"},
    {DIM_FLOW, "Cubic metres per hour", "m³/h"},
    {DIM_FLOW, "cubic meter/hour", "m³/h"},
    {DIM_FLOW, "m³·h⁻¹", "m³/h"},
    {DIM_FLOW, "m3 h^-1", "m³/h"},
    {DIM_FLOW, "m3_per_h", "m³/h"},
    {DIM_FLOW, "m3h", "m³/h"},
    {DIM_FLOW, "KL/hr", "m³/h"},
    {DIM_FLOW, "m\xc2\xb3\xc2\xa0/\xe2\x80\xafh", "m³/h"},
    {DIM_FLOW, "m3/min", "m³/min"},
    {DIM_FLOW, "m3/sec", "m³/s"},
    {DIM_FLOW, "cumecs", "m³/s"},
    {DIM_FLOW, "LPS", "L/s"},
    {DIM_FLOW, "l.p.s.", "L/s"},
    {DIM_FLOW, "lit/sec", "L/s"},
    {DIM_FLOW, "Ltrs/sec", "L/s"},
    {DIM_FLOW, "lpm", "L/min"},
    {DIM_FLOW, "litres/minute", "L/min"},
    {DIM_FLOW, "L/MIN", "L/min"},
    {DIM_FLOW, "lph", "L/h"},
    {DIM_FLOW, "ML/d", "ML/d"},
    {DIM_FLOW, "ML/day", "ML/d"},
    {DIM_FLOW, "MLD", "ML/d"},
    {DIM_FLOW, "ml/d", NULL},
    {DIM_FLOW, "US gpm", "US gpm"},
    {DIM_FLOW, "USGPM", "US gpm"},
    {DIM_FLOW, "gpm (US)", "US gpm"},
    {DIM_FLOW, "U.S. gallons per minute", "US gpm"},
    {DIM_FLOW, "gal/min (US)", "US gpm"},
    {DIM_FLOW, "US gal/hr", "US gph"},
    {DIM_FLOW, "igpm", "imp gpm"},
    {DIM_FLOW, "Imp. gpm", "imp gpm"},
    {DIM_FLOW, "imperial gallons per minute", "imp gpm"},
    {DIM_FLOW, "UK gal/min", "imp gpm"},
    {DIM_FLOW, "imp gph", "imp gph"},
    {DIM_FLOW, "gpm", "US gpm"},
    {DIM_FLOW, "gph", NULL},
    {DIM_FLOW, "gal/min", NULL},
    {DIM_FLOW, "cusecs", "ft³/s"},
    {DIM_FLOW, "cu ft/s", "ft³/s"},
    {DIM_FLOW, "cubic feet per second", "ft³/s"},
    {DIM_FLOW, "l/", NULL},
    {DIM_FLOW, "kPa", NULL},
    {DIM_FLOW, "", NULL},
    {DIM_FLOW, "  ", NULL},
    {DIM_VOLUME, "gal", NULL},
    {DIM_VOLUME, "ml", "mL"},
    {DIM_VOLUME, "ML", NULL},
    {DIM_VOLUME, "Litres", "L"},
    {DIM_VOLUME, "cu.m", "m³"},
    {DIM_PRESSURE, "kg/cm²", "kgf/cm²"},
    {DIM_PRESSURE, "kgf/cm^2", "kgf/cm²"},
    {DIM_PRESSURE, "Kg/Sq.Cm", "kgf/cm²"},
    {DIM_PRESSURE, "kg/cm2(g)", "kgf/cm²"},
    {DIM_PRESSURE, "KSC", "kgf/cm²"},
    {DIM_PRESSURE, "at", "kgf/cm²"},
    {DIM_PRESSURE, "atm", "atm"},
    {DIM_PRESSURE, "PSIG", "psi"},
    {DIM_PRESSURE, "lb/sq.in", "psi"},
    {DIM_PRESSURE, "psia", NULL},
    {DIM_PRESSURE, "bar a", NULL},
    {DIM_PRESSURE, "bar (g)", "bar"},
    {DIM_PRESSURE, "MBAR", "mbar"},
    {DIM_PRESSURE, "hPa", "hPa"},
    {DIM_PRESSURE, "KPA", "kPa"},
    {DIM_PRESSURE, "MPa", "MPa"},
    {DIM_PRESSURE, "MPA", "MPa"},
    {DIM_PRESSURE, "mPa", NULL},
    {DIM_PRESSURE, "mpa", NULL},
    {DIM_PRESSURE, "m", "m water"},
    {DIM_PRESSURE, "MWC", "m water"},
    {DIM_PRESSURE, "m wc", "m water"},
    {DIM_PRESSURE, "mH2O", "m water"},
    {DIM_PRESSURE, "mH₂O", "m water"},
    {DIM_PRESSURE, "metres of water column", "m water"},
    {DIM_PRESSURE, "m of water", "m water"},
    {DIM_PRESSURE, "ft", "ft water"},
    {DIM_PRESSURE, "feet of water", "ft water"},
    {DIM_PRESSURE, "mm WG", "mm water"},
    {DIM_PRESSURE, "cmH2O", "cm water"},
    {DIM_PRESSURE, "inches of water", "in water"},
    {DIM_PRESSURE, "mm of mercury", "mmHg"},
    {DIM_PRESSURE, "mmHg", "mmHg"},
    {DIM_PRESSURE, "in. Hg", "inHg"},
    {DIM_PRESSURE, "Torr", "torr"},
    {DIM_POWER, "kilowatts", "kW"},
    {DIM_POWER, "KW", "kW"},
    {DIM_POWER, "MW", "MW"},
    {DIM_POWER, "mW", NULL},
    {DIM_POWER, "mw", NULL},
    {DIM_POWER, "HP", "hp"},
    {DIM_POWER, "h.p.", "hp"},
    {DIM_POWER, "PS", "metric hp"},
    {DIM_POWER, "hp(metric)", "metric hp"},
    {DIM_POWER, "kVA", NULL},
    {DIM_VOLTAGE, "Volts", "V"},
    {DIM_VOLTAGE, "kV", "kV"},
    {DIM_VOLTAGE, "mV", "mV"},
    {DIM_VOLTAGE, "MV", NULL},
    {DIM_CURRENT, "Amps", "A"},
    {DIM_CURRENT, "amperes", "A"},
    {DIM_CURRENT, "mA", "mA"},
    {DIM_CURRENT, "MA", NULL},
    {DIM_FREQUENCY, "HZ", "Hz"},
    {DIM_FREQUENCY, "1/s", "Hz"},
    {DIM_SPEED, "r.p.m.", "rpm"},
    {DIM_SPEED, "RPM", "rpm"},
    {DIM_SPEED, "1/min", "rpm"},
    {DIM_SPEED, "min⁻¹", "rpm"},
    {DIM_SPEED, "revs per minute", "rpm"},
    {DIM_SPEED, "rev/s", "rev/s"},
    {DIM_SPEED, "Hz", NULL},
    {DIM_TEMPERATURE, "deg C", "°C"},
    {DIM_TEMPERATURE, "deg. C", "°C"},
    {DIM_TEMPERATURE, "℃", "°C"},
    {DIM_TEMPERATURE, "º C", "°C"},
    {DIM_TEMPERATURE, "degrees Fahrenheit", "°F"},
    {DIM_TEMPERATURE, "kelvin", "K"},
    {DIM_TEMPERATURE, "deg", NULL},
    {DIM_ANGLE, "deg", "°"},
    {DIM_ANGLE, "°", "°"},
    {DIM_LENGTH, "metres", "m"},
    {DIM_LENGTH, "Mtrs.", "m"},
    {DIM_LENGTH, "MM", "mm"},
    {DIM_LENGTH, "feet", "ft"},
    {DIM_LENGTH, "inches", "in"},
    {DIM_LENGTH, "\xc2\xb5m", "µm"}, /* U+00B5 micro sign */
    {DIM_LENGTH, "\xce\xbcm", "µm"}, /* U+03BC Greek mu */
    {DIM_MASS, "kgs", "kg"},
    {DIM_MASS, "tonnes", "t"},
    {DIM_MASS, "ton", NULL},
    {DIM_MASS, "lbs", "lb"},
    {DIM_TIME, "sec", "s"},
    {DIM_TIME, "mins", "min"},
    {DIM_TIME, "hrs", "h"},
    {DIM_TIME, "m", NULL},
    {DIM_TIME, "ms", "ms"},
    {DIM_RATIO, "%", "%"},
    {DIM_RATIO, "per cent", "%"},
    {DIM_RATIO, "percent", "%"},
    {DIM_RATIO, "-", "1"},
    {DIM_RATIO, "–", "1"},
    {DIM_RATIO, "p.u.", "1"},
    {DIM_RATIO, "fraction", "1"},
    {DIM_RESISTANCE, "ohms", "Ω"},
    {DIM_RESISTANCE, "\xce\xa9", "Ω"},     /* U+03A9 Greek omega */
    {DIM_RESISTANCE, "\xe2\x84\xa6", "Ω"}, /* U+2126 ohm sign */
    {DIM_RESISTANCE, "mΩ", "mΩ"},
    {DIM_RESISTANCE, "MΩ", "MΩ"},
    {DIM_RESISTANCE, "mohm", "mΩ"},
    {DIM_RESISTANCE, "M ohm", "MΩ"},
    {DIM_RESISTANCE, "Megohms", "MΩ"},
    {DIM_RESISTANCE, "kOhm", "kΩ"},
    {DIM_DENSITY, "kg/m³", "kg/m³"},
    {DIM_DENSITY, "kg/litre", "kg/L"},
    {DIM_DENSITY, "g/cc", "g/cm³"},
    {DIM_DENSITY, "lb/cu.ft", "lb/ft³"},
    {DIM_ACCELERATION, "m/s^2", "m/s²"},
    {DIM_ACCELERATION, "m/sec²", "m/s²"},
    {DIM_ACCELERATION, "ft/s2", "ft/s²"},
    {DIM_METER_CONSTANT, "revs/kWh", "rev/kWh"},
    {DIM_METER_CONSTANT, "r/kWh", "rev/kWh"},
    {DIM_METER_CONSTANT, "impulses per kWh", "imp/kWh"},
    {DIM_METER_CONSTANT, "pulses/KWH", "imp/kWh"},
    {DIM_METER_CONSTANT, "Wh/rev", NULL},
    {DIM_NONE, "m", NULL},
    {DIM_LENGTH, "mmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmmm", NULL},
    {DIM_LENGTH, "m\xff", NULL},
    {DIM_LENGTH, "m m", "mm"},
};

START_TEST(unit_spelled)
{
    const struct unit *unit = unit_find(spellings[_i].dimension, spellings[_i].text);
    const char *got = unit == NULL ? NULL : unit->name;
    ck_assert_msg((got == NULL) == (spellings[_i].want == NULL) &&
                      (got == NULL || strcmp(got, spellings[_i].want) == 0),
                  "'%s' is %s", spellings[_i].text, got == NULL ? "refused" : got);
}
END_TEST

/* What is shown can be read back, and no name stands for two units of a dimension. */
START_TEST(unit_names_read_back)
{
    size_t index = 0;
    for (const struct unit *unit; (unit = unit_at(index)) != NULL; index++) {
        ck_assert_msg(unit_find(unit->dimension, unit->name) == unit, "'%s' is another unit", unit->name);
        for (double reading = -1e6; reading <= 1e6; reading += 2.5e5) {
            double back = unit_from_si(unit, unit_to_si(unit, reading));
            /* each way rounds twice; the offset of K or °F costs a few ulp of 300 more */
            near_abs(back, reading, 4 * 2.3e-16 * fabs(reading) + 2e-13);
        }
    }
    ck_assert_uint_gt(index, 80);
    ck_assert_ptr_null(unit_at((size_t)-1));
}
END_TEST

/* Every spelling that a message offers is one that is read. */
START_TEST(unit_examples_are_read)
{
    enum dimension dimension = (enum dimension)_i;
    const char *example = unit_examples(dimension);
    ck_assert_uint_gt(strlen(dimension_name(dimension)), 0);
    for (size_t length; dimension != DIM_NONE && *example != '\0'; example += length + strspn(example + length, ", ")) {
        char text[32];
        length = strcspn(example, ",");
        (void)snprintf(text, sizeof text, "%.*s", (int)length, example);
        ck_assert_msg(unit_find(dimension, text) != NULL, "'%s'", text);
    }
}
END_TEST

Suite *units_suite(void);
Suite *units_suite(void)
{
    Suite *suite = suite_create("units");
    TCase *all = tcase_create("units");
    tcase_add_loop_test(all, unit_published, 0, COUNT(published));
    tcase_add_loop_test(all, unit_temperatures, 0, COUNT(temperatures));
    tcase_add_test(all, unit_differences);
    tcase_add_loop_test(all, unit_spelled, 0, COUNT(spellings));
    tcase_add_test(all, unit_names_read_back);
    tcase_add_loop_test(all, unit_examples_are_read, 0, DIM_COUNT);
    suite_add_tcase(suite, all);
    return suite;
}
