/* json_document.h - building a JSON document of which any allocation may fail (inside the library only)
 */
#ifndef DUTYPROOF_SRC_JSON_DOCUMENT_H
#define DUTYPROOF_SRC_JSON_DOCUMENT_H

#include "base/arena.h"
#include "base/date.h"
#include "base/quantity.h"
#include "base/status.h"

#include <jansson.h>

/* A document under construction; {0} is ready to use. Every value goes through put_value() or append_value(), so that
 * one flag tells whether memory ran out anywhere: jansson refuses a NULL object, array or value, so a failed allocation
 * passes through to the flag. */
struct json_document {
    struct arena arena; /* texts that had to be made UTF-8 */
    bool failed;
};

/* Both take value over, also when they fail. */
void put_value(struct json_document *doc, json_t *object, const char *key, json_t *value);
void append_value(struct json_document *doc, json_t *array, json_t *value);

/* Absent texts (NULL or "") and absent quantities have no key. */
void put_text(struct json_document *doc, json_t *object, const char *key, const char *text);
void put_quantity(struct json_document *doc, json_t *object, const char *key, struct quantity q);
void put_count(struct json_document *doc, json_t *object, const char *key, size_t count);

/* ISO 8601, as it was written: the time of day and the offset only where there is one. An unknown date has no key. */
void put_date(struct json_document *doc, json_t *object, const char *key, const struct date *date);

/* A text that is there even when it is empty; made UTF-8 where it is not. */
json_t *text_value(struct json_document *doc, const char *text);

/* Ends the document: takes root over, frees what the document holds. The text ends in a line end, indented by two or on
 * one line when compact. Memory: *text from malloc, the caller frees it. Status: E_MEMORY. */
enum status json_document_end(struct json_document *doc, json_t *root, bool compact, char **text, size_t *length);

#endif
