/* date_parse: what it accepts exists in the calendar, and is read again as it would be written */
#include "fuzz.h"

#include "base/date.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

/* Days from 1970-01-01, counted year by year and month by month. */
static long count_days(const struct date *date)
{
    static const int lengths[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    long days = date->day - 1;
    for (int year = 1900; year < date->year; year++) {
        days += 365 + (year % 4 == 0 && (year % 100 != 0 || year % 400 == 0));
    }
    bool leap = date->year % 4 == 0 && (date->year % 100 != 0 || date->year % 400 == 0);
    for (int month = 1; month < date->month; month++) {
        days += lengths[month - 1] + (month == 2 && leap);
    }
    return days - 25567; /* 1900-01-01 to 1970-01-01 */
}

static void write_and_read(const struct date *date)
{
    char text[80];
    struct date again = {0};
    int offset_min = (int)lround(date->offset_seconds / 60.0);
    if (date->has_time) {
        int minutes = (int)(date->seconds / 60.0);
        (void)snprintf(text, sizeof text, "%04d-%02d-%02d %02d:%02d:%02d%c%02d:%02d", date->year, date->month,
                       date->day, minutes / 60, minutes % 60, (int)(date->seconds - minutes * 60.0),
                       offset_min < 0 ? '-' : '+', abs(offset_min) / 60, abs(offset_min) % 60);
    } else {
        (void)snprintf(text, sizeof text, "%04d-%02d-%02d", date->year, date->month, date->day);
    }
    MUST(date_parse(text, &again) && again.known && again.has_time == date->has_time);
    MUST(date_compare_days(date, &again) == 0);
    MUST(fabs(date_seconds(date) - date_seconds(&again)) <= 1.0);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    const struct date untouched = {.year = 7};
    struct date date = untouched;
    if (!date_parse_n((const char *)data, size, &date)) {
        MUST(date.year == 7 && !date.known);
        return 0;
    }
    MUST(date.known && date.year >= 1900 && date.year <= 2199);
    MUST(date.seconds >= 0.0 && date.seconds < 86400.0);
    MUST(date_days(&date) == count_days(&date));
    write_and_read(&date);
    return 0;
}
