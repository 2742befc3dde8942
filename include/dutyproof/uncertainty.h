/* uncertainty.h - how sure the numbers are
 */
#ifndef DUTYPROOF_UNCERTAINTY_H
#define DUTYPROOF_UNCERTAINTY_H

#include "dutyproof/bay.h"
#include "dutyproof/reduce.h"
#include "dutyproof/settle.h"

/* Relative expanded uncertainty (95 %) of a point's quantities; absent where no instrument states its accuracy. */
struct point_uncertainty {
    struct quantity flow, head, input_power, set_efficiency;
};

/* Standard uncertainty of a mean reading from its instrument alone, in SI; absent when the accuracy is not stated (or is of
 * a range that is not stated). ratio: transformer ratio of the channel. Source: JCGM 100:2008 4.3.7 (rectangular), 4.3.3 (normal). */
struct quantity instrument_uncertainty(const struct instrument *instrument, double reading_si, double ratio);

/* Relative expanded uncertainty of a point: the random part (Student t times the standard error of the mean) and the instruments' part
 * combined in quadrature (ISO 9906:2012), each reading's share found by moving it and reducing again. */
struct point_uncertainty point_uncertainty_of(const struct bay *bay, const struct model *model, const struct site *site,
                                              const struct settled_point *settled, const struct means *means,
                                              const struct operating_point *point);

#endif
