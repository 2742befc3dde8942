/* clock.h - the time now, or that of SOURCE_DATE_EPOCH (seconds since 1970) where it is set
 *
 * Source: reproducible-builds.org, specification of SOURCE_DATE_EPOCH.
 */
#ifndef DUTYPROOF_CLOCK_H
#define DUTYPROOF_CLOCK_H

#include "base/date.h"

enum { CLOCK_TEXT = 32 };

/* The time now, UTC, "2026-03-12T10:04:05Z". Returns: text; "" when there is no such time. */
const char *clock_text(char text[CLOCK_TEXT]);

/* True when a date lies more than a day ahead of the clock: what a wrong clock or a slip of the pen gives, and no time
 * zone. Needs known. */
bool clock_is_ahead(const struct date *date);

#endif
