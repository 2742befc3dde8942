/* judged.h - what the register keeps of a result, read from its result document, and how two of them differ
 */
#ifndef DUTYPROOF_FILING_JUDGED_H
#define DUTYPROOF_FILING_JUDGED_H

#include "register/register.h"

/* Fills serial, model, order, tested, verdict, figures, log digest, program of a judgement from a result document.
 * Texts live in the arena. Returns: false when it is no result document (or memory is out). */
bool judged_read(const char *document, size_t length, struct arena *arena, struct judgement *judgement);

/* A text that a result document states at its top ("bay", "tester"), in the arena; NULL when there is none. */
const char *judged_text(const char *document, size_t length, const char *key, struct arena *arena);

/* How a result differs from the one before it where that does not show in the rows of tables: the program, the model,
 * the dates, the names that it states, what was asked; a line a change. before and after: result documents. Returns:
 * the lines in the arena; NULL when memory is out. */
const char *judged_changes(const char *before, size_t before_length, const char *after, size_t after_length,
                           struct arena *arena);

/* The first thing in which two result documents differ, as "duties[0].verdict is 'pass', not 'fail'"; "" when they say
 * the same. Returns: NULL when memory is out. */
const char *judged_difference(const char *is, size_t is_length, const char *should, size_t should_length,
                              struct arena *arena);

/* The libraries that take part in a result, with the versions that are at work. Returns: NULL when memory is out. */
const char *judged_libraries(struct arena *arena);

#endif
