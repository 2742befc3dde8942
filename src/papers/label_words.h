/* label_words.h - a label in words, for the sheet, the certificate and the terminal (computes nothing)
 */
#ifndef DUTYPROOF_LABEL_WORDS_H
#define DUTYPROOF_LABEL_WORDS_H

#include "label/label.h"
#include "papers/figures.h"

enum { LABEL_TEXT = 600 };

/* "4 star", or where an edge lies within the uncertainty "4 star, undecided (3 star to 4 star)"; "none: WHY" without a
 * label; "" where none was asked for. Returns: out. */
char *label_class_text(const struct label_result *label, char out[LABEL_TEXT]);

/* The index as it is printed and unrounded: "1.30 (1.30956)"; "-" when absent. Returns: out. */
char *label_index_text(const struct label_result *label, char out[FIGURE_TEXT]);

/* One line of it all, for a table's cell or a certificate: "4 star, index 1.30, by schedule 7". "" where no label was
 * asked for. Returns: out. */
char *label_summary(const struct label_result *label, char out[LABEL_TEXT]);

/* How far an edge lies: "4 star needs 55.90 %: 0.40 points and 63 W to spare", "5 star needs 60.20 %: 3.90 points and
 * 590 W short". hours: of running a year, for kWh; absent: not stated. "" where there is no such class. Returns: out.
 */
char *label_margin_text(const struct label_margin *margin, struct quantity hours, char out[LABEL_TEXT]);

/* A signed difference of efficiency in points, "+0.40". "-" when absent. Returns: out. */
char *points_text(struct quantity difference, char out[FIGURE_TEXT]);

#endif
