/* grouped.h - numbers whose digits stand in groups of three: "1 080", "1,450.5", "1.450,5"
 */
#ifndef DUTYPROOF_GROUPED_H
#define DUTYPROOF_GROUPED_H

#include <stdbool.h>
#include <stddef.h>

/* Parses a number whose groups leave no doubt: they are set apart by a space (plain, no-break, thin, narrow) or an
 * apostrophe; or by a comma or point, and there are several such signs or the other sign follows as the decimal sign.
 * No-break spaces around it are skipped. Returns: true and *value, or false. */
bool number_grouped(const char *text, size_t length, double *value);

/* True for digits as "1.234" or "12,345", which could be a whole number or one with three decimals. *grouped and
 * *decimal become the two readings. */
bool number_two_ways(const char *text, size_t length, double *grouped, double *decimal);

#endif
