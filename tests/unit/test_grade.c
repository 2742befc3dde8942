/* grade.c and reference/: the built-in grades figure by figure, names and aliases, and the bay's own grades on top
 *
 * Source of the figures of ISO 9906:2012 table 8: grades 2B and 3B flow and head by public tables that name the grades,
 * the rest from memory. Class B and C ellipses, spreads and fluctuations from memory. Table 5 (systematic uncertainty)
 * as read.
 */
#include "near.h"
#include "tables/grade.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static struct arena arena;
static struct faults faults;
static struct grade_book book;

static void setup(void)
{
    arena = (struct arena){0};
    faults = (struct faults){0};
    ck_assert_int_eq(grade_book_read(NULL, &arena, &book, &faults), OK);
}

static void teardown(void)
{
    arena_release(&arena);
}

enum { BLANK = -1 };

/* Percent as the table prints it; BLANK: not stated. */
static void check_percent(const char *what, struct quantity got, double percent)
{
    if (percent == BLANK) {
        ck_assert_msg(!got.known, "%s is stated, want a blank", what);
        return;
    }
    ck_assert_msg(got.known, "%s is blank, want %g %%", what, percent);
    near_abs(got.value, percent / 100, 1e-15); /* the last bit of one division */
}

static const struct {
    const char *name;
    enum grade_geometry geometry;
    double flow_plus, flow_minus, head_plus, head_minus, power_plus, set, pump;
    enum efficiency_rule rule;
    const char *class_name;
} grades[] = {
    {"1B", GEOMETRY_BILATERAL, 5, 5, 3, 3, 4, 3, 3, EFFICIENCY_FIXED, "1"},
    {"1E", GEOMETRY_BILATERAL, 5, 5, 3, 3, 4, 0, 0, EFFICIENCY_FIXED, "1"},
    {"1U", GEOMETRY_UNILATERAL, 10, 0, 6, 0, 10, 0, 0, EFFICIENCY_FIXED, "1"},
    {"2B", GEOMETRY_BILATERAL, 8, 8, 5, 5, 8, 5, 5, EFFICIENCY_FIXED, "2"},
    {"2U", GEOMETRY_UNILATERAL, 16, 0, 10, 0, 16, 5, 5, EFFICIENCY_FIXED, "2"},
    {"3B", GEOMETRY_BILATERAL, 9, 9, 7, 7, 9, 7, 7, EFFICIENCY_FIXED, "3"},
    {"small pump", GEOMETRY_BILATERAL, 10, 10, 8, 8, BLANK, BLANK, BLANK, EFFICIENCY_SMALL_PUMP, "2"},
    {"class B", GEOMETRY_ELLIPSE, BLANK, 4, BLANK, 2, BLANK, 2.5, 2.8, EFFICIENCY_FIXED, "B"},
    {"class C", GEOMETRY_ELLIPSE, BLANK, 7, BLANK, 4, BLANK, 4.5, 5, EFFICIENCY_FIXED, "C"},
    {"IS 8034", GEOMETRY_MINIMUM, BLANK, BLANK, BLANK, BLANK, BLANK, BLANK, BLANK, EFFICIENCY_FIXED, "C"},
};

START_TEST(builtin_grade)
{
    const struct grade *grade = grade_find(&book, grades[_i].name);
    ck_assert_ptr_nonnull(grade);
    ck_assert_int_eq(grade->geometry, grades[_i].geometry);
    check_percent("flow plus", grade->flow_plus, grades[_i].flow_plus);
    check_percent("flow minus", grade->flow_minus, grades[_i].flow_minus);
    check_percent("head plus", grade->head_plus, grades[_i].head_plus);
    check_percent("head minus", grade->head_minus, grades[_i].head_minus);
    check_percent("power plus", grade->power_plus, grades[_i].power_plus);
    check_percent("current plus", grade->current_plus, BLANK);
    check_percent("set efficiency", grade->efficiency_minus_set, grades[_i].set);
    check_percent("pump efficiency", grade->efficiency_minus_pump, grades[_i].pump);
    ck_assert_int_eq(grade->efficiency_rule, grades[_i].rule);
    ck_assert_int_eq(grade->efficiency_at, READ_DUTY_LINE);
    ck_assert_int_eq(grade->power_at, READ_DUTY_LINE);
    bool indian_profile = strcmp(grades[_i].name, "IS 8034") == 0;
    ck_assert_int_eq(grade->rounding, indian_profile ? ROUND_IS2 : ROUND_NONE);
    ck_assert_str_eq(grade->class_name, grades[_i].class_name);
    ck_assert(!grade->from_bay);
    /* A figure from memory says so on the papers; the profile has no figure to confirm. */
    static const char mark[] = "(from memory, confirm)";
    size_t length = strlen(grade->source);
    bool marked = length >= sizeof mark - 1 && strcmp(grade->source + length - (sizeof mark - 1), mark) == 0;
    ck_assert_int_eq(marked, !indian_profile);
}
END_TEST

START_TEST(no_other_builtin_grades)
{
    ck_assert_uint_eq(book.grade_count, sizeof grades / sizeof *grades);
    ck_assert_uint_eq(book.class_count, 5);
}
END_TEST

static const struct {
    const char *asked, *found; /* NULL: none */
} names[] = {
    {"2b", "2B"},
    {" 2B ", "2B"},
    {"grade 2B", "2B"},
    {"Grade_2B", "2B"},
    {"ISO 9906 2B", "2B"},
    {"ISO 9906 grade 2B", "2B"},
    {"ISO 9906:2012 grade 2B", "2B"},
    {"iso 9906:2012 - 2B", "2B"},
    {"up to 10 kW", "small pump"},
    {"10 kW", "small pump"},
    {"small-pump", "small pump"},
    {"class c", "class C"},
    {"IS 9137", "class C"},
    {"ISO 2548 class C", "class C"},
    {"IS 10981", "class B"},
    {"IS 8034:2018", "IS 8034"},
    {"", NULL},
    {"grade", NULL},
    {"ISO 9906", NULL}, /* a standard is not a grade: none is taken by default */
    {"2", NULL},
    {"B", NULL},
    {"grades 2B", NULL},
    {"iso 99062B", NULL},
};

START_TEST(finds_by_name)
{
    const struct grade *grade = grade_find(&book, names[_i].asked);
    if (names[_i].found == NULL) {
        ck_assert_ptr_null(grade);
    } else {
        ck_assert_ptr_nonnull(grade);
        ck_assert_str_eq(grade->name, names[_i].found);
    }
}
END_TEST

/* Percent: fluctuation, systematic and overall of flow, head, power, speed, then overall efficiency of set and pump. */
static const struct {
    const char *grade;
    double fluctuation[4], systematic[4], overall[6];
} classes[] = {
    {"1B", {2, 3, 2, 0.5}, {1.5, 1, 1, 0.35}, {2, 1.5, 1.5, 0.5, 2.9, 3.2}},
    {"2B", {3, 4, 3, 1}, {2.5, 2.5, 2, 1.4}, {3.5, 3.5, 3.5, 2, 6.1, 6.4}},
    {"3B", {6, 10, 6, 2}, {2.5, 2.5, 2, 1.4}, {3.5, 3.5, 3.5, 2, 6.1, 6.4}},
    {"class B", {3, 3, 3, 1}, {BLANK, BLANK, BLANK, BLANK}, {2, 1.5, 1.5, 0.5, 2.5, 2.8}},
    {"class C", {6, 6, 6, 2}, {BLANK, BLANK, BLANK, BLANK}, {3.5, 3.5, 3.5, 2, 4.5, 5}},
};

START_TEST(class_figures)
{
    const struct grade_class *class = grade_class_of(&book, grade_find(&book, classes[_i].grade));
    ck_assert_ptr_nonnull(class);
    const struct quantity fluctuation[] = {class->fluctuation_flow, class->fluctuation_head, class->fluctuation_power,
                                           class->fluctuation_speed};
    const struct quantity systematic[] = {class->systematic_flow, class->systematic_head, class->systematic_power,
                                          class->systematic_speed};
    const struct quantity overall[] = {class->overall_flow,           class->overall_head,
                                       class->overall_power,          class->overall_speed,
                                       class->overall_efficiency_set, class->overall_efficiency_pump};
    for (size_t i = 0; i < 4; i++) {
        check_percent("fluctuation", fluctuation[i], classes[_i].fluctuation[i]);
        check_percent("systematic", systematic[i], classes[_i].systematic[i]);
    }
    for (size_t i = 0; i < 6; i++) {
        check_percent("overall", overall[i], classes[_i].overall[i]);
    }
    ck_assert_ptr_nonnull(strstr(class->fluctuation_source, "(from memory, confirm)"));
    ck_assert_ptr_nonnull(strstr(class->overall_source, "(from memory, confirm)"));
    ck_assert_ptr_null(strstr(class->systematic_source, "from memory"));
}
END_TEST

/* The overall figures of efficiency close on their parts: e^2 = e_Q^2 + e_H^2 + e_P^2, with 1.0 of 1B's and 2B's shaft
 * power found through the motor (2.0 and 4.0 %). 0.05 %: the table prints one decimal place. */
START_TEST(overall_figures_close)
{
    static const struct {
        const char *grade;
        double shaft_power;
    } rows[] = {{"1B", 0.02}, {"2B", 0.04}};
    const struct grade_class *class = grade_class_of(&book, grade_find(&book, rows[_i].grade));
    double flow = class->overall_flow.value, head = class->overall_head.value, power = class->overall_power.value;
    near_abs(class->overall_efficiency_set.value, sqrt(flow * flow + head * head + power * power), 0.0005);
    near_abs(class->overall_efficiency_pump.value,
             sqrt(flow * flow + head * head + rows[_i].shaft_power * rows[_i].shaft_power), 0.0005);
}
END_TEST

static const struct {
    const char *grade;
    size_t readings;
    double spread, speed; /* percent */
} spreads[] = {
    {"1B", 2, 0.8, 0.25},     {"1B", 3, 0.8, 0.25},     {"1B", 4, 1.6, 0.5},      {"1B", 5, 1.6, 0.5},
    {"1B", 7, 2.2, 0.7},      {"1B", 9, 2.8, 0.8},      {"1B", 13, 2.9, 0.9},     {"1B", 20, 3, 1},
    {"1B", 400, 3, 1},        {"2B", 3, 1.8, 1},        {"2B", 5, 3.5, 2},        {"2B", 7, 4.5, 2.7},
    {"2B", 9, 5.8, 3.3},      {"3B", 13, 5.9, 3.3},     {"3B", 21, 6, 3.3},       {"class B", 3, 0.8, 0.25},
    {"class B", 9, 2.8, 0.8}, {"class C", 5, 3.5, 2},   {"class C", 9, 5.8, 3.3}, {"2B", 13, 5.9, 3.3},
    {"2B", 20, 6, 3.3},       {"3B", 3, 1.8, 1},        {"3B", 5, 3.5, 2},        {"3B", 7, 4.5, 2.7},
    {"3B", 9, 5.8, 3.3},      {"3B", 20, 6, 3.3},       {"class B", 5, 1.6, 0.5}, {"class B", 7, 2.2, 0.7},
    {"class C", 3, 1.8, 1},   {"class C", 7, 4.5, 2.7},
};

START_TEST(spread_figures)
{
    const struct grade *grade = grade_find(&book, spreads[_i].grade);
    const struct grade_spread *spread = grade_spread_of(&book, grade, spreads[_i].readings);
    ck_assert_ptr_nonnull(spread);
    near_abs(spread->spread_qhp, spreads[_i].spread / 100, 1e-15);
    near_abs(spread->spread_speed, spreads[_i].speed / 100, 1e-15);
    ck_assert_ptr_nonnull(strstr(spread->source, "(from memory, confirm)"));
}
END_TEST

START_TEST(one_reading_has_no_spread)
{
    ck_assert_ptr_null(grade_spread_of(&book, grade_find(&book, "1B"), 1));
}
END_TEST

/* --- the bay's own grades --- */

START_TEST(bay_grades_replace_and_add)
{
    ck_assert_int_eq(grade_book_read("tests/bays/full/grades.csv", &arena, &book, &faults), OK);
    ck_assert_uint_eq(book.grade_count, sizeof grades / sizeof *grades + 1);
    const struct grade *filled = grade_find(&book, "IS 8034");
    ck_assert(filled->from_bay);
    check_percent("flow minus", filled->flow_minus, 8);
    ck_assert_int_eq(filled->efficiency_at, READ_GUARANTEED_FLOW);
    ck_assert_int_eq(filled->power_at, READ_DUTY_LINE);
    ck_assert_int_eq(filled->rounding, ROUND_IS2);
    ck_assert_str_eq(filled->source, "our copy of IS 8034");
    /* a name goes before another row's alias */
    ck_assert(grade_find(&book, "10 kW")->from_bay);
    ck_assert_str_eq(grade_find(&book, "small pump")->name, "small pump");
}
END_TEST

/* Names are compared up to 127 bytes; a longer one is nobody's, and a blank between two ';' is no name. */
START_TEST(bay_grade_with_odd_aliases)
{
    enum { LONGEST = 127 };
    char longest[LONGEST + 1], too_long[LONGEST + 2], path[256];
    const char *parent = getenv("TMPDIR");
    (void)snprintf(path, sizeof path, "%s/grades-XXXXXX", parent != NULL ? parent : "/tmp");
    memset(longest, 'b', sizeof longest);
    longest[LONGEST] = '\0';
    memset(too_long, 'c', sizeof too_long);
    too_long[LONGEST + 1] = '\0';
    int fd = mkstemp(path);
    ck_assert_int_ge(fd, 0);
    FILE *file = fdopen(fd, "w");
    ck_assert_ptr_nonnull(file);
    ck_assert_int_gt(
        fprintf(file, "grade,aliases,geometry,source\nours,;%s;;%s;own rule,minimum,ours\n", too_long, longest), 0);
    ck_assert_int_eq(fclose(file), 0);
    enum status status = grade_book_read(path, &arena, &book, &faults);
    unlink(path);
    ck_assert_msg(status == OK, "%s", faults.text[0]);
    const struct grade *ours = grade_find(&book, "ours");
    ck_assert_ptr_nonnull(ours);
    ck_assert_ptr_eq(grade_find(&book, "Own-Rule"), ours);
    ck_assert_ptr_eq(grade_find(&book, longest), ours);
    ck_assert_ptr_null(grade_find(&book, too_long));
    ck_assert_ptr_null(grade_find(&book, ""));
}
END_TEST

Suite *grade_suite(void);
Suite *grade_suite(void)
{
    Suite *suite = suite_create("grade");
    TCase *core = tcase_create("core");
    tcase_add_checked_fixture(core, setup, teardown);
    tcase_add_loop_test(core, builtin_grade, 0, sizeof grades / sizeof *grades);
    tcase_add_test(core, no_other_builtin_grades);
    tcase_add_loop_test(core, finds_by_name, 0, sizeof names / sizeof *names);
    tcase_add_loop_test(core, class_figures, 0, sizeof classes / sizeof *classes);
    tcase_add_loop_test(core, overall_figures_close, 0, 2);
    tcase_add_loop_test(core, spread_figures, 0, sizeof spreads / sizeof *spreads);
    tcase_add_test(core, one_reading_has_no_spread);
    tcase_add_test(core, bay_grades_replace_and_add);
    tcase_add_test(core, bay_grade_with_odd_aliases);
    suite_add_tcase(suite, core);
    return suite;
}
