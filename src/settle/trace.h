/* trace.h - a record made small enough to draw
 */
#ifndef DUTYPROOF_TRACE_H
#define DUTYPROOF_TRACE_H

#include "settle/blocks.h"
#include "settle/settle.h"

/* Fills out->trace with at most TRACE_BINS_MAX bins. Status: E_MEMORY. */
enum status trace_make(const struct blocks *blocks, struct arena *arena, struct settled *out);

#endif
