/* The sheet as text: verdict first, nothing wider than its columns, columns lined up, hostile text made harmless; and
 * points.csv. */
#include "base/text.h"
#include "made_result.h"
#include "near.h"
#include "papers/layout.h"
#include "papers/render.h"
#include "tables/table.h"

#include <stdio.h>
#include <stdlib.h>

static char *sheet_of(const struct result *result, bool colour)
{
    char *text = NULL;
    size_t length = 0;
    FILE *to = open_memstream(&text, &length);
    ck_assert_ptr_nonnull(to);
    ck_assert_int_eq(render_sheet_text(result, colour, to), OK);
    ck_assert_int_eq(fclose(to), 0);
    return text;
}

/* No line is wider than the sheet, none ends in a space. */
static void expect_fits(const char *text)
{
    for (const char *line = text; *line != '\0';) {
        size_t length = strcspn(line, "\n");
        char copy[2000];
        ck_assert_uint_lt(length, sizeof copy);
        memcpy(copy, line, length);
        copy[length] = '\0';
        ck_assert_msg(text_columns(copy) <= LAYOUT_WIDTH, "too wide: %s", copy);
        ck_assert_msg(length == 0 || copy[length - 1] != ' ', "ends in a space: '%s'", copy);
        line += length + 1;
    }
}

START_TEST(verdict_first)
{
    static const struct {
        enum verdict verdict;
        enum calibration calibration;
        const char *start;
    } rows[] = {
        {VERDICT_PASS, CALIBRATION_VALID, "PASS  "},
        {VERDICT_FAIL, CALIBRATION_VALID, "FAIL  "},
        {VERDICT_NOT_JUDGED, CALIBRATION_OVERDUE, "NOT JUDGED  "},
        {VERDICT_PASS, CALIBRATION_OVERDUE, "PASS, CALIBRATION OVERDUE  "},
    };
    struct made_result made;
    make_result(&made);
    made.result.verdict = rows[_i].verdict;
    made.result.calibration = rows[_i].calibration;
    char *text = sheet_of(&made.result, false);
    ck_assert_msg(strncmp(text, rows[_i].start, strlen(rows[_i].start)) == 0, "%s", text);
    free(text);
}
END_TEST

START_TEST(holds_what_it_must)
{
    static const char *const parts[] = {"SN-1",
                                        "M-10",
                                        "Test bay",
                                        "2024-03-01",
                                        "a made-up source",
                                        "a caution",
                                        "FM-7",
                                        "efficiency, input power",
                                        "the valve moved",
                                        "38.95 to 43.05",
                                        "48.1",
                                        "5.000"};
    struct made_result made;
    make_result(&made);
    char *text = sheet_of(&made.result, false);
    ck_assert_msg(strstr(text, parts[_i]) != NULL, "'%s' is not in:\n%s", parts[_i], text);
    ck_assert_ptr_null(strchr(text, '\033'));
    expect_fits(text);
    free(text);
}
END_TEST

START_TEST(colour_only_where_asked)
{
    struct made_result made;
    make_result(&made);
    char *text = sheet_of(&made.result, true);
    ck_assert_ptr_nonnull(strstr(text, "\033[1;32mPASS\033[0m"));
    free(text);
}
END_TEST

START_TEST(hostile_text)
{
    struct made_result made;
    make_result(&made);
    char serial[400];
    memset(serial, 'W', sizeof serial - 1);
    serial[sizeof serial - 1] = '\0';
    made.result.serial = serial;
    made.result.tester = "\033[2J\r\xff%s%n";
    made.notes[0].text = serial;
    made.instrument.serial = serial;
    made.bay.rig.name = "पंप परीक्षण केंद्र पंप परीक्षण केंद्र पंप परीक्षण केंद्र पंप परीक्षण केंद्र पंप परीक्षण केंद्र";
    char *text = sheet_of(&made.result, false);
    ck_assert_ptr_null(strchr(text, '\033'));
    ck_assert_ptr_null(strchr(text, '\r'));
    ck_assert_ptr_nonnull(strstr(text, "%s%n"));
    free(text);
}
END_TEST

START_TEST(grid_lines_up)
{
    struct arena arena = {0};
    struct grid grid = {.arena = &arena, .columns = "lrl"};
    static const char *const cells[] = {"é", "n", "x", "abc", "12.5", "y", "ö", "-", ""};
    char *text = NULL;
    size_t length = 0;
    for (size_t i = 0; i < sizeof cells / sizeof cells[0]; i++) {
        grid_add(&grid, cells[i]);
    }
    FILE *to = open_memstream(&text, &length);
    ck_assert_ptr_nonnull(to);
    ck_assert_int_eq(grid_print(&grid, false, to), OK);
    ck_assert_int_eq(fclose(to), 0);
    ck_assert_str_eq(text, "  é       n  x\n  abc  12.5  y\n  ö       -\n");
    free(text);
    arena_release(&arena);
}
END_TEST

START_TEST(grid_leaves_empty_columns_out)
{
    struct arena arena = {0};
    struct grid grid = {.arena = &arena, .columns = "lrr", .heading_rows = 2};
    static const char *const cells[] = {"a", "b", "c", "", "m", "kW", "1", "-", "2"};
    char *text = NULL;
    size_t length = 0;
    for (size_t i = 0; i < sizeof cells / sizeof cells[0]; i++) {
        grid_add(&grid, cells[i]);
    }
    FILE *to = open_memstream(&text, &length);
    ck_assert_ptr_nonnull(to);
    ck_assert_int_eq(grid_print(&grid, false, to), OK);
    ck_assert_int_eq(fclose(to), 0);
    ck_assert_str_eq(text, "  a   c\n     kW\n  1   2\n");
    free(text);
    arena_release(&arena);
}
END_TEST

START_TEST(points_csv_is_a_table)
{
    struct made_result made;
    struct arena arena = {0};
    struct table table;
    struct faults faults = {0};
    char *text = NULL;
    size_t length = 0;
    make_result(&made);
    made.settled[1].why_unsteady = "a \"quoted\", reason";
    FILE *to = open_memstream(&text, &length);
    ck_assert_ptr_nonnull(to);
    render_points_csv(&made.result, to);
    ck_assert_int_eq(fclose(to), 0);
    ck_assert_int_eq(table_parse("points.csv", text, length, 0, &arena, &table, &faults), OK);
    ck_assert_uint_eq(table.row_count, 2);
    size_t flow = 0, remark = table.column_count - 1;
    while (flow < table.column_count && strcmp(table.columns[flow].name, "flow as tested") != 0) {
        flow++;
    }
    ck_assert_uint_lt(flow, table.column_count);
    ck_assert_str_eq(table.columns[flow].unit, "L/s");
    double value = 0;
    ck_assert(number_parse(table.rows[0].cells[flow], strlen(table.rows[0].cells[flow]), '.', &value));
    near_abs(value, 5.0, 0.0005); /* as many decimals as the papers show */
    ck_assert_str_eq(table.rows[1].cells[remark], "a \"quoted\", reason");
    ck_assert_str_eq(table.rows[1].cells[flow + 1], ""); /* the head was not measured */
    free(text);
    arena_release(&arena);
}
END_TEST

Suite *render_text_suite(void);
Suite *render_text_suite(void)
{
    Suite *suite = suite_create("render_text");
    TCase *tcase = tcase_create("core");
    tcase_add_loop_test(tcase, verdict_first, 0, 4);
    tcase_add_loop_test(tcase, holds_what_it_must, 0, 12);
    tcase_add_test(tcase, colour_only_where_asked);
    tcase_add_test(tcase, hostile_text);
    tcase_add_test(tcase, grid_lines_up);
    tcase_add_test(tcase, grid_leaves_empty_columns_out);
    tcase_add_test(tcase, points_csv_is_a_table);
    suite_add_tcase(suite, tcase);
    return suite;
}
