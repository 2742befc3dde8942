/* text.h - numbers and words in text: parsing, comparing, making safe to show
 */
#ifndef DUTYPROOF_TEXT_H
#define DUTYPROOF_TEXT_H

#include "dutyproof/arena.h"

#include <stdbool.h>
#include <stddef.h>

/* Parses a decimal number: [+-] digits [point digits] [e[+-]digits], surrounding spaces allowed, the whole text used.
 * Not accepted: hex, nan, inf, an empty text, a value beyond the range of double (underflow to 0 is accepted).
 * The result is correctly rounded (equal to strtod in the C locale) whatever the locale.
 * point is '.' or ','. Returns: true and *value, or false with *value untouched. */
bool number_parse(const char *text, size_t length, char point, double *value);

/* Folds a name for comparison: lower case (ASCII), runs of space, '_' and '-' become one space, ends trimmed;
 * a no-break space counts as a space. Writes at most size bytes with the NUL. Returns: out. */
char *name_fold(const char *text, char *out, size_t size);

/* True when two names are equal once folded. */
bool name_equal(const char *a, const char *b);

/* The candidate nearest to a mistyped name (Damerau-Levenshtein over folded names), for "did you mean".
 * Returns: the candidate, or NULL when none is near (more than a third of its letters differ). */
const char *name_nearest(const char *name, const char *const *candidates, size_t count);

/* Makes text of unknown origin safe to show on one line: valid UTF-8 is kept; control characters (C0, DEL, C1),
 * bidirectional controls and bytes that are not UTF-8 become U+FFFD; at most max_characters characters are kept, the
 * last of them an ellipsis if something was cut. Combining marks beyond three on one base are dropped.
 * Returns: the text in the arena; NULL when memory is out. */
char *text_shown(struct arena *arena, const char *text, size_t max_characters);

/* Number of characters (code points that take a place: combining marks count 0) of UTF-8 text. */
size_t text_columns(const char *utf8);

/* Formats value with the given number of significant digits, never in exponent form for magnitudes between 1e-4 and 1e9, trailing zeros
 * kept (they are significant). Locale-independent. Returns: out. */
char *number_format(double value, int significant, char *out, size_t size);

/* Rounds to the given number of significant digits, halves away from zero to even as IS 2 rule (round half to even). */
double number_round(double value, int significant);

/* Significant digits of a number as it was written ("40.0" has 3, "1200" has 4, "0.050" has 2). 0 if it is not a number. */
int number_significant(const char *text);

#endif
