/* certainty_words.h - what certainty/ found, in words
 */
#ifndef DUTYPROOF_CERTAINTY_WORDS_H
#define DUTYPROOF_CERTAINTY_WORDS_H

#include "certainty/certainty.h"

/* The source of a share: "flow, instrument", "flow, scatter of readings", "fit of the curves". Returns: out. */
enum { SHARE_TEXT = 64 };
char *share_text(const struct uncertainty_share *share, char out[SHARE_TEXT]);

#endif
