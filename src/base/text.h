/* text.h - numbers and words in text: parsing, comparing, making safe to show
 */
#ifndef DUTYPROOF_TEXT_H
#define DUTYPROOF_TEXT_H

#include "base/arena.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

/* Parses a decimal number: [+-] digits [point digits] [e[+-]digits], surrounding spaces allowed, the whole text used.
 * One side of the point may be empty (".5", "5.").
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
 * bidirectional controls, zero-width characters and bytes that are not UTF-8 become U+FFFD; at most max_characters
 * characters are kept, the last of them an ellipsis if something was cut. Combining marks beyond three on one base are
 * dropped. Returns: the text in the arena; NULL when memory is out. */
char *text_shown(struct arena *arena, const char *text, size_t max_characters);

/* Writes text into out, which holds size bytes, 1 or more: what does not fit is cut off. Returns: out. */
char *text_put(char *out, size_t size, const char *text);

/* Writes a cell of a CSV table in quotes, which any text may stand in (NULL: an empty one); control characters become
 * spaces. One that begins as a formula does is led by an apostrophe, so that a spreadsheet does not compute it. */
void text_quote_csv(const char *text, FILE *to);

/* Number of characters (code points that take a place: combining marks count 0) of UTF-8 text. */
size_t text_columns(const char *utf8);

/* Formats value with the given number of significant digits (1 to 17), rounded as number_round does, never in exponent
 * form for magnitudes between 1e-4 and 1e9, trailing zeros kept (they are significant). Locale-independent.
 * Returns: out; an empty text when value is not finite or when it does not fit, never a cut number. */
char *number_format(double value, int significant, char *out, size_t size);

/* Rounds to the given number of significant digits (1 to 17); a value exactly halfway goes to the even digit, by the
 * rule of IS 2:1960. "Exactly halfway" is judged on the value in decimal to 15 digits, what every double carries, so
 * that 2.675 counts as the half that it was written as although its binary form lies below: 2.68 to three digits. */
double number_round(double value, int significant);

/* Significant digits of a number as it was written, with either point ("40.0" has 3, "1200" has 4, "0.050" has 2; a
 * zero has 1). 0 if it is not a number. */
int number_significant(const char *text);

#endif
