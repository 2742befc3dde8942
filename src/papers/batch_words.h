/* batch_words.h - what a batch found of a test, in words
 */
#ifndef DUTYPROOF_BATCH_WORDS_H
#define DUTYPROOF_BATCH_WORDS_H

#include "batch/batch_record.h"

/* Why a test fails or is not judged: "flow and head fails; set efficiency not judged: ..."; "" when it passes. Lives in
 * the arena, fit to be shown. Returns: NULL when memory is out. */
const char *batch_reason_text(const struct batch_test *test, struct arena *arena);

#endif
