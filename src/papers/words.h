/* words.h - what the papers say, in the language of the paper
 *
 * Every word that a paper prints passes through say(): its English form is the key of the catalogue, as in a .po file.
 * What a bay typed itself is printed as typed; numbers, units and signs never change.
 */
#ifndef DUTYPROOF_PAPERS_WORDS_H
#define DUTYPROOF_PAPERS_WORDS_H

#include "papers/document.h"
#include "papers/figures.h"
#include "run/result.h"

#if defined(__GNUC__)
#define SAYS_FORMAT __attribute__((format_arg(2)))
#else
#define SAYS_FORMAT
#endif

/* The English text in the document's language; itself where the catalogue has none. */
const char *say(const struct document *document, const char *english) SAYS_FORMAT;

/* A verdict as it leads a paper: "✔ PASS", "✘ FAIL", "– NOT JUDGED"; and its tone. */
const char *verdict_mark(const struct document *document, enum verdict verdict);
enum tone verdict_tone(enum verdict verdict);

/* What a check found, in words that a bay understands: "13.0 L/min too low (257.0, at least 270.0 L/min)"; "" where the
 * table says all there is to say. */
enum { CHECK_WORDS = 600 };
char *check_words(struct document *document, const struct check *check, const struct duty_result *duty,
                  const struct figure_units *units, char out[CHECK_WORDS]);

/* How flow was measured: "flow meter", "orifice plate", ... */
const char *flow_method_words(const struct document *document, enum flow_method method);

/* The usual cautions of a test bay (common practice, no source), for every paper that sends somebody to open a set. */
const char *safety_words(const struct document *document);

/* "caution", "input". */
const char *note_words(const struct document *document, enum note_kind kind);

#endif
