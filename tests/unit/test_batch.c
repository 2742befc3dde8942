/* The list of a batch, who counts among retests, and the statistics against published constants and worked values */
#include "base/files.h"
#include "batch/batch.h"
#include "batch/batch_list.h"
#include "batch/batch_stats.h"
#include "filing/scratch.h"
#include "near.h"
#include "papers/batch_words.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static struct arena arena;
static struct faults faults;
static struct scratch made;
static const char *room;

static void set_up(void)
{
    faults = (struct faults){0};
    const char *parent = getenv("TMPDIR");
    ck_assert_int_eq(scratch_make(parent != NULL ? parent : "/tmp", &arena, &made, &faults), OK);
    room = made.path;
}

static void tear_down(void)
{
    ck_assert_int_eq(scratch_remove(&made, &(struct faults){0}), OK);
    arena_release(&arena);
}

static const char *write_file(const char *name, const char *text)
{
    const char *path = arena_format(&arena, "%s/%s", room, name);
    ck_assert_ptr_nonnull(path);
    ck_assert_int_eq(file_write(path, text, strlen(text), &faults), OK);
    return path;
}

static struct model models[] = {{.name = "A-1"}, {.name = "B-2"}};
static const struct bay two_models = {.model_count = 2, .models = models};

/* --- the list --- */

START_TEST(list_is_read_in_order)
{
    struct batch_list list;
    struct notes notes = {0};
    const char *path = write_file("units.csv", "# batch: spring\nserial;model;log;tested;tester;remarks\n"
                                               "S 1;a-1;logs/x.csv;2024-05-01T10:30;N;\"one; two\"\n"
                                               ";;/abs/y.csv;;;\n");
    ck_assert_int_eq(batch_list_read(path, &two_models, &arena, &list, &notes, &faults), OK);
    ck_assert_uint_eq(list.count, 2);
    ck_assert_str_eq(list.name, "spring");
    ck_assert_str_eq(list.rows[0].serial, "S 1");
    ck_assert_str_eq(list.rows[0].remarks, "one; two");
    ck_assert_str_eq(list.rows[0].log_path, arena_format(&arena, "%s/logs/x.csv", room));
    ck_assert_int_eq(list.rows[0].tested.day, 1);
    ck_assert_str_eq(list.rows[1].log_path, "/abs/y.csv");
    ck_assert_str_eq(list.rows[1].serial, "");
    ck_assert(!list.rows[1].tested.known);
}
END_TEST

static const struct {
    const char *text, *want[3];
} bad_lists[] = {
    {"serial,log\nS1,\n", {":2:2: 'log' is blank"}},
    {"serial,model\nS1,A-1\n", {"log"}},
    {"serial,log,tested\nS1,a.csv,2024-02-30\nS2,b.csv,last week\n", {":2:3: 'tested'", ":3:3: 'tested'"}},
    {"serial,model,log\nS1,A-2,a.csv\n", {":2:2: model 'A-2' is not in models.csv, did you mean"}},
    {"serial,log\nS1,a.csv\nS2,a.csv\n", {":3:2: log 'a.csv' is that of line 2"}},
    {"serial,log\n", {"lists no unit"}},
    {"serial,model,log,tested\n,Z,,x\n", {":2:2: ", ":2:3: ", ":2:4: "}},
};

START_TEST(every_fault_of_a_list_is_named)
{
    struct batch_list list;
    struct notes notes = {0};
    const char *path = write_file("units.csv", bad_lists[_i].text);
    ck_assert_int_eq(batch_list_read(path, &two_models, &arena, &list, &notes, &faults), E_INPUT);
    for (size_t k = 0; k < 3 && bad_lists[_i].want[k] != NULL; k++) {
        bool found = false;
        for (size_t i = 0; i < faults.count && i < FAULTS_KEPT; i++) {
            found = found || strstr(faults.text[i], bad_lists[_i].want[k]) != NULL;
        }
        ck_assert_msg(found, "no fault holds \"%s\"; the first is \"%s\"", bad_lists[_i].want[k], faults.text[0]);
    }
}
END_TEST

/* --- statistics --- */

enum { TESTS_MAX = 64 };

static struct duty duties[1];
static struct model one_model = {.name = "M", .duty_count = 1, .duties = duties};
static struct batch_test tests[TESTS_MAX];
static struct batch_duty read_duties[TESTS_MAX];
static struct batch_row rows[TESTS_MAX];

/* A batch of one model whose head margins are the values, one a day. */
static struct batch make_batch(const double *values, size_t count, struct quantity room_m)
{
    memset(tests, 0, sizeof tests);
    for (size_t i = 0; i < count; i++) {
        read_duties[i] =
            (struct batch_duty){.duty = &duties[0], .head_margin_m = quantity_of(values[i]), .head_room_m = room_m};
        tests[i] = (struct batch_test){.row = &rows[i],
                                       .serial = "S",
                                       .model = &one_model,
                                       .tests = 1,
                                       .attempt = 1,
                                       .duty_count = 1,
                                       .duties = &read_duties[i]};
        tests[i].tested = (struct date){.known = true, .year = 2024, .month = 1 + (int)i / 28, .day = 1 + (int)i % 28};
    }
    return (struct batch){.count = count, .tests = tests};
}

static struct batch_series sum_up(const struct batch *batch)
{
    struct batch_summary summary;
    ck_assert_int_eq(batch_sum_up(batch, &arena, &summary), OK);
    ck_assert_uint_eq(summary.section_count, 1);
    return summary.sections[0].head[0];
}

/* Chart limits of individuals: the worked example of the NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2
 * "Individuals Control Charts" (batches of a process, from memory): mean 50.81, mean moving range 1.8778, limits
 * 55.8041 and 45.8159. */
START_TEST(limits_are_those_of_the_handbook)
{
    const double flow[] = {49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1};
    struct batch batch = make_batch(flow, 10, quantity_absent());
    struct batch_series series = sum_up(&batch);
    ck_assert_uint_eq(series.count, 10);
    near_abs(series.mean, 50.81, 5e-3); /* as printed */
    near_abs(series.moving_range.value, 1.8778, 5e-5);
    near_abs(series.high.value, 55.8041, 5e-3); /* the handbook divides by 1.128 and does not round 3/1.128 to 2.66 */
    near_abs(series.low.value, 45.8159, 5e-3);
    ck_assert_uint_eq(series.out_count, 0);
}
END_TEST

/* d2 and D4 for two follow from the normal distribution: d2 = 2/sqrt(pi), d3 = sqrt(2 - 4/pi), D4 = 1 + 3 d3/d2 (any
 * text on order statistics). A chart of values 0 and 1 in turn has the mean moving range 1. */
START_TEST(constants_are_those_of_the_normal_distribution)
{
    const double pi = 3.14159265358979323846, d2 = 2 / sqrt(pi), d3 = sqrt(2 - 4 / pi);
    const double values[] = {0, 1, 0, 1, 0, 1};
    struct batch batch = make_batch(values, 6, quantity_absent());
    struct batch_series series = sum_up(&batch);
    near_abs(series.high.value - series.mean, 3 / d2, 1.5e-3); /* tables give two decimals: 2.66 for 2.6587 */
    near_abs(series.range_high.value, 1 + 3 * d3 / d2, 1e-3);  /* three: 3.267 for 3.2665 */
}
END_TEST

/* Capability by its definition (ISO 22514-1:2014, from memory), on numbers chosen for the mind: mean 5, s = sqrt(2.5).
 */
START_TEST(capability_takes_the_nearer_limit)
{
    const double values[] = {3, 4, 5, 6, 7};
    struct batch batch = make_batch(values, 5, quantity_absent());
    struct batch_series one_sided = sum_up(&batch);
    near_rel(one_sided.deviation.value, sqrt(2.5), 1e-12); /* rounding of the last bits */
    near_rel(one_sided.ppk.value, 5 / (3 * sqrt(2.5)), 1e-12);
    near_rel(one_sided.cpk.value, 5 / (3 * 1.0 / 1.128), 1e-12);
    batch = make_batch(values, 5, quantity_of(8));
    struct batch_series two_sided = sum_up(&batch);
    near_rel(two_sided.ppk.value, 3 / (3 * sqrt(2.5)), 1e-12);
    batch = make_batch(values, 5, quantity_of(4));
    near_rel(sum_up(&batch).ppk.value, -1 / (3 * sqrt(2.5)), 1e-12); /* the mean itself lies outside */
}
END_TEST

START_TEST(no_spread_no_index)
{
    const double same[] = {2, 2, 2};
    struct batch batch = make_batch(same, 3, quantity_absent());
    struct batch_series series = sum_up(&batch);
    ck_assert(!series.cpk.known && !series.ppk.known);
    ck_assert_uint_eq(series.out_count, 0);
    batch = make_batch(same, 1, quantity_absent());
    series = sum_up(&batch);
    ck_assert(!series.deviation.known && !series.low.known && !series.cpk.known);
}
END_TEST

START_TEST(out_of_control_points_are_named)
{
    double values[30];
    for (int i = 0; i < 30; i++) {
        values[i] = i % 2 == 0 ? 1.0 : 1.2;
    }
    values[20] = 3.0;
    struct batch batch = make_batch(values, 30, quantity_absent());
    struct batch_series series = sum_up(&batch);
    ck_assert(series.out_value[20] && series.out_range[20] && series.out_range[21] && !series.out_value[21]);
    ck_assert(!series.out_value[19] && !series.out_range[19]);
}
END_TEST

START_TEST(nine_on_one_side_are_named)
{
    double values[20];
    for (int i = 0; i < 20; i++) { /* noise wider than the shift, so that no single point is outside */
        values[i] = (i < 9 ? 0.0 : 0.5) + (i % 2 == 0 ? 0.2 : -0.2);
    }
    struct batch batch = make_batch(values, 20, quantity_absent());
    struct batch_series series = sum_up(&batch);
    for (size_t i = 0; i < 20; i++) {
        ck_assert_int_eq(series.run[i], i == 8 || i >= 17);
    }
}
END_TEST

START_TEST(superseded_tests_count_once_and_stand_in_no_chart)
{
    const double values[] = {1, 2, 3, 4};
    struct batch batch = make_batch(values, 4, quantity_absent());
    struct batch_summary summary;
    tests[1].superseded = true;
    tests[1].tests = tests[2].tests = 2;
    tests[1].verdict = VERDICT_FAIL;
    tests[3].verdict = VERDICT_NOT_JUDGED;
    tests[0].calibration = CALIBRATION_OVERDUE;
    ck_assert_int_eq(batch_sum_up(&batch, &arena, &summary), OK);
    ck_assert_uint_eq(summary.counts.units, 3);
    ck_assert_uint_eq(summary.counts.passed, 2);
    ck_assert_uint_eq(summary.counts.failed, 0);
    ck_assert_uint_eq(summary.counts.not_judged, 1);
    ck_assert_uint_eq(summary.counts.tests, 4);
    ck_assert_uint_eq(summary.counts.superseded, 1);
    ck_assert_uint_eq(summary.counts.retested, 1);
    ck_assert_uint_eq(summary.counts.overdue, 1);
    ck_assert_uint_eq(summary.sections[0].head[0].count, 3);
}
END_TEST

START_TEST(charts_run_in_the_order_of_testing)
{
    const double values[] = {1, 2, 3};
    struct batch batch = make_batch(values, 3, quantity_absent());
    tests[0].tested.day = 20;
    tests[1].tested = (struct date){0}; /* undated tests go last */
    struct batch_series series = sum_up(&batch);
    near_abs(series.values[0], 3, 0);
    near_abs(series.values[1], 1, 0);
    near_abs(series.values[2], 2, 0);
}
END_TEST

/* --- running --- */

static const char rig[] =
    "item,value,unit\nbay,made up,\nflow method,meter,\ngravity,9.81,m/s2\nair pressure,100,kPa\n"
    "water density,997,kg/m3\ndelivery bore,80,mm\ngauge height,0,m\nwater level,0,m\nspeed basis,measured,\n";
static const char model_table[] = "model,rated speed [rpm],guaranteed flow [L/s],guaranteed head [m],grade\n"
                                  "M,2900,5,40,2B\n";

/* A log of which the head at every flow is `factor` times one curve that passes the guarantee at 1. */
static const char *log_text(double factor)
{
    static const double heads_m[] = {50, 49, 47, 44, 40, 35};
    const char *text = "flow [L/s],gauge pressure [kPa],speed [rpm],point\n";
    for (int i = 0; i < 6; i++) {
        text = arena_format(&arena, "%s%d,%.2f,2900,%d\n", text, i + 1, heads_m[i] * factor * 9.78, i + 1);
    }
    return text;
}

struct heard {
    size_t count;
    const char *serials[TESTS_MAX];
};

static void listen(void *listener, const struct batch_test *test, const char *document)
{
    struct heard *heard = listener;
    (void)document;
    heard->serials[heard->count++] = test->serial;
}

static struct batch run(const char *list_text, size_t jobs, struct heard *heard)
{
    static struct bay bay;
    static struct batch_list list;
    struct notes notes = {0};
    struct batch batch;
    write_file("rig.csv", rig);
    write_file("models.csv", model_table);
    write_file("good.csv", log_text(1.0));
    write_file("good2.csv", log_text(1.01));
    write_file("low.csv", log_text(0.8));
    write_file("bad.csv", "flow [L/s]\nx\n");
    bay = (struct bay){0};
    ck_assert_int_eq(bay_read(room, &arena, &bay, &faults), OK);
    ck_assert_int_eq(batch_list_read(write_file("units.csv", list_text), &bay, &arena, &list, &notes, &faults), OK);
    struct batch_order order = {.bay = &bay, .bay_named = true, .jobs = jobs, .heard = listen, .listener = heard};
    ck_assert_msg(batch_run(&list, &order, &arena, &batch, &faults) == OK, "%s", faults.text[0]);
    return batch;
}

START_TEST(one_bad_log_does_not_stop_the_rest)
{
    struct heard heard = {0};
    struct arena reasons = {0};
    struct batch batch =
        run("serial,log\nS1,good.csv\nS2,bad.csv\nS3,missing.csv\nS4,low.csv\n", (size_t)_i + 1, &heard);
    static const enum verdict want[] = {VERDICT_PASS, VERDICT_NOT_JUDGED, VERDICT_NOT_JUDGED, VERDICT_FAIL};
    static const char *const serials[] = {"S1", "S2", "S3", "S4"};
    ck_assert_uint_eq(heard.count, 4);
    for (size_t i = 0; i < 4; i++) {
        ck_assert_str_eq(heard.serials[i], serials[i]);
        ck_assert_msg(batch.tests[i].verdict == want[i], "%s", serials[i]);
    }
    const char *why[3];
    for (size_t i = 0; i < 3; i++) {
        why[i] = batch_reason_text(&batch.tests[i], &reasons);
        ck_assert_ptr_nonnull(why[i]);
    }
    ck_assert_ptr_eq(strstr(why[1], "bad.csv:2:1: "), why[1]);
    ck_assert_ptr_nonnull(strstr(why[2], "missing.csv"));
    ck_assert_str_eq(why[0], "");
    arena_release(&reasons);
}
END_TEST

static const struct {
    const char *rows;
    bool superseded[2];
    bool undated;
} retests[] = {
    {"S,low.csv,2024-05-01\nS,good.csv,2024-05-02\n", {true, false}, false},
    {"S,good.csv,2024-05-02\nS,low.csv,2024-05-01\n", {false, true}, false}, /* by date, not by place */
    {"S,low.csv,2024-05-01T09:00\nS,good.csv,2024-05-01T08:00\n", {false, true}, false},
    {"S,low.csv,2024-05-01\nS,good.csv,2024-05-01\n", {true, false}, false}, /* the same day: the later row */
    {"S,low.csv,\nS,good.csv,2020-01-01\n", {true, false}, true},            /* a date missing: the later row */
};

START_TEST(the_latest_test_counts)
{
    struct heard heard = {0};
    const char *text = arena_format(&arena, "serial,log,tested\n%s", retests[_i].rows);
    struct batch batch = run(text, 2, &heard);
    for (size_t i = 0; i < 2; i++) {
        ck_assert_int_eq(batch.tests[i].superseded, retests[_i].superseded[i]);
        ck_assert_int_eq(batch.tests[i].undated, retests[_i].undated);
        ck_assert_uint_eq(batch.tests[i].tests, 2);
        ck_assert_uint_eq(batch.tests[i].attempt, retests[_i].superseded[i] ? 1 : 2);
    }
}
END_TEST

START_TEST(a_blank_serial_is_that_of_the_log)
{
    struct heard heard = {0};
    write_file("named.csv", arena_format(&arena, "# serial: FROM LOG\n%s", log_text(1.0)));
    struct batch batch = run("serial,log\n,named.csv\n,bad.csv\nS3,good.csv\n", 2, &heard);
    ck_assert_str_eq(batch.tests[0].serial, "FROM LOG");
    ck_assert_str_eq(batch.tests[1].serial, "bad");
    ck_assert_str_eq(batch.tests[2].serial, "S3");
}
END_TEST

START_TEST(one_log_under_two_serials_is_not_judged)
{
    struct heard heard = {0};
    write_file("copy.csv", log_text(1.0)); /* the bytes of good.csv */
    struct batch batch = run("serial,log\nS1,good.csv\nS2,copy.csv\nS1,bad.csv\n", 2, &heard);
    ck_assert_ptr_nonnull(strstr(batch.tests[0].trouble, "is the log of serial 'S2' too (line 3 of the list)"));
    ck_assert_ptr_nonnull(strstr(batch.tests[1].trouble, "is the log of serial 'S1' too (line 2 of the list)"));
    ck_assert_ptr_null(strstr(batch.tests[2].trouble, "too"));
    batch = run("serial,log\nS1,good.csv\nS1,copy.csv\n", 1, &heard); /* of one serial it is a retest */
    ck_assert_int_eq(batch.tests[0].verdict, VERDICT_PASS);
    ck_assert_int_eq(batch.tests[1].verdict, VERDICT_PASS);
}
END_TEST

START_TEST(a_log_of_another_serial_is_not_judged)
{
    struct heard heard = {0};
    write_file("named.csv", arena_format(&arena, "# serial: OTHER\n%s", log_text(1.0)));
    struct batch batch = run("serial,log\nS1,named.csv\nS2,good.csv\n", 1, &heard);
    ck_assert_int_eq(batch.tests[0].verdict, VERDICT_NOT_JUDGED);
    ck_assert_ptr_nonnull(strstr(batch.tests[0].trouble, "serial is 'OTHER' in the log and 'S1' in the list"));
    ck_assert_int_eq(batch.tests[1].verdict, VERDICT_PASS);
}
END_TEST

/* The margin has the verdict's sign: 2B permits 5 % of head and 8 % of flow either way. */
START_TEST(the_head_margin_agrees_with_the_verdict)
{
    struct heard heard = {0};
    struct batch batch = run("serial,log\nS1,good.csv\nS2,low.csv\nS3,good2.csv\n", 1, &heard);
    for (size_t i = 0; i < 3; i++) {
        const struct batch_duty *duty = &batch.tests[i].duties[0];
        bool inside = duty->head_margin_m.value >= 0 && duty->head_margin_m.value <= duty->head_room_m.value;
        ck_assert_int_eq(inside, duty->verdict == VERDICT_PASS);
    }
}
END_TEST

Suite *batch_suite(void);
Suite *batch_suite(void)
{
    Suite *suite = suite_create("batch");
    TCase *files = tcase_create("list and run");
    tcase_add_checked_fixture(files, set_up, tear_down);
    tcase_add_test(files, list_is_read_in_order);
    tcase_add_loop_test(files, every_fault_of_a_list_is_named, 0, sizeof bad_lists / sizeof bad_lists[0]);
    tcase_add_loop_test(files, one_bad_log_does_not_stop_the_rest, 0, 4);
    tcase_add_loop_test(files, the_latest_test_counts, 0, sizeof retests / sizeof retests[0]);
    tcase_add_test(files, a_blank_serial_is_that_of_the_log);
    tcase_add_test(files, a_log_of_another_serial_is_not_judged);
    tcase_add_test(files, one_log_under_two_serials_is_not_judged);
    tcase_add_test(files, the_head_margin_agrees_with_the_verdict);
    suite_add_tcase(suite, files);
    TCase *numbers = tcase_create("statistics");
    tcase_add_checked_fixture(numbers, set_up, tear_down);
    tcase_add_test(numbers, limits_are_those_of_the_handbook);
    tcase_add_test(numbers, constants_are_those_of_the_normal_distribution);
    tcase_add_test(numbers, capability_takes_the_nearer_limit);
    tcase_add_test(numbers, no_spread_no_index);
    tcase_add_test(numbers, out_of_control_points_are_named);
    tcase_add_test(numbers, nine_on_one_side_are_named);
    tcase_add_test(numbers, superseded_tests_count_once_and_stand_in_no_chart);
    tcase_add_test(numbers, charts_run_in_the_order_of_testing);
    suite_add_tcase(suite, numbers);
    return suite;
}
