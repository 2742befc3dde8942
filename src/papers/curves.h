/* curves.h - the plot of a unit: head, efficiency, input power and current over flow, at rated speed
 */
#ifndef DUTYPROOF_PAPERS_CURVES_H
#define DUTYPROOF_PAPERS_CURVES_H

#include "papers/plot.h"
#include "papers/words.h"

/* Everything in the units of the papers. The current is drawn where it is checked. Returns: the plot in the arena; NULL
 * when memory is out. A result without a flow gives panels that say so. */
struct plot *curves_plot(const struct document *document, const struct result *result, const struct figure_units *units,
                         struct arena *arena);

#endif
