/* Dates against POSIX's "seconds since the epoch" and well-known instants of Unix time. */
#include "base/clock.h"
#include "base/date.h"
#include "near.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define COUNT(array) ((int)(sizeof(array) / sizeof *(array)))

/* Unix time 10^9, 1234567890 and 2^31 - 1 are in any reference on the subject. */
static const struct {
    const char *text;
    double want_seconds;
} instants[] = {
    {"1970-01-01", 0.0},
    {"1969-12-31T23:59:59Z", -1.0},
    {"2001-09-09T01:46:40Z", 1e9},
    {"2009-02-13 23:31:30", 1234567890.0},
    {"2038-01-19T03:14:07Z", 2147483647.0},
    {"2038-01-19T08:44:07+05:30", 2147483647.0},
    {"2038-01-18T19:14:07-08:00", 2147483647.0},
    {"1970-01-01T00:01", 60.0},
    {"1970-01-01T00:00:00.25", 0.25},
    {"1970-01-01T00:00:00,25Z", 0.25},
    {"  1970-01-02  ", 86400.0},
};

START_TEST(date_instants)
{
    struct date date;
    ck_assert(date_parse(instants[_i].text, &date));
    ck_assert(date.known);
    near_abs(date_seconds(&date), instants[_i].want_seconds, 0.0); /* all are exact in a double */
}
END_TEST

static const char *const refused[] = {
    "",
    "2025",
    "2025-1-5",
    "2025-13-01",
    "2025-00-10",
    "2025-01-00",
    "2025-04-31",
    "2025-02-29",
    "2100-02-29",
    "1900-02-29",
    "1899-12-31",
    "2200-01-01",
    "05-01-2025",
    "2025/01/05",
    "2025-01-05x",
    "2025-01-05T",
    "2025-01-05T7:00",
    "2025-01-05T24:00",
    "2025-01-05T12:60",
    "2025-01-05T12:00:60",
    "2025-01-05T12:00:",
    "2025-01-05T12:00:00.",
    "2025-01-05T12:00:00 Z",
    "2025-01-05T12:00+5:30",
    "2025-01-05T12:00+05",
    "2025-01-05T12:00+24:00",
    "2025-01-05T12:00ZZ",
    "2025-01-05Z",
    "+025-01-05",
    "2025-01--5",
    "2025-01-05T12:00:00.5e1",
    "20250105",
};

START_TEST(date_refused)
{
    struct date date = {.year = 42};
    ck_assert_msg(!date_parse(refused[_i], &date), "'%s' was accepted", refused[_i]);
    ck_assert(!date.known && date.year == 42);
}
END_TEST

START_TEST(date_fields)
{
    struct date date;
    ck_assert(date_parse("2024-02-29T23:59:59.5+05:30", &date));
    ck_assert_int_eq(date.year, 2024);
    ck_assert_int_eq(date.month, 2);
    ck_assert_int_eq(date.day, 29);
    ck_assert(date.has_time);
    near_abs(date.seconds, 86399.5, 0.0);
    near_abs(date.offset_seconds, 19800.0, 0.0);
    ck_assert(date_parse("2024-02-29", &date));
    ck_assert(!date.has_time);
}
END_TEST

/* Nothing beyond length is read: the copy ends where the text ends, and every shorter length is tried. */
START_TEST(date_length)
{
    static const char text[] = "2025-01-05T12:34:56.250+05:30";
    for (size_t length = 0; length < sizeof text; length++) {
        char *exact = malloc(length > 0 ? length : 1);
        ck_assert_ptr_nonnull(exact);
        memcpy(exact, text, length);
        struct date date;
        bool whole = length == 10 || length == 16 || length == 19 || (length >= 21 && length <= 23) || length == 29;
        ck_assert_msg(date_parse_n(exact, length, &date) == whole, "%zu characters", length);
        free(exact);
    }
}
END_TEST

/* IEEE Std 1003.1, "Seconds Since the Epoch", without the time of day; years from 1970. */
static long posix_days(int year, int day_of_year)
{
    int y = year - 1900;
    return day_of_year + (y - 70) * 365L + (y - 69) / 4 - (y - 1) / 100 + (y + 299) / 400;
}

/* Every day of the calendar in turn: those that are accepted follow each other without a gap. */
START_TEST(date_every_day)
{
    long days = -25567, first = days; /* 1900-01-01: 70 years with 17 leap days before the epoch */
    for (int year = 1900; year <= 2199; year++) {
        int day_of_year = 0;
        for (int i = 0; i < 12 * 31; i++) {
            char text[32];
            struct date date;
            (void)snprintf(text, sizeof text, "%04d-%02d-%02d", year, i / 31 + 1, i % 31 + 1);
            if (!date_parse(text, &date)) {
                continue;
            }
            ck_assert_msg(date_days(&date) == days, "%s is day %ld, want %ld", text, date_days(&date), days);
            ck_assert(year < 1970 || days == posix_days(year, day_of_year));
            days++;
            day_of_year++;
        }
    }
    ck_assert_int_eq(days - first, 300 * 365 + 73); /* leap days 1904 to 2196 but 2100 */
}
END_TEST

START_TEST(date_compared)
{
    struct date due, tested;
    ck_assert(date_parse("2025-06-30", &due) && date_parse("2025-06-30T18:00", &tested));
    ck_assert_int_eq(date_compare_days(&tested, &due), 0);
    ck_assert(date_parse("2025-07-01", &tested));
    ck_assert_int_gt(date_compare_days(&tested, &due), 0);
    ck_assert_int_lt(date_compare_days(&due, &tested), 0);
}
END_TEST

/* Dates of a bay: a day above 12 tells the order, else it must be stated. Expected by the calendar. */
static const struct {
    const char *text;
    enum date_order order;
    enum date_reading reading;
    int year, month, day;
} bay_dates[] = {
    {"31/05/2026", DATE_ORDER_UNSTATED, DATE_READ, 2026, 5, 31},
    {"05/31/2026", DATE_ORDER_UNSTATED, DATE_READ, 2026, 5, 31},
    {"05/06/2026", DATE_ORDER_UNSTATED, DATE_TWO_WAYS, 2026, 6, 5},
    {"06/06/2026", DATE_ORDER_UNSTATED, DATE_READ, 2026, 6, 6},
    {"05/06/2026", DATE_DAY_FIRST, DATE_READ, 2026, 6, 5},
    {"5.6.26", DATE_MONTH_FIRST, DATE_READ, 2026, 5, 6},
    {"31/05/2026", DATE_MONTH_FIRST, DATE_NONE, 0, 0, 0},
    {"26-06-05", DATE_YEAR_FIRST, DATE_READ, 2026, 6, 5},
    {"2026/06/05", DATE_DAY_FIRST, DATE_READ, 2026, 6, 5},
    {"2026-06-05", DATE_DAY_FIRST, DATE_READ, 2026, 6, 5},
    {"30/02/2026", DATE_DAY_FIRST, DATE_NONE, 0, 0, 0},
    {"05/06.2026", DATE_DAY_FIRST, DATE_NONE, 0, 0, 0},
    {"12.5", DATE_DAY_FIRST, DATE_NONE, 0, 0, 0},
};

START_TEST(date_of_a_bay)
{
    struct date date, other;
    const char *text = bay_dates[_i].text;
    ck_assert_int_eq(date_read(text, strlen(text), bay_dates[_i].order, &date, &other), bay_dates[_i].reading);
    if (bay_dates[_i].reading != DATE_NONE) {
        ck_assert_int_eq(date.year, bay_dates[_i].year);
        ck_assert_int_eq(date.month, bay_dates[_i].month);
        ck_assert_int_eq(date.day, bay_dates[_i].day);
    }
}
END_TEST

START_TEST(date_clock)
{
    double seconds;
    ck_assert(clock_parse("0:00:05", 7, &seconds) && seconds == 5.0);
    ck_assert(clock_parse("100:01:00.25", 12, &seconds) && seconds == 360060.25);
    ck_assert(clock_parse("23:59:59,5", 10, &seconds) && seconds == 86399.5);
    ck_assert(!clock_parse("10:05", 5, &seconds));
    ck_assert(!clock_parse("1:60:00", 7, &seconds));
    ck_assert(!clock_parse("1:00:00 pm", 10, &seconds));
}
END_TEST

/* A day ahead is a time zone's, more is a slip. 1715558400: 2024-05-13T00:00:00Z (date -u -d @1715558400). */
START_TEST(date_ahead_of_the_clock)
{
    struct date day, tested;
    char text[CLOCK_TEXT];
    ck_assert_int_eq(setenv("SOURCE_DATE_EPOCH", "1715558400", 1), 0);
    ck_assert_str_eq(clock_text(text), "2024-05-13T00:00:00Z");
    ck_assert(date_parse("2024-05-14", &day) && date_parse("2024-05-14T00:00:01", &tested));
    ck_assert(!clock_is_ahead(&day) && clock_is_ahead(&tested));
    ck_assert_int_eq(unsetenv("SOURCE_DATE_EPOCH"), 0);
}
END_TEST

Suite *date_suite(void);
Suite *date_suite(void)
{
    Suite *suite = suite_create("date");
    TCase *all = tcase_create("date");
    tcase_add_loop_test(all, date_instants, 0, COUNT(instants));
    tcase_add_loop_test(all, date_refused, 0, COUNT(refused));
    tcase_add_test(all, date_fields);
    tcase_add_test(all, date_length);
    tcase_add_test(all, date_every_day);
    tcase_add_test(all, date_compared);
    tcase_add_loop_test(all, date_of_a_bay, 0, COUNT(bay_dates));
    tcase_add_test(all, date_clock);
    tcase_add_test(all, date_ahead_of_the_clock);
    suite_add_tcase(suite, all);
    return suite;
}
