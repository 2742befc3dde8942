/* keeper.h - by whom a row is added
 */
#ifndef DUTYPROOF_REGISTER_KEEPER_H
#define DUTYPROOF_REGISTER_KEEPER_H

#include "base/arena.h"

/* login@host. Returns: NULL when memory is out. */
const char *keeper_name(struct arena *arena);

#endif
