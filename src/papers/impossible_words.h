/* impossible_words.h - what makes a record one that cannot be judged, and the slip that is likely behind it, in words
 */
#ifndef DUTYPROOF_IMPOSSIBLE_WORDS_H
#define DUTYPROOF_IMPOSSIBLE_WORDS_H

#include "papers/words.h"
#include "run/result.h"

enum { ODD_WORDS = 256 };

/* "point 3 (log line 9): set efficiency 251.6 %, no such set gives more than 85.0 %". Returns: out. */
char *odd_words(const struct document *document, const struct odd_value *odd, const struct result *result,
                const struct figure_units *units, char out[ODD_WORDS]);

/* "likely input power is 1000 times too small at point 3: ..."; says so where no one slip explains it. "" where nothing
 * is impossible. Returns: out. */
char *likely_words(const struct document *document, const struct result *result, char out[ODD_WORDS]);

/* Both, for a verdict: the first value, how many more there are, and the slip. "" where nothing is impossible.
 * Returns: out. */
enum { IMPOSSIBLE_WORDS = 2 * ODD_WORDS + 64 };
char *impossible_words(const struct document *document, const struct result *result, const struct figure_units *units,
                       char out[IMPOSSIBLE_WORDS]);

#endif
