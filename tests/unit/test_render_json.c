/* The result document, read back by jansson: structure, absent keys, order, text of unknown origin. */
#include "made_result.h"
#include "near.h"
#include "papers/render.h"

#include <jansson.h>
#include <stdlib.h>

/* Renders and parses again. */
static json_t *document_of(const struct result *result)
{
    char *text = NULL;
    size_t length = 0;
    ck_assert_int_eq(render_json(result, false, &text, &length), OK);
    ck_assert_uint_eq(length, strlen(text));
    ck_assert_int_eq(text[length - 1], '\n');
    ck_assert_ptr_null(strstr(text, "nan"));
    ck_assert_ptr_null(strstr(text, "inf"));
    json_error_t error;
    json_t *root = json_loadb(text, length, JSON_REJECT_DUPLICATES, &error);
    ck_assert_msg(root != NULL, "%s", error.text);
    free(text);
    return root;
}

static json_t *first_point(json_t *root)
{
    return json_array_get(json_object_get(root, "points"), 0);
}

START_TEST(order_of_keys)
{
    static const char *const order[] = {"dutyproof", "serial", "model",  "tested", "log",     "site",
                                        "points",    "curves", "duties", "notes",  "verdict", "calibration"};
    struct made_result made;
    make_result(&made);
    json_t *root = document_of(&made.result);
    size_t next = 0;
    for (void *key = json_object_iter(root); key != NULL; key = json_object_iter_next(root, key)) {
        if (next < sizeof order / sizeof order[0] && strcmp(json_object_iter_key(key), order[next]) == 0) {
            next++;
        }
    }
    ck_assert_msg(next == sizeof order / sizeof order[0], "'%s' is missing or out of order", order[next]);
    json_decref(root);
}
END_TEST

START_TEST(values_arrive)
{
    struct made_result made;
    make_result(&made);
    json_t *root = document_of(&made.result);
    json_t *tested = json_object_get(first_point(root), "as_tested");
    /* Twelve digits are written. */
    near_rel(json_real_value(json_object_get(tested, "flow_m3_s")), 0.005, 1e-12);
    near_rel(json_real_value(json_object_get(tested, "set_efficiency")), 0.4812, 1e-12);
    ck_assert_str_eq(json_string_value(json_object_get(json_object_get(root, "log"), "file")), "SN-1.csv");
    ck_assert_str_eq(json_string_value(json_object_get(root, "tested")), "2024-03-01");
    json_t *duty = json_array_get(json_object_get(root, "duties"), 0);
    json_t *check = json_array_get(json_object_get(duty, "checks"), 0);
    ck_assert_str_eq(json_string_value(json_object_get(check, "unit")), "m");
    ck_assert_str_eq(json_string_value(json_object_get(check, "verdict")), "pass");
    near_rel(json_real_value(json_object_get(check, "limit_low")), 38.95, 1e-12);
    ck_assert_str_eq(json_string_value(json_object_get(duty, "grade")), "2B");
    json_decref(root);
}
END_TEST

START_TEST(statistics_of_repeated_readings)
{
    struct made_result made;
    make_result(&made);
    made.settled[0].from_s = made.settled[1].from_s = made.settled[1].to_s = NAN;
    made.settled[0].from_s = 12.5;
    made.settled[0].channels[CH_FLOW] = (struct channel_stats){.n = 3,
                                                               .mean = 0.005,
                                                               .deviation = 4e-5,
                                                               .standard_error = 2.3e-5,
                                                               .low = 0.00495,
                                                               .high = 0.00504,
                                                               .effective_n = 3,
                                                               .drift = 7};
    made.points[0].spread = (struct point_fluctuation){.flow = quantity_of(0.018), .within = false};
    for (int record = 0; record < 2; record++) {
        made.result.kind = record == 1 ? LOG_CONTINUOUS_RECORD : LOG_READING_SHEET;
        json_t *root = document_of(&made.result), *point = first_point(root);
        json_t *flow = json_object_get(json_object_get(point, "statistics"), "flow");
        ck_assert_int_eq(json_integer_value(json_object_get(flow, "readings")), 3);
        near_rel(json_real_value(json_object_get(flow, "standard_deviation")), 4e-5, 1e-12);
        near_rel(json_real_value(json_object_get(flow, "standard_error")), 2.3e-5, 1e-12);
        near_rel(json_real_value(json_object_get(flow, "fluctuation")), 0.01, 1e-9); /* (4.95 - 5)/5, cancelled */
        ck_assert_int_eq(json_object_get(flow, "drift") != NULL, record); /* a sheet's readings are no course of time */
        near_rel(json_real_value(json_object_get(json_object_get(point, "spread"), "flow")), 0.018, 1e-12);
        ck_assert(json_is_false(json_object_get(point, "spread_within_limits")));
        near_rel(json_real_value(json_object_get(point, "from_s")), 12.5, 1e-12);
        json_t *second = json_array_get(json_object_get(root, "points"), 1);
        ck_assert_uint_eq(json_object_size(json_object_get(second, "statistics")), 0);
        ck_assert_ptr_null(json_object_get(second, "from_s"));
        json_decref(root);
    }
}
END_TEST

START_TEST(not_measured_is_absent)
{
    struct made_result made;
    make_result(&made);
    json_t *root = document_of(&made.result);
    json_t *second = json_array_get(json_object_get(root, "points"), 1);
    ck_assert_ptr_null(json_object_get(json_object_get(second, "as_tested"), "set_efficiency"));
    ck_assert_ptr_null(json_object_get(json_object_get(second, "at_rated"), "flow_m3_s"));
    ck_assert_ptr_nonnull(json_object_get(json_object_get(second, "at_rated"), "reason"));
    ck_assert_ptr_null(json_object_get(root, "best_efficiency"));
    ck_assert_ptr_null(json_object_get(root, "label"));
    ck_assert_ptr_null(json_object_get(root, "tester"));
    ck_assert_ptr_null(json_object_get(json_object_get(root, "curves"), "head"));
    ck_assert_int_eq(json_is_object(json_object_get(root, "curves")), 1);
    json_decref(root);
}
END_TEST

START_TEST(no_number_that_is_none)
{
    struct made_result made;
    make_result(&made);
    made.points[0].as_tested.head_m = (struct quantity){.value = NAN, .known = true};
    made.result.site.air_pressure_pa = INFINITY;
    json_t *root = document_of(&made.result);
    ck_assert_ptr_null(json_object_get(json_object_get(first_point(root), "as_tested"), "head_m"));
    ck_assert_ptr_null(json_object_get(json_object_get(root, "site"), "air_pressure_pa"));
    json_decref(root);
}
END_TEST

START_TEST(curve)
{
    struct made_result made;
    make_result(&made);
    made.result.curves.of[CURVE_HEAD] = (struct curve){
        .known = true, .degree = 2, .coefficient = {50, -100, -3e5}, .flow_low_m3s = 0.001, .flow_high_m3s = 0.009};
    json_t *root = document_of(&made.result);
    json_t *head = json_object_get(json_object_get(root, "curves"), "head");
    ck_assert_uint_eq(json_array_size(json_object_get(head, "coefficients")), 3);
    near_rel(json_real_value(json_array_get(json_object_get(head, "coefficients"), 2)), -3e5, 1e-12);
    near_rel(json_real_value(json_array_get(json_object_get(head, "flow_range_m3_s"), 1)), 0.009, 1e-12);
    json_decref(root);
}
END_TEST

START_TEST(text_of_unknown_origin)
{
    struct made_result made;
    make_result(&made);
    made.result.serial = "\xff\"\n\\";
    made.result.tester = "पंप";
    json_t *root = document_of(&made.result);
    ck_assert_ptr_nonnull(json_string_value(json_object_get(root, "serial")));
    ck_assert_str_eq(json_string_value(json_object_get(root, "tester")), "पंप");
    json_decref(root);
}
END_TEST

START_TEST(dates)
{
    struct made_result made;
    make_result(&made);
    made.result.tested.has_time = true;
    made.result.tested.seconds = 14 * 3600 + 5 * 60 + 9;
    made.result.tested.offset_seconds = 5.5 * 3600;
    json_t *root = document_of(&made.result);
    ck_assert_str_eq(json_string_value(json_object_get(root, "tested")), "2024-03-01T14:05:09+05:30");
    json_decref(root);
}
END_TEST

START_TEST(compact_is_one_line)
{
    struct made_result made;
    make_result(&made);
    char *text = NULL;
    size_t length = 0;
    ck_assert_int_eq(render_json(&made.result, true, &text, &length), OK);
    ck_assert_ptr_eq(strchr(text, '\n'), text + length - 1);
    free(text);
}
END_TEST

Suite *render_json_suite(void);
Suite *render_json_suite(void)
{
    Suite *suite = suite_create("render_json");
    TCase *tcase = tcase_create("core");
    tcase_add_test(tcase, order_of_keys);
    tcase_add_test(tcase, values_arrive);
    tcase_add_test(tcase, statistics_of_repeated_readings);
    tcase_add_test(tcase, not_measured_is_absent);
    tcase_add_test(tcase, no_number_that_is_none);
    tcase_add_test(tcase, curve);
    tcase_add_test(tcase, text_of_unknown_origin);
    tcase_add_test(tcase, dates);
    tcase_add_test(tcase, compact_is_one_line);
    suite_add_tcase(suite, tcase);
    return suite;
}
