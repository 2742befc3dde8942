/* asked.h - what a command or a list asked of a test beyond its log, as rows of text and back
 *
 * The form is that of inputs.h, the row being "asked"; what was not asked has no line.
 */
#ifndef DUTYPROOF_RUN_ASKED_H
#define DUTYPROOF_RUN_ASKED_H

#include "run/unit.h"

/* Returns: the rows in the arena, "" where nothing was asked; NULL when memory is out. */
const char *asked_text(const struct unit_request *request, struct arena *arena);

/* Fills what the rows ask for into a request; the rest of it is left alone. A line that is not understood is passed
 * over. Status: E_MEMORY. */
enum status asked_read(const char *rows, struct arena *arena, struct unit_request *request);

#endif
