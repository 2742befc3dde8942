/* Numbers in groups of three. Expected by how such numbers are written: ISO 80000-1:2009, 7.3.1 (groups of three set
 * apart by a small space, from memory), and the customs of spreadsheets. */
#include "base/grouped.h"
#include "near.h"

#include <string.h>

#define COUNT(array) ((int)(sizeof(array) / sizeof *(array)))

static const struct {
    const char *text;
    bool read;
    double value;
} numbers[] = {
    {"1 080", true, 1080},
    {"1\u00a0080,5", true, 1080.5},
    {"12\u2009345\u2009678.25", true, 12345678.25},
    {"-1\u202f080", true, -1080},
    {"1'080.5", true, 1080.5},
    {"1,450.5", true, 1450.5},
    {"1.450,5", true, 1450.5},
    {"1,450,000", true, 1450000},
    {"\u00a012.5\u00a0", true, 12.5},
    {"1,450", false, 0}, /* 1450 or 1.45 */
    {"1.450", false, 0},
    {"1 08", false, 0},
    {"1 0800", false, 0},
    {"1234 567", false, 0},
    {"1,45,000", false, 0},
    {"1,450.000,5", false, 0},
    {"1 450,000.5", false, 0},
    {"1 450 bar", false, 0},
    {"", false, 0},
    {"-", false, 0},
    {" ", false, 0},
};

START_TEST(grouped_numbers)
{
    double value = 7;
    ck_assert_int_eq(number_grouped(numbers[_i].text, strlen(numbers[_i].text), &value), numbers[_i].read);
    ck_assert_double_eq(value, numbers[_i].read ? numbers[_i].value : 7);
}
END_TEST

START_TEST(grouped_two_ways)
{
    double grouped, decimal;
    ck_assert(number_two_ways("1.080", 5, &grouped, &decimal));
    ck_assert_double_eq(grouped, 1080);
    ck_assert_double_eq(decimal, 1.08);
    ck_assert(number_two_ways("-12,345", 7, &grouped, &decimal));
    ck_assert_double_eq(grouped, -12345);
    ck_assert_double_eq(decimal, -12.345);
    ck_assert(!number_two_ways("0.125", 5, &grouped, &decimal)); /* no thousand begins with 0 */
    ck_assert(!number_two_ways("1234.567", 8, &grouped, &decimal));
    ck_assert(!number_two_ways("1.08", 4, &grouped, &decimal));
    ck_assert(!number_two_ways("1.0800", 6, &grouped, &decimal));
}
END_TEST

Suite *grouped_suite(void);
Suite *grouped_suite(void)
{
    Suite *suite = suite_create("grouped");
    TCase *all = tcase_create("grouped");
    tcase_add_loop_test(all, grouped_numbers, 0, COUNT(numbers));
    tcase_add_test(all, grouped_two_ways);
    suite_add_tcase(suite, all);
    return suite;
}
