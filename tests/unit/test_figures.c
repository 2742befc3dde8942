#include "papers/figures.h"

#include <check.h>

static struct figure_units metric(void)
{
    return figure_units_of(NULL);
}

/* The looks that figures.h promises; values in SI. */
static const struct look {
    enum figure figure;
    double si;
    const char *text;
} looks[] = {
    {FIGURE_FLOW, 12.344 / 3600.0, "12.34 m³/h"},
    {FIGURE_FLOW, 0.0, "0.00 m³/h"},
    {FIGURE_HEAD, 45.667, "45.67 m"},
    {FIGURE_HEAD, -0.004, "0.00 m"}, /* never a zero with a sign */
    {FIGURE_HEAD, -1.5, "-1.50 m"},
    {FIGURE_POWER, 5512.4, "5.512 kW"},
    {FIGURE_EFFICIENCY, 0.5834, "58.3 %"},
    {FIGURE_CURRENT, 12.344, "12.34 A"},
    {FIGURE_VOLTAGE, 415.16, "415.2 V"},
    {FIGURE_POWER_FACTOR, 0.8532, "0.853"},
    {FIGURE_FREQUENCY, 50.016, "50.02 Hz"},
    {FIGURE_SPEED, 2874.7, "2875 rpm"},
    {FIGURE_TEMPERATURE, 27.44, "27.4 °C"},
    {FIGURE_DENSITY, 996.44, "996.4 kg/m³"},
    {FIGURE_GRAVITY, 9.78424, "9.7842 m/s²"},
    {FIGURE_AIR_PRESSURE, 97440.0, "97.4 kPa"},
    {FIGURE_UNCERTAINTY, 0.00621, "0.62 %"},
    {FIGURE_PROBABILITY, 0.9752, "97.5 %"},
    {FIGURE_RATED_POWER, 5500.0, "5.50 kW"},
};
enum { LOOKS = sizeof looks / sizeof looks[0] };

START_TEST(looks_as_promised)
{
    struct figure_units units = metric();
    char text[FIGURE_TEXT];
    ck_assert_str_eq(figure_text(looks[_i].figure, &units, quantity_of(looks[_i].si), text), looks[_i].text);
}
END_TEST

START_TEST(what_is_absent_is_a_dash)
{
    struct figure_units units = metric();
    char text[FIGURE_TEXT];
    ck_assert_str_eq(figure_text(FIGURE_HEAD, &units, quantity_absent(), text), "-");
    ck_assert_str_eq(figure_number(FIGURE_HEAD, &units, quantity_absent(), text), "-");
    ck_assert_str_eq(figure_index(quantity_absent(), text), "-");
    ck_assert_str_eq(figure_date(&(struct date){0}, text), "-");
}
END_TEST

START_TEST(the_models_units_are_spoken)
{
    struct duty duty = {.flow_unit = "L/s", .head_unit = "ft", .power_unit = "hp"};
    struct model model = {.duty_count = 1, .duties = &duty};
    struct figure_units units = figure_units_of(&model);
    char text[FIGURE_TEXT];
    ck_assert_str_eq(figure_text(FIGURE_FLOW, &units, quantity_of(0.0034284), text), "3.428 L/s");
    /* 1 ft is 0.3048 m exactly (NIST SP 811, appendix B.8): 30.48 m are 100 ft. */
    ck_assert_str_eq(figure_text(FIGURE_HEAD, &units, quantity_of(30.48), text), "100.0 ft");
    ck_assert_int_eq((int)figure_shown(FIGURE_FLOW, &units, 0.005), 5);
}
END_TEST

/* An index is cut, not rounded: 69.96/50.0 = 1.3992 has not reached 1.40. */
START_TEST(an_index_is_cut)
{
    char text[FIGURE_TEXT];
    ck_assert_str_eq(figure_index(quantity_of(69.96 / 50.0), text), "1.39");
    ck_assert_str_eq(figure_index(quantity_of(1.2), text), "1.20");
    ck_assert_str_eq(figure_index(quantity_of(0.29), text), "0.29");
}
END_TEST

START_TEST(dates_are_iso_8601)
{
    struct date date = {.known = true, .year = 2024, .month = 3, .day = 1};
    char text[FIGURE_TEXT];
    ck_assert_str_eq(figure_date(&date, text), "2024-03-01");
    date.has_time = true;
    date.seconds = 14.0 * 3600.0 + 5.0 * 60.0 + 59.0;
    ck_assert_str_eq(figure_date(&date, text), "2024-03-01 14:05");
}
END_TEST

/* A value that misses its limit by a hair must not read as being on it. */
START_TEST(a_check_has_the_decimals_that_tell)
{
    struct figure_units units = metric();
    struct check_figures figures;
    struct check check = {
        .dimension = DIM_LENGTH,
        .value = quantity_of(57.9996),
        .limit_low = quantity_of(58.0),
        .limit_high = quantity_of(64.0),
        .margin = quantity_of(-0.0004),
    };
    check_figures_of(&check, &units, &figures);
    ck_assert_str_eq(figures.value, "57.9996");
    ck_assert_str_eq(figures.limits, "58.0000 to 64.0000");
    ck_assert_str_eq(figures.margin, "-0.0004");
    ck_assert_str_eq(figures.guaranteed, "-");
    check.value = quantity_of(60.0);
    check.margin = quantity_of(2.0);
    check_figures_of(&check, &units, &figures);
    ck_assert_str_eq(figures.value, "60.00");
    ck_assert_str_eq(figures.margin, "+2.00");
    check.value = check.limit_low; /* on the limit: nothing to tell apart */
    check_figures_of(&check, &units, &figures);
    ck_assert_str_eq(figures.value, "58.00");
}
END_TEST

START_TEST(one_sided_limits_say_which_side)
{
    struct figure_units units = metric();
    struct check_figures figures;
    struct check check = {.dimension = DIM_RATIO, .value = quantity_of(0.6), .limit_low = quantity_of(0.582)};
    check_figures_of(&check, &units, &figures);
    ck_assert_str_eq(figures.limits, "≥ 58.2");
    ck_assert_str_eq(figures.unit, "%");
    check = (struct check){.dimension = DIM_POWER, .value = quantity_of(5000.0), .limit_high = quantity_of(5610.0)};
    check_figures_of(&check, &units, &figures);
    ck_assert_str_eq(figures.limits, "≤ 5.610");
}
END_TEST

/* A margin that is not 0 never reads as 0, and nothing reads as less than nothing. */
START_TEST(margins_show_their_sign)
{
    char text[FIGURE_TEXT];
    struct figure_units units = figure_units_of(NULL);
    ck_assert_str_eq(figure_margin(FIGURE_EFFICIENCY, &units, quantity_of(-0.0003), text), "-0.03");
    ck_assert_str_eq(figure_margin(FIGURE_EFFICIENCY, &units, quantity_of(0.0123), text), "+1.2");
    ck_assert_str_eq(figure_margin(FIGURE_EFFICIENCY, &units, quantity_of(0.0), text), "0.0");
    ck_assert_str_eq(figure_margin(FIGURE_HEAD, &units, quantity_absent(), text), "-");
    ck_assert_str_eq(figure_signed(-0.001, 2, text), "0.00");
    ck_assert_str_eq(figure_signed(-0.4, 0, text), "0");
    ck_assert_str_eq(figure_signed(1.005, 1, text), "+1.0");
}
END_TEST

/* Four thousand draws tell a probability to a percent or so: the tenth would be chance. */
START_TEST(a_drawn_probability_is_whole)
{
    char text[FIGURE_TEXT];
    ck_assert_str_eq(figure_conformance(quantity_of(0.6632), true, text), "66 %");
    ck_assert_str_eq(figure_conformance(quantity_of(0.6632), false, text), "66.3 %");
    ck_assert_str_eq(figure_conformance(quantity_absent(), true, text), "-");
}
END_TEST

Suite *figures_suite(void);

Suite *figures_suite(void)
{
    Suite *suite = suite_create("figures");
    TCase *tcase = tcase_create("figures");
    tcase_add_loop_test(tcase, looks_as_promised, 0, LOOKS);
    tcase_add_test(tcase, what_is_absent_is_a_dash);
    tcase_add_test(tcase, the_models_units_are_spoken);
    tcase_add_test(tcase, an_index_is_cut);
    tcase_add_test(tcase, dates_are_iso_8601);
    tcase_add_test(tcase, a_check_has_the_decimals_that_tell);
    tcase_add_test(tcase, one_sided_limits_say_which_side);
    tcase_add_test(tcase, margins_show_their_sign);
    tcase_add_test(tcase, a_drawn_probability_is_whole);
    suite_add_tcase(suite, tcase);
    return suite;
}
