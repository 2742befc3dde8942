/* unit_name.h - the name of a serial's folder
 *
 * Letters, digits, '.', '-' and '_' of the serial are kept, every other character becomes '-', a dot at either end '_':
 * TW/26-107 lies in TW-26-107. Only where this name is taken, by another serial or by what else lies in OUT, '~' and
 * digits of the serial's SHA-256 are added; '~' is never kept, so no serial's plain name looks so.
 */
#ifndef DUTYPROOF_FILING_UNIT_NAME_H
#define DUTYPROOF_FILING_UNIT_NAME_H

#include "base/arena.h"

#include <stdbool.h>

enum { UNIT_NAME_LONGEST = 100, UNIT_NAME_DIGITS = 8 };

/* The plain name, at most UNIT_NAME_LONGEST bytes. Returns: NULL when memory is out. */
char *unit_name_plain(struct arena *arena, const char *serial);

/* The name told apart, with so many (at most 64) digits. Returns: NULL when memory is out. */
char *unit_name_marked(struct arena *arena, const char *serial, int digits);

/* True for a name that is not a unit's in OUT: a batch's own paper, the folder of earlier ones, the register. Case does
 * not matter. */
bool unit_name_reserved(const char *name);

#endif
