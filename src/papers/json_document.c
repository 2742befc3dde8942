#include "papers/json_document.h"

#include "base/memory_stream.h"
#include "base/text.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

void put_value(struct json_document *doc, json_t *object, const char *key, json_t *value)
{
    if (json_object_set_new(object, key, value) != 0) {
        doc->failed = true;
    }
}

void append_value(struct json_document *doc, json_t *array, json_t *value)
{
    if (json_array_append_new(array, value) != 0) {
        doc->failed = true;
    }
}

json_t *text_value(struct json_document *doc, const char *text)
{
    enum { LONGEST_TEXT = 10000 };
    json_t *value = json_string(text);
    if (value == NULL) { /* not UTF-8, or out of memory: then this fails too */
        const char *shown = text_shown(&doc->arena, text, LONGEST_TEXT);
        value = shown == NULL ? NULL : json_string(shown);
    }
    return value;
}

void put_text(struct json_document *doc, json_t *object, const char *key, const char *text)
{
    if (text != NULL && text[0] != '\0') {
        put_value(doc, object, key, text_value(doc, text));
    }
}

void put_quantity(struct json_document *doc, json_t *object, const char *key, struct quantity q)
{
    if (q.known && isfinite(q.value)) {
        put_value(doc, object, key, json_real(q.value + 0.0)); /* -0.0 is 0 */
    }
}

void put_count(struct json_document *doc, json_t *object, const char *key, size_t count)
{
    put_value(doc, object, key, json_integer((json_int_t)count));
}

void put_date(struct json_document *doc, json_t *object, const char *key, const struct date *date)
{
    if (!date->known) {
        return;
    }
    char text[64];
    int used = snprintf(text, sizeof text, "%04d-%02d-%02d", date->year, date->month, date->day);
    if (date->has_time && used > 0) {
        int second = (int)date->seconds;
        used += snprintf(text + used, sizeof text - (size_t)used, "T%02d:%02d:%02d", second / 3600, second / 60 % 60,
                         second % 60);
        int minutes = (int)(fabs(date->offset_seconds) / 60);
        if (minutes > 0) {
            (void)snprintf(text + used, sizeof text - (size_t)used, "%c%02d:%02d", date->offset_seconds < 0 ? '-' : '+',
                           minutes / 60, minutes % 60);
        }
    }
    put_value(doc, object, key, json_string(text));
}

/* jansson overlooks a key that found no room; the stream does not. Returns: false when memory is out. */
static bool dump(const json_t *root, size_t flags, char **text, size_t *length)
{
    FILE *to = memory_stream_open(text, length);
    if (to == NULL) {
        return false;
    }
    bool whole = json_dumpf(root, to, flags) == 0 && fputc('\n', to) != EOF && ferror(to) == 0;
    whole = fclose(to) == 0 && whole;
    if (!whole) {
        free(*text);
    }
    return whole;
}

enum status json_document_end(struct json_document *doc, json_t *root, bool compact, char **text, size_t *length)
{
    /* Twelve digits: more than any instrument, fewer than the last bits in which machines may differ. */
    size_t flags = JSON_REAL_PRECISION(12) | (compact ? JSON_COMPACT : JSON_INDENT(2));
    bool whole = root != NULL && !doc->failed && dump(root, flags, text, length);
    json_decref(root);
    arena_release(&doc->arena);
    return whole ? OK : E_MEMORY;
}
