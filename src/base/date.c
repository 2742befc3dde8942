#include "base/date.h"
#include "base/text.h"

#include <string.h>

enum { YEAR_FIRST = 1900, YEAR_LAST = 2199, SECONDS_A_DAY = 86400 };

struct cursor {
    const char *at, *end;
};

static bool take(struct cursor *cursor, char wanted)
{
    bool found = cursor->at < cursor->end && *cursor->at == wanted;
    cursor->at += found;
    return found;
}

/* Takes exactly count digits whose number lies in low..high. */
static bool take_number(struct cursor *cursor, int count, int low, int high, int *number)
{
    int taken = 0;
    if (cursor->end - cursor->at < count) {
        return false;
    }
    for (int i = 0; i < count; i++, cursor->at++) {
        if (*cursor->at < '0' || *cursor->at > '9') {
            return false;
        }
        taken = taken * 10 + (*cursor->at - '0');
    }
    *number = taken;
    return taken >= low && taken <= high;
}

static bool is_leap(int year)
{
    return (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
}

static int days_of_month(int year, int month)
{
    static const int days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    return days[month - 1] + (month == 2 && is_leap(year));
}

static bool take_day(struct cursor *cursor, struct date *date)
{
    return take_number(cursor, 4, YEAR_FIRST, YEAR_LAST, &date->year) && take(cursor, '-') &&
           take_number(cursor, 2, 1, 12, &date->month) && take(cursor, '-') &&
           take_number(cursor, 2, 1, days_of_month(date->year, date->month), &date->day);
}

/* Takes what follows the point of the seconds; ISO 8601 allows a comma for it. */
static bool take_fraction(struct cursor *cursor, double *fraction)
{
    const char *start = cursor->at;
    if (!take(cursor, '.') && !take(cursor, ',')) {
        return true;
    }
    while (cursor->at < cursor->end && *cursor->at >= '0' && *cursor->at <= '9') {
        cursor->at++;
    }
    return cursor->at - start > 1 && number_parse(start, (size_t)(cursor->at - start), *start, fraction);
}

static bool take_time(struct cursor *cursor, struct date *date)
{
    int hour, minute, second = 0;
    double fraction = 0.0;
    if (!take_number(cursor, 2, 0, 23, &hour) || !take(cursor, ':') || !take_number(cursor, 2, 0, 59, &minute)) {
        return false;
    }
    if (take(cursor, ':') && !(take_number(cursor, 2, 0, 59, &second) && take_fraction(cursor, &fraction))) {
        return false;
    }
    date->has_time = true;
    date->seconds = hour * 3600 + minute * 60 + second + fraction;
    return true;
}

static bool take_offset(struct cursor *cursor, struct date *date)
{
    int hour, minute;
    if (cursor->at == cursor->end || take(cursor, 'Z')) {
        return true;
    }
    bool west = take(cursor, '-');
    if (!west && !take(cursor, '+')) {
        return false;
    }
    if (!take_number(cursor, 2, 0, 23, &hour) || !take(cursor, ':') || !take_number(cursor, 2, 0, 59, &minute)) {
        return false;
    }
    date->offset_seconds = (west ? -60.0 : 60.0) * (hour * 60 + minute);
    return true;
}

bool date_parse_n(const char *text, size_t length, struct date *date)
{
    struct cursor cursor = {text, text + length};
    struct date read = {.known = true};
    while (take(&cursor, ' ')) {
    }
    while (cursor.end > cursor.at && cursor.end[-1] == ' ') {
        cursor.end--;
    }
    if (!take_day(&cursor, &read)) {
        return false;
    }
    if (take(&cursor, 'T') || take(&cursor, ' ')) {
        if (!take_time(&cursor, &read) || !take_offset(&cursor, &read)) {
            return false;
        }
    }
    if (cursor.at != cursor.end) {
        return false;
    }
    *date = read;
    return true;
}

bool date_parse(const char *text, struct date *date)
{
    return date_parse_n(text, strlen(text), date);
}

/* Takes one to most digits. Returns: how many. */
static int take_digits(struct cursor *cursor, int most, int *number)
{
    int count = 0;
    *number = 0;
    while (count < most && cursor->at < cursor->end && *cursor->at >= '0' && *cursor->at <= '9') {
        *number = *number * 10 + (*cursor->at++ - '0');
        count++;
    }
    return count;
}

/* True when the three numbers are a date of the calendar. */
static bool make_date(int year, int month, int day, struct date *date)
{
    year += year < 100 ? 2000 : 0;
    bool real = year >= YEAR_FIRST && year <= YEAR_LAST && month >= 1 && month <= 12 && day >= 1 &&
                day <= days_of_month(year, month);
    date->known = true;
    date->year = year;
    date->month = month;
    date->day = day;
    return real;
}

enum date_reading date_read(const char *text, size_t length, enum date_order order, struct date *date,
                            struct date *other)
{
    struct cursor cursor = {text, text + length};
    struct date read = {.known = true};
    int a, b, c;
    if (date_parse_n(text, length, date)) {
        return DATE_READ;
    }
    int first = take_digits(&cursor, 4, &a);
    char sign = cursor.at < cursor.end ? *cursor.at : '\0';
    bool three = (sign == '/' || sign == '.' || sign == '-') && take(&cursor, sign) && first > 0 &&
                 take_digits(&cursor, 2, &b) > 0 && take(&cursor, sign) && take_digits(&cursor, 4, &c) > 1;
    if (!three || first == 3 || ((take(&cursor, ' ') || take(&cursor, 'T')) && !take_time(&cursor, &read)) ||
        cursor.at != cursor.end) {
        return DATE_NONE;
    }
    *date = *other = read;
    if (first == 4 || order == DATE_YEAR_FIRST) {
        return make_date(a, b, c, date) ? DATE_READ : DATE_NONE;
    }
    bool day_first = order != DATE_MONTH_FIRST && make_date(c, b, a, date);
    bool month_first = order != DATE_DAY_FIRST && make_date(c, a, b, other);
    if (day_first && month_first) {
        return a == b ? DATE_READ : DATE_TWO_WAYS;
    }
    *date = day_first ? *date : *other;
    return day_first || month_first ? DATE_READ : DATE_NONE;
}

bool clock_parse(const char *text, size_t length, double *seconds)
{
    struct cursor cursor = {text, text + length};
    int hour, minute, second;
    double fraction = 0.0;
    if (take_digits(&cursor, 4, &hour) == 0 || !take(&cursor, ':') || !take_number(&cursor, 2, 0, 59, &minute) ||
        !take(&cursor, ':') || !take_number(&cursor, 2, 0, 59, &second) || !take_fraction(&cursor, &fraction) ||
        cursor.at != cursor.end) {
        return false;
    }
    *seconds = hour * 3600.0 + minute * 60 + second + fraction;
    return true;
}

/* Counts years from March, so that the leap day is a year's last; an era is 400 years of 146097 days. */
long date_days(const struct date *date)
{
    const long days_to_1970 = 719468;
    long year = date->month > 2 ? date->year : date->year - 1;
    long month = (date->month + 9) % 12;
    long era = year / 400, year_of_era = year % 400;
    long day_of_year = (153 * month + 2) / 5 + date->day - 1;
    return era * 146097 + year_of_era * 365 + year_of_era / 4 - year_of_era / 100 + day_of_year - days_to_1970;
}

double date_seconds(const struct date *date)
{
    return (double)date_days(date) * SECONDS_A_DAY + date->seconds - date->offset_seconds;
}

int date_compare_days(const struct date *a, const struct date *b)
{
    long days_a = date_days(a), days_b = date_days(b);
    return (days_a > days_b) - (days_a < days_b);
}

int date_compare(const struct date *a, const struct date *b)
{
    int days = date_compare_days(a, b);
    if (days != 0 || !a->has_time || !b->has_time) {
        return days;
    }
    double a_s = date_seconds(a), b_s = date_seconds(b);
    return a_s < b_s ? -1 : a_s > b_s;
}
