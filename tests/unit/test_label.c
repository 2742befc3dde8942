/* label*.c and reference/label_*.csv: the published formulas, classes on both sides of every edge, and the statistics
 * of a line
 *
 * Sources beside each check. The vectors of the two regulations were computed by hand from their formulas, apart from
 * the first EU one, whose result 0.4874 is published.
 */
#include "label/label_batch.h"
#include "label/label_eu.h"
#include "label/label_us.h"
#include "made_result.h"
#include "near.h"
#include "papers/label_words.h"
#include "run/result.h"
#include "tables/builtin.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static struct arena arena;
static struct faults faults;
static struct label_book book;

static void setup(void)
{
    arena = (struct arena){0};
    faults = (struct faults){0};
    ck_assert_int_eq(label_book_read(NULL, &arena, &book, &faults), OK);
}

static void teardown(void)
{
    arena_release(&arena);
}

static struct date day(int year, int month, int d)
{
    return (struct date){.known = true, .year = year, .month = month, .day = d};
}

/* --- classes: every edge from both sides --- */

static const struct {
    const char *scheme;
    int year;
    double index;
    const char *class_name;
} edges[] = {
    /* first revision: 1.00 to 1.20 by 0.05 (from memory), second: 1.00 to 1.40 by 0.10 (secondary source) */
    {"schedule 7", 2015, 0.999999, NULL},
    {"schedule 7", 2015, 1.00, "1 star"},
    {"schedule 7", 2015, 1.049999, "1 star"},
    {"schedule 7", 2015, 1.05, "2 star"},
    {"schedule 7", 2015, 1.099999, "2 star"},
    {"schedule 7", 2015, 1.10, "3 star"},
    {"schedule 7", 2015, 1.149999, "3 star"},
    {"schedule 7", 2015, 1.15, "4 star"},
    {"schedule 7", 2015, 1.199999, "4 star"},
    {"schedule 7", 2015, 1.20, "5 star"},
    {"schedule 7", 2015, 9.0, "5 star"},
    {"schedule 7", 2021, 0.999999, NULL},
    {"schedule 7", 2021, 1.00, "1 star"},
    {"schedule 7", 2021, 1.099999, "1 star"},
    {"schedule 7", 2021, 1.10, "2 star"},
    {"schedule 7", 2021, 1.199999, "2 star"},
    {"schedule 7", 2021, 1.20, "3 star"},
    {"schedule 7", 2021, 1.299999, "3 star"},
    {"schedule 7", 2021, 1.30, "4 star"},
    {"schedule 7", 2021, 1.3992, "4 star"}, /* 69.96/50.0: rounding 69.96 to 70.0 first would make it 5 star */
    {"schedule 7", 2021, 1.399999, "4 star"},
    {"schedule 7", 2021, 1.40, "5 star"},
    {"EU 547/2012", 2020, 0.399999, NULL},
    {"EU 547/2012", 2020, 0.40, "0.40 met"},
    {"EU 547/2012", 2020, 0.699999, "0.40 met"},
    {"EU 547/2012", 2020, 0.70, "benchmark 0.70"},
    {"EU 547/2012", 2014, 0.099999, NULL},
    {"EU 547/2012", 2014, 0.10, "0.10 met"},
    {"US PEI", 2024, 1.000001, NULL},
    {"US PEI", 2024, 1.00, "1.00 met"},
    {"US PEI", 2024, 0.30, "1.00 met"},
    {"US PEI", 2024, NAN, NULL},
    {"schedule 7", 2021, NAN, NULL},
};

START_TEST(edge)
{
    struct date tested = day(edges[_i].year, 6, 1);
    struct label_ladder ladder = label_ladder_of(&book, edges[_i].scheme, &tested);
    size_t held = label_rungs_held(&ladder, edges[_i].index);
    const char *got = held == 0 ? "none" : ladder.classes[held - 1].name;
    ck_assert_str_eq(got, edges[_i].class_name == NULL ? "none" : edges[_i].class_name);
}
END_TEST

START_TEST(revision_follows_the_date)
{
    struct date before = day(2008, 10, 31), first = day(2008, 11, 1), last = day(2020, 1, 31), second = day(2020, 2, 1),
                end = day(2022, 12, 31), after = day(2023, 1, 1), unknown = {0};
    ck_assert_uint_eq(label_ladder_of(&book, "schedule 7", &before).count, 0);
    ck_assert_str_eq(label_ladder_of(&book, "schedule 7", &first).classes->revision, "first");
    ck_assert_str_eq(label_ladder_of(&book, "schedule 7", &last).classes->revision, "first");
    ck_assert_str_eq(label_ladder_of(&book, "schedule 7", &second).classes->revision, "second");
    ck_assert(!label_ladder_of(&book, "schedule 7", &end).ended);
    ck_assert_str_eq(label_ladder_of(&book, "schedule 7", &after).classes->revision, "second");
    ck_assert(label_ladder_of(&book, "schedule 7", &after).ended);
    ck_assert_str_eq(label_ladder_of(&book, "schedule 7", &unknown).classes->revision, "second");
}
END_TEST

/* --- the tables' own consistency --- */

START_TEST(ladders_are_contiguous)
{
    ck_assert_uint_eq(book.class_count, 14);
    for (size_t i = 0; i + 1 < book.class_count; i++) {
        const struct label_class *class = &book.classes[i], *next = class + 1;
        if (strcmp(class->scheme, next->scheme) != 0 || strcmp(class->revision, next->revision) != 0) {
            ck_assert_msg(!class->below.known, "%s: the best class is open above", class->name);
            continue;
        }
        ck_assert_msg(class->below.value == next->at_least.value, "%s to %s leaves a gap", class->name, next->name);
        ck_assert_msg(class->at_least.value < next->at_least.value, "%s to %s does not rise", class->name, next->name);
    }
}
END_TEST

START_TEST(constants_fall_as_the_index_rises)
{
    size_t pairs = 0;
    for (size_t i = 0; i < book.constant_count; i++) {
        for (size_t k = 0; k < book.constant_count; k++) {
            const struct label_constant *a = &book.constants[i], *b = &book.constants[k];
            if (strcmp(a->type, b->type) == 0 && strcmp(a->scheme, b->scheme) == 0 && a->speed_rpm == b->speed_rpm &&
                a->index.known && a->index.value < b->index.value) {
                ck_assert_msg(a->c > b->c, "%s at %g rpm", a->type, a->speed_rpm);
                pairs++;
            }
        }
        ck_assert(book.constants[i].speed_low_rpm < book.constants[i].speed_rpm);
        ck_assert(book.constants[i].speed_rpm < book.constants[i].speed_high_rpm);
    }
    ck_assert_uint_eq(pairs, 8); /* eight types and speeds of the EU table */
    ck_assert_uint_eq(book.constant_count, 26);
}
END_TEST

START_TEST(from_memory_is_said)
{
    for (size_t i = 0; i < builtin_table_count; i++) {
        const char *at = strncmp(builtin_tables[i].name, "label_", 6) == 0 ? builtin_tables[i].text : "";
        while ((at = strstr(at, ",from memory,")) != NULL) {
            size_t line = strcspn(at, "\n");
            const char *said = strstr(at, "(from memory, confirm)");
            ck_assert_msg(said != NULL && said < at + line, "%s: %.80s", builtin_tables[i].name, at);
            at += line;
        }
    }
}
END_TEST

/* --- the EU index --- */

static const struct {
    double speed_rpm, stages, flow_m3h, head_m, specific_speed, c, bep, part_load, overload;
} eu_vectors[] = {
    {1450, 1, 7.260, 0, 14.876, 128.07, 0.4874, 0, 0}, /* published: 0.4874 (secondary source); Q and ns as printed */
    {2900, 9, 18.0, 63.0, 47.64962, 134.31, 0.641591, 0.607587, 0.631967},
    {2900, 9, 18.0, 63.0, 47.64962, 128.79, 0.696791, 0.659861, 0.686339},
};

START_TEST(eu_surface)
{
    double flow_m3s = eu_vectors[_i].flow_m3h / 3600.0, ns = eu_vectors[_i].specific_speed;
    if (eu_vectors[_i].head_m > 0) {
        ns = eu_specific_speed(eu_vectors[_i].speed_rpm, eu_vectors[_i].stages, flow_m3s, eu_vectors[_i].head_m);
        near_abs(ns, eu_vectors[_i].specific_speed, 5e-6); /* as printed */
    }
    double bep = eu_required_efficiency(ns, flow_m3s, eu_vectors[_i].c);
    near_abs(bep, eu_vectors[_i].bep, eu_vectors[_i].head_m > 0 ? 5e-7 : 5e-5); /* as printed */
    near_abs(eu_constant_met(ns, flow_m3s, bep), eu_vectors[_i].c, 1e-9);       /* the inverse, to rounding */
    if (eu_vectors[_i].part_load > 0) {
        near_abs(bep * label_load_share[0], eu_vectors[_i].part_load, 5e-7);
        near_abs(bep * label_load_share[2], eu_vectors[_i].overload, 5e-7);
    }
}
END_TEST

START_TEST(eu_index_is_linear_between_constants)
{
    const struct label_constant low = {.index = quantity_of(0.1), .c = 134.31},
                                high = {.index = quantity_of(0.4), .c = 128.79},
                                top = {.index = quantity_of(0.7), .c = 124.0}; /* the third is made up */
    const struct label_constant *const two[] = {&low, &high}, *const three[] = {&low, &high, &top};
    bool beyond;
    near_abs(eu_index(two, 2, 134.31, &beyond), 0.1, 1e-12);
    ck_assert(!beyond);
    near_abs(eu_index(two, 2, 131.55, &beyond), 0.25, 1e-12); /* the middle */
    near_abs(eu_index(two, 2, 128.79, &beyond), 0.4, 1e-12);
    ck_assert(!beyond);
    near_abs(eu_index(two, 2, 123.27, &beyond), 0.7, 1e-12); /* as far again: the line goes on */
    ck_assert(beyond);
    near_abs(eu_index(three, 3, 126.395, &beyond), 0.55, 1e-12); /* the middle of the second pair */
    ck_assert(!beyond);
    near_abs(eu_constant_of(three, 3, 0.55), 126.395, 1e-9);
    near_abs(eu_constant_of(two, 2, 0.25), 131.55, 1e-9);
}
END_TEST

/* --- the US index --- */

static const double m3s_per_gpm = 231.0 * 16.387064e-6 / 60.0, m_per_ft = 0.3048, w_per_hp = 745.69987158227022;

static struct label_loads us_loads(void)
{
    static const double gpm[] = {75, 100, 110}, ft[] = {205, 180, 166}, hp[] = {5.60, 6.30, 6.55};
    struct label_loads loads = {0};
    for (int i = 0; i < LABEL_LOADS; i++) {
        loads.flow_m3s[i] = gpm[i] * m3s_per_gpm;
        loads.head_m[i] = ft[i] * m_per_ft;
        loads.shaft_power_w[i] = hp[i] * w_per_hp;
    }
    return loads;
}

START_TEST(us_vector)
{
    struct label_loads loads = us_loads();
    struct us_motor motor = {.rated_power_w = 7.5 * w_per_hp, .efficiency = 0.68};
    double standard = us_standard_efficiency(3600, 9, loads.flow_m3s[1], loads.head_m[1], 134.85);
    near_abs(standard, 0.61113336, 5e-9); /* as printed in the vector */
    near_abs(us_rating_w(&motor, &loads) / w_per_hp, 9.234288, 5e-7);
    near_abs(us_standard_rating_w(&motor, &loads, standard) / w_per_hp, 10.712928, 5e-7);
    near_abs(us_rating_w(&motor, &loads) / us_standard_rating_w(&motor, &loads, standard), 0.861976, 5e-7);
}
END_TEST

START_TEST(us_motor_loss)
{
    struct us_motor motor = {.rated_power_w = 1000, .efficiency = 0.8};
    near_abs(us_motor_loss_w(&motor, 1000), 250, 1e-9);             /* the coefficients add up to 1 at full load */
    near_abs(us_motor_loss_w(&motor, 1500), 250, 1e-9);             /* and the loss stays there above it */
    near_abs(us_motor_loss_w(&motor, 0), 160.25, 1e-9);             /* 0.6410 of it at no load */
    near_abs(us_motor_loss_w(&motor, 500), 250 * 0.67957500, 1e-9); /* -0.05635 + 0.309975 - 0.21505 + 0.641 */
}
END_TEST

/* --- from a result to its label --- */

static struct made_result made;
static struct label_result label;

static void make_labelled(const char *scheme, double efficiency)
{
    make_result(&made);
    made.bay.labels = book;
    made.model.label_scheme = scheme;
    made.model.label_minimum_source = "a table";
    made.model.label_minimum_efficiency = quantity_of(0.50);
    made.model.phases = quantity_of(3);
    made.model.poles = quantity_of(2);
    made.model.rated_power_w = quantity_of(5500);
    made.model.stages = quantity_of(9);
    made.model.nominal_bore_m = quantity_of(0.1);
    made.model.rated_speed_rpm = quantity_of(2850);
    made.result.tested = day(2021, 6, 1);
    made.duty_result.at_guaranteed_flow.set_efficiency = quantity_of(efficiency);
    made.duty_result.at_guaranteed_flow.input_power_w = quantity_of(4000);
}

static void find(const struct label_change *change)
{
    struct label_test test = result_label_test(&made.result);
    ck_assert_int_eq(label_find(&test, change, &arena, &label), OK);
}

START_TEST(star_margins)
{
    char text[FIGURE_TEXT];
    make_labelled("Schedule-7", 0.6996);
    find(&(struct label_change){0});
    ck_assert_msg(label.known, "%s", label.why);
    near_abs(label.index.value, 1.3992, 1e-12);
    ck_assert_str_eq(label.class_name, "4 star");
    ck_assert_str_eq(label_index_text(&label, text), "1.39 (1.39920)");
    near_abs(label.threshold.value, 0.65, 1e-12);
    near_abs(label.to_next.value, 0.0004, 1e-12);
    near_abs(label.here.power_w.value, 4000 * (0.6996 / 0.65 - 1), 1e-9); /* the same water power at 65 % */
    near_abs(label.next.power_w.value, 4000 * (0.6996 / 0.70 - 1), 1e-9);
    near_abs(label_energy_kwh(label.next.power_w.value, 1500), -3.428571428, 1e-8); /* 2.2857 W for 1500 h */
    ck_assert(!label.index_low.known); /* the uncertainty is not known: nothing is said of it */
    ck_assert(!label.undecided);
}
END_TEST

/* Never rounded up over an edge, and never 0.00 points short. */
START_TEST(texts_do_not_reach_an_edge_that_is_not)
{
    char text[LABEL_TEXT];
    struct label_result near = {.known = true, .index = quantity_of(1.29999999), .index_printed = quantity_of(1.29)};
    ck_assert_str_eq(label_index_text(&near, text), "1.29 (1.29999)");
    near.index = quantity_of(1.30);
    near.index_printed = quantity_of(1.30);
    ck_assert_str_eq(label_index_text(&near, text), "1.30 (1.30000)");
    near.less_is_better = true;
    near.index = quantity_of(1.000001);
    ck_assert_str_eq(label_index_text(&near, text), "1.30 (1.00001)");
    struct label_margin margin = {
        .class_name = "3 star", .efficiency = quantity_of(0.53722), .margin = quantity_of(-0.000012)};
    ck_assert_str_eq(label_margin_text(&margin, quantity_absent(), text), "3 star needs 53.722 %: 0.001 points short");
    ck_assert_str_eq(points_text(quantity_of(-1e-9), text), "0.00");
}
END_TEST

START_TEST(what_if)
{
    make_labelled("schedule 7", 0.6996);
    find(&(struct label_change){.efficiency = 0.0004});
    near_abs(label.index.value, 1.40, 1e-12);
    ck_assert_str_eq(label.class_name, "5 star");
    near_abs(label.here.power_w.value, 0.0, 1e-9);
    find(&(struct label_change){.head_m = 42.1 * 0.01}); /* 1 % more head at the same power */
    near_abs(label.index.value, 1.3992 * 1.01, 1e-12);
    find(&(struct label_change){.efficiency = -0.70}); /* nothing is left */
    ck_assert(!label.known);
    ck_assert_ptr_nonnull(strstr(label.why, "no possible set"));
}
END_TEST

/* 0.69 % of 0.6996 is a half-width of 0.0048: 0.70 lies inside, 0.65 far outside. */
START_TEST(undecided)
{
    struct duty_certainty certainty = {.set_efficiency = quantity_of(1.959964 * 0.0024)}; /* normal, 95 % */
    make_labelled("schedule 7", 0.6996);
    made.result.certainty.duties = &certainty;
    find(&(struct label_change){0});
    ck_assert(label.undecided);
    ck_assert_str_eq(label.class_low, "4 star");
    ck_assert_str_eq(label.class_high, "5 star");
    near_abs(label.index_high.value - label.index.value, 1.959964 * 0.0024 / 0.5, 1e-6);
    make_labelled("schedule 7", 0.6750);
    made.result.certainty.duties = &certainty;
    find(&(struct label_change){0});
    ck_assert(!label.undecided);
}
END_TEST

static const struct {
    const char *scheme;
    const char *says;
} refusals[] = {
    {"star and pei", "no known label scheme"},
    {"grade A", "no known label scheme"},
    {"EU 547/2012 XYZ", "'xyz' is no pump type of EU 547/2012, expected ESOB"},
    {"schedule 7 gold", "'gold' is not understood"},
};

START_TEST(refused_by_name)
{
    make_labelled(refusals[_i].scheme, 0.6);
    find(&(struct label_change){0});
    ck_assert(!label.known);
    ck_assert_msg(strstr(label.why, refusals[_i].says) != NULL, "%s", label.why);
}
END_TEST

enum spoilt { PHASES, POLES, POWER_LOW, POWER_HIGH, MINIMUM, NO_PHASES, BORE, STAGES, SPEED, NO_SPEED };

static const struct {
    const char *scheme;
    enum spoilt what;
    double value;
    const char *says;
} scopes[] = {
    {"schedule 7", PHASES, 1, "schedule 7 does not apply: phases 1, it is for 3"},
    {"schedule 7", POLES, 4, "poles 4, it is for 2"},
    {"schedule 7", POWER_LOW, 1090, "rated power 1.09 kW, it is for at least 1.1 kW"},
    {"schedule 7", POWER_HIGH, 15010, "rated power 15.01 kW, it is for at most 15 kW"},
    {"schedule 7", MINIMUM, 0, "'label minimum efficiency'"},
    {"schedule 7", NO_PHASES, 0, "models.csv does not state 'phases'"},
    {"EU 547/2012 MSS", BORE, 0.2, "nominal bore 200 mm, it is for 100 or 150 mm"},
    {"EU 547/2012 MSS", STAGES, 8, "8 stages, a test needs 9 or the next larger"},
    {"EU 547/2012 MSS", SPEED, 2300, "rated speed 2300 rpm, it is for 2320 to 3480 rpm"},
    {"EU 547/2012 MSS", NO_SPEED, 0, "does not state 'rated speed'"},
    {"US PEI ST", SPEED, 2850, "rated speed 2850 rpm, it is for 1440 to 2160 or 2880 to 4320 rpm"},
    {"EU mei", PHASES, 3, "needs the motor's curve"}, /* in scope, but no shaft power */
};

START_TEST(out_of_scope)
{
    struct model *model = &made.model;
    struct quantity value = quantity_of(scopes[_i].value);
    make_labelled(scopes[_i].scheme, 0.6);
    switch (scopes[_i].what) {
    case PHASES: model->phases = value; break;
    case NO_PHASES: model->phases = quantity_absent(); break;
    case POLES: model->poles = value; break;
    case POWER_LOW:
    case POWER_HIGH: model->rated_power_w = value; break;
    case MINIMUM: model->label_minimum_efficiency = quantity_absent(); break;
    case BORE: model->nominal_bore_m = value; break;
    case STAGES: model->stages = value; break;
    case SPEED: model->rated_speed_rpm = value; break;
    case NO_SPEED: model->rated_speed_rpm = quantity_absent(); break;
    }
    find(&(struct label_change){0});
    ck_assert(!label.known);
    ck_assert_msg(strstr(label.why, scopes[_i].says) != NULL, "%s", label.why);
}
END_TEST

/* Both ends of the rating are inside. */
START_TEST(scope_ends)
{
    make_labelled("schedule 7", 0.6);
    made.model.rated_power_w = quantity_of(1100);
    find(&(struct label_change){0});
    ck_assert_msg(label.known, "%s", label.why);
    made.model.rated_power_w = quantity_of(15000);
    find(&(struct label_change){0});
    ck_assert_msg(label.known, "%s", label.why);
}
END_TEST

/* 25 US gpm or more and up to 459 ft at best efficiency: 10 CFR 431.464 (from memory), in SI by the inch and the foot.
 */
START_TEST(us_scope)
{
    const struct label_scope *scope = NULL;
    for (size_t i = 0; i < book.scope_count; i++) {
        scope = strcmp(book.scopes[i].scheme, "US PEI") == 0 ? &book.scopes[i] : scope;
    }
    ck_assert_ptr_nonnull(scope);
    near_abs(scope->flow_low_m3s.value, 25 * 231 * 0.0254 * 0.0254 * 0.0254 / 60, 1e-15);
    near_abs(scope->head_high_m.value, 459 * 0.3048, 1e-12);
    near_rel(scope->power_low_w.value, w_per_hp, 1e-4); /* the table has four digits */
    near_rel(scope->power_high_w.value, 200 * w_per_hp, 1e-4);
    near_abs(scope->bore_high_m.value, 6 * 0.0254, 1e-12);
}
END_TEST

/* --- a bay's own table --- */

static enum status read_own(const char *text)
{
    char path[] = "labels_test_XXXXXX";
    int fd = mkstemp(path);
    ck_assert_int_ge(fd, 0);
    ck_assert_int_eq(write(fd, text, strlen(text)), (int)strlen(text));
    ck_assert_int_eq(close(fd), 0);
    struct label_book own;
    enum status status = label_book_read(path, &arena, &own, &faults);
    ck_assert_int_eq(unlink(path), 0);
    book = own;
    return status;
}

START_TEST(own_table_replaces)
{
    struct date tested = day(2024, 1, 1), before = day(2022, 1, 1);
    ck_assert_int_eq(
        read_own("scheme,revision,valid from,valid to,class,index at least,index below,type,speed [rpm],"
                 "speed from [rpm],speed to [rpm],index,C,source\nschedule 7,third,2023-01-01,,1 star,1.10,1.25,,,"
                 ",,,,our copy\nschedule 7,third,2023-01-01,,2 star,1.25,,,,,,,,our copy\nEU 547/2012,,,,,,,MSS,"
                 "2900,2320,3480,0.40,128.50,our copy\nEU 547/2012,,,,,,,MSS,2900,2320,3480,0.70,123.00,our copy\n"),
        OK);
    struct label_ladder ladder = label_ladder_of(&book, "schedule 7", &tested);
    ck_assert_uint_eq(ladder.count, 2);
    ck_assert(!ladder.ended);
    ck_assert_uint_eq(label_rungs_held(&ladder, 1.2499), 1);
    ck_assert_str_eq(label_ladder_of(&book, "schedule 7", &before).classes->revision, "second");
    size_t found = 0;
    for (size_t i = 0; i < book.constant_count; i++) {
        found += strcmp(book.constants[i].type, "MSS") == 0;
        ck_assert(strcmp(book.constants[i].type, "MSS") != 0 || book.constants[i].c != 128.79);
    }
    ck_assert_uint_eq(found, 3);
}
END_TEST

static const struct {
    const char *rows, *says;
} bad_tables[] = {
    {"schedule 7,third,2023-01-01,,1 star,1.10,1.20,us\nschedule 7,third,2023-01-01,,2 star,1.25,,us\n",
     "leave a gap or overlap"},
    {"schedule 7,third,2023-01-01,,1 star,1.10,1.20,us\nschedule 7,third,2023-01-01,,1 star,1.20,,us\n",
     "expected it once"},
    {"schedule 7,third,2023-01-32,,1 star,1.10,,us\n", "expected a date"},
    {"schedule 7,third,,,1 star,,,us\n", "needs either 'index at least' or 'index at most'"},
    {"schedule 7,third,,,1 star,-1,,us\n", "'index at least' is -1"},
    {"schedule 7,third,,,1 star,1.1,,\n", "'source' is blank"},
};

START_TEST(bad_table)
{
    char text[1000];
    (void)snprintf(text, sizeof text, "scheme,revision,valid from,valid to,class,index at least,index below,source\n%s",
                   bad_tables[_i].rows);
    ck_assert_int_eq(read_own(text), E_INPUT);
    ck_assert_msg(strstr(faults.text[0], bad_tables[_i].says) != NULL, "%s", faults.text[0]);
}
END_TEST

/* --- a line of units --- */

/* One-sided k for 95 % of a normal population with 95 % confidence. Source: the table that ISO 16269-6 and the
 * handbooks print (Hahn and Meeker 1991, Lieberman 1958; from memory), to its digits. */
static const struct {
    size_t n;
    double k;
} factors[] = {{2, 26.260}, {3, 7.656}, {4, 5.144}, {5, 4.203}, {10, 2.911}, {20, 2.396}, {50, 2.065}, {100, 1.927}};

START_TEST(tolerance_table)
{
    near_abs(tolerance_factor(factors[_i].n, 0.95, 0.95), factors[_i].k, 5.1e-4); /* three decimals */
}
END_TEST

/* Three units with mean 0.98 and deviation 0.02: UCL95 = 0.98 + 2.919986 x 0.02/sqrt(3) (t table, 2 degrees of
 * freedom). */
START_TEST(sampling_rule)
{
    double limit;
    near_abs(label_represented(0.98, 0.02, 3, true, &limit), 0.98, 1e-12); /* the mean is greater */
    near_abs(limit, 0.98 + 2.919986 * 0.02 / sqrt(3), 1e-7);
    near_abs(label_represented(0.98, 0.10, 3, true, &limit), (0.98 + 2.919986 * 0.10 / sqrt(3)) / 1.05, 1e-7);
    near_abs(label_represented(1.30, 0.10, 3, false, &limit), (1.30 - 2.919986 * 0.10 / sqrt(3)) / 0.95, 1e-7);
}
END_TEST

START_TEST(line_of_units)
{
    struct label_unit units[4] = {0};
    static const double efficiencies[] = {0.64, 0.66, 0.68, 0.90};
    for (int i = 0; i < 4; i++) {
        make_labelled("schedule 7", efficiencies[i]);
        find(&(struct label_change){0});
        units[i] = (struct label_unit){.serial = i == 3   ? "A"
                                                 : i == 0 ? "A"
                                                 : i == 1 ? "B"
                                                          : "C",
                                       .model = &made.model,
                                       .tested = day(2021, 6, i == 3 ? 1 : 2),
                                       .label = label};
    }
    struct label_batch batch = {.unit_count = 4, .units = units};
    ck_assert_uint_eq(label_batch_supersede(&batch), 1);
    ck_assert(units[3].superseded); /* listed last, but tested earlier */
    ck_assert_int_eq(label_batch_find(&batch, &arena), OK);
    ck_assert_uint_eq(batch.line_count, 1);
    const struct label_line *line = &batch.lines[0];
    ck_assert_uint_eq(line->count, 3);
    near_abs(line->mean.value, 1.32, 1e-12); /* 1.28, 1.32, 1.36 */
    near_abs(line->deviation.value, 0.04, 1e-12);
    ck_assert_str_eq(line->mean_class, "4 star");
    ck_assert_uint_eq(line->tallies[2].earn, 1); /* 3 star */
    ck_assert_uint_eq(line->tallies[3].hold, 2); /* 4 star */
    ck_assert_uint_eq(line->tallies[0].hold, 3);
    ck_assert_uint_eq(line->none, 0);
    ck_assert_str_eq(line->next_class, "5 star");
    near_abs(line->line_index.value, 1.40 + 7.656 * 0.04, 2.1e-5);             /* k to three decimals */
    near_abs(line->line_efficiency.value, line->line_index.value * 0.5, 1e-9); /* index x minimum */
    near_abs(line->represented.value, fmin(1.32, (1.32 - 2.919986 * 0.04 / sqrt(3)) / 0.95), 1e-7);
}
END_TEST

START_TEST(words)
{
    char text[LABEL_TEXT];
    make_labelled("schedule 7", 0.6996);
    find(&(struct label_change){0});
    ck_assert_str_eq(label_summary(&label, text), "4 star, index 1.39, by schedule 7");
    ck_assert_str_eq(label_margin_text(&label.next, quantity_of(1000), text),
                     "5 star needs 70.00 %: 0.04 points, 2 W at the duty point, 2 kWh in 1000 h a year short");
    label.undecided = true;
    label.class_low = "4 star";
    label.class_high = "5 star";
    ck_assert_str_eq(label_class_text(&label, text), "4 star, undecided (4 star to 5 star)");
    label = (struct label_result){0};
    ck_assert_str_eq(label_summary(&label, text), "");
}
END_TEST

#define COUNT(table) (int)(sizeof(table) / sizeof *(table))

Suite *label_suite(void);
Suite *label_suite(void)
{
    Suite *suite = suite_create("label");
    TCase *core = tcase_create("core"), *limits = tcase_create("limits"), *line = tcase_create("line");
    TCase *all[] = {core, limits, line};
    for (size_t i = 0; i < 3; i++) {
        tcase_add_checked_fixture(all[i], setup, teardown);
        suite_add_tcase(suite, all[i]);
    }
    tcase_add_loop_test(core, eu_surface, 0, COUNT(eu_vectors));
    tcase_add_test(core, eu_index_is_linear_between_constants);
    tcase_add_test(core, us_vector);
    tcase_add_test(core, us_motor_loss);
    tcase_add_test(core, star_margins);
    tcase_add_test(core, what_if);
    tcase_add_test(core, texts_do_not_reach_an_edge_that_is_not);
    tcase_add_test(core, undecided);
    tcase_add_test(core, words);
    tcase_add_loop_test(limits, edge, 0, COUNT(edges));
    tcase_add_test(limits, revision_follows_the_date);
    tcase_add_test(limits, ladders_are_contiguous);
    tcase_add_test(limits, constants_fall_as_the_index_rises);
    tcase_add_test(limits, from_memory_is_said);
    tcase_add_loop_test(limits, refused_by_name, 0, COUNT(refusals));
    tcase_add_loop_test(limits, out_of_scope, 0, COUNT(scopes));
    tcase_add_test(limits, scope_ends);
    tcase_add_test(limits, us_scope);
    tcase_add_test(limits, own_table_replaces);
    tcase_add_loop_test(limits, bad_table, 0, COUNT(bad_tables));
    tcase_add_loop_test(line, tolerance_table, 0, COUNT(factors));
    tcase_add_test(line, sampling_rule);
    tcase_add_test(line, line_of_units);
    return suite;
}
