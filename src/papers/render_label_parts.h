/* render_label_parts.h - what the text and the plots of a batch's labels share (private to them)
 */
#ifndef DUTYPROOF_RENDER_LABEL_PARTS_H
#define DUTYPROOF_RENDER_LABEL_PARTS_H

#include "label/label_batch.h"

#include <stdio.h>

/* One line of units, its figures before its units: for a page that may be full before the end. Status: E_MEMORY. */
enum status label_line_text(const struct label_batch *batch, const struct label_line *line, FILE *to);

#endif
