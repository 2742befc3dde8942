/* keeper.h - when and by whom a row is added
 */
#ifndef DUTYPROOF_REGISTER_KEEPER_H
#define DUTYPROOF_REGISTER_KEEPER_H

#include "base/arena.h"

/* The time now, UTC, "2026-03-12T10:04:05Z"; that of SOURCE_DATE_EPOCH (seconds since 1970) where it is set.
 * Source: reproducible-builds.org, specification of SOURCE_DATE_EPOCH. Returns: "" when there is no such time. */
const char *keeper_now(char text[32]);

/* login@host. Returns: NULL when memory is out. */
const char *keeper_name(struct arena *arena);

#endif
