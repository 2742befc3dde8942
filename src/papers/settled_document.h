/* settled_document.h - what was read of a log as parts of a JSON document, in SI units (temperature: degree Celsius)
 */
#ifndef DUTYPROOF_SETTLED_DOCUMENT_H
#define DUTYPROOF_SETTLED_DOCUMENT_H

#include "papers/json_document.h"
#include "settle/settle.h"

/* File, SHA-256, rows, kind, and what bad samples were met. */
json_t *log_value(struct json_document *doc, const struct log *log, enum log_kind kind);

/* Puts number, readings, time and steadiness of a point. */
void put_settled(struct json_document *doc, json_t *object, const struct settled_point *point);

/* The statistics of each channel that was read so many times at least at a point, under its name: deviation, standard
 * error and effective number of readings where it was read twice or more, the drift in a record. */
json_t *statistics_value(struct json_document *doc, const struct settled_point *point, enum log_kind kind,
                         size_t least);

#endif
