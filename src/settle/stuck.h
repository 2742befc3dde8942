/* stuck.h - channels that repeat one value while the others vary
 */
#ifndef DUTYPROOF_STUCK_H
#define DUTYPROOF_STUCK_H

#include "base/notes.h"
#include "settle/blocks.h"

/* A channel of the set's state (flow, pressure, power, current) is stuck where it repeats one value for STUCK_S and
 * STUCK_ROWS at least while another of them varies in every block, although it varies itself in most of the rest of the
 * record; or where it never varies at all. A value of exactly 0 is no sign: flowmeters show it below their cut-off, and
 * everything does while the set is off. Each is counted in log->defects, named in a caution, and kept. Status:
 * E_MEMORY. */
#define STUCK_S 10.0
enum { STUCK_ROWS = 30 };

enum status stuck_find(const struct blocks *blocks, struct arena *arena, struct log *log, struct notes *notes);

#endif
