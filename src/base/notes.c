#include "base/notes.h"

#include <stdarg.h>
#include <string.h>

enum { NOTE_TEXT_MAX = 1024 };

enum status note_add(struct notes *notes, struct arena *arena, enum note_kind kind, const char *fmt, ...)
{
    char text[NOTE_TEXT_MAX];
    va_list args;
    va_start(args, fmt);
    int length = vsnprintf(text, sizeof text, fmt, args);
    va_end(args);
    if (length < 0) {
        return E_MEMORY;
    }
    for (size_t i = 0; i < notes->count; i++) {
        if (notes->items[i].kind == kind && strcmp(notes->items[i].text, text) == 0) {
            return OK;
        }
    }
    const char *copy = arena_text(arena, text, strlen(text));
    struct note *note = copy == NULL ? NULL : arena_push(arena, &notes->items, &notes->count, sizeof *note);
    if (note == NULL) {
        return E_MEMORY;
    }
    *note = (struct note){.kind = kind, .text = copy};
    return OK;
}

const char *note_kind_name(enum note_kind kind)
{
    switch (kind) {
    case NOTE_CAUTION: return "caution";
    case NOTE_INPUT: return "input";
    }
    return "";
}
