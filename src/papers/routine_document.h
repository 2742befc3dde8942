/* routine_document.h - the routine results in the result document (private) */
#ifndef DUTYPROOF_ROUTINE_DOCUMENT_H
#define DUTYPROOF_ROUTINE_DOCUMENT_H

#include "papers/json_document.h"
#include "verdict/routine.h"

/* The object under "routine"; routine->row is there. */
json_t *routine_value(struct json_document *doc, const struct routine_result *routine);

#endif
