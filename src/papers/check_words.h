/* check_words.h - what judging found, in words: the one place where checks get their names, reasons and sources
 */
#ifndef DUTYPROOF_CHECK_WORDS_H
#define DUTYPROOF_CHECK_WORDS_H

#include "verdict/judge.h"

/* "flow and head", "set efficiency", "pump efficiency", "input power", "current over head range", ... Static. */
const char *check_name(const struct check *check);

/* A check's texts; "" where there is nothing to say. */
struct check_words {
    const char *where;  /* it was read: "at guaranteed flow", "30.00 to 60.00 m, at 12.50 L/s" */
    const char *reason; /* why it is not judged */
    const char *source; /* of its limits */
};

/* The texts of a check on a duty point, quantities in the units that the duty is written in. They live in the arena or
 * are static or the bay's. Status: E_MEMORY: all of them are "". */
enum status check_words_of(const struct check *check, const struct duty *duty, struct arena *arena,
                           struct check_words *words);

/* What the model does not guarantee: "efficiency, input power"; "" when all is stated. Returns: NULL when memory is
 * out. */
const char *not_stated_text(unsigned not_stated, struct arena *arena);

/* Why there is no curve, or where its degree comes from: "3 points, a curve needs at least 4". Returns: out. */
enum { CURVE_TEXT = 160 };
char *curve_why_text(const struct curve *curve, char out[CURVE_TEXT]);

#endif
