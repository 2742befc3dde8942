/* date.h - ISO 8601 dates and times of day
 */
#ifndef DUTYPROOF_DATE_H
#define DUTYPROOF_DATE_H

#include <stdbool.h>
#include <stddef.h>

/* A calendar date, optionally with a time of day and an offset. known false: absent. */
struct date {
    bool known, has_time;
    int year, month, day;
    double seconds;        /* since midnight, as written */
    double offset_seconds; /* east of UTC; 0 when none is written */
};

/* Parses YYYY-MM-DD, optionally followed by 'T' or a space and hh:mm[:ss[.fff]] and optionally Z or +hh:mm.
 * The date must exist in the calendar (years 1900 to 2199). Returns: true and *date, or false. */
bool date_parse(const char *text, struct date *date);

/* The same at most length bytes, for the log's hot path. */
bool date_parse_n(const char *text, size_t length, struct date *date);

/* How a bay writes 05/06/2026; only such dates have an order, 2026-06-05 is always year first. */
enum date_order { DATE_ORDER_UNSTATED, DATE_DAY_FIRST, DATE_MONTH_FIRST, DATE_YEAR_FIRST };

enum date_reading { DATE_NONE, DATE_READ, DATE_TWO_WAYS };

/* Parses what date_parse does, and three numbers with '/', '.' or '-' between them in the given order, optionally with
 * a time of day after a space. Unstated: the order that makes a date of the calendar, where there is but one; a year of
 * two digits has no order of its own and is of 2000 to 2099. Returns: DATE_TWO_WAYS and *date (day first) and *other
 * (month first) where both orders make a date and none is stated. */
enum date_reading date_read(const char *text, size_t length, enum date_order order, struct date *date,
                            struct date *other);

/* Parses a time of day or of a stop-watch, h:mm:ss or hh:mm:ss.fff (a comma for the point too): hours may have any
 * number of digits up to four. Returns: true and *seconds, or false. */
bool clock_parse(const char *text, size_t length, double *seconds);

/* Days from 1970-01-01 by the proleptic Gregorian calendar. */
long date_days(const struct date *date);

/* Seconds from 1970-01-01T00:00:00Z. Needs known. */
double date_seconds(const struct date *date);

/* <0, 0, >0: the calendar day of a is before, is, is after that of b. */
int date_compare_days(const struct date *a, const struct date *b);

/* <0, 0, >0: a is before, with, after b; 0 also where it cannot be told: on one day, when one has no time of day. Both
 * are known. */
int date_compare(const struct date *a, const struct date *b);

#endif
