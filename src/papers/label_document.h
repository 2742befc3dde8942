/* label_document.h - a label as a JSON value (private to the renderers)
 */
#ifndef DUTYPROOF_LABEL_DOCUMENT_H
#define DUTYPROOF_LABEL_DOCUMENT_H

#include "label/label.h"
#include "papers/json_document.h"

/* hours: of running a year, for the energy of the margins; absent: not stated, and no energy is written. */
json_t *label_value(struct json_document *doc, const struct label_result *label, struct quantity hours);

#endif
