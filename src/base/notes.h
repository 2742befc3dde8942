/* notes.h - what the papers say beside the numbers: cautions, remarks on the input
 */
#ifndef DUTYPROOF_NOTES_H
#define DUTYPROOF_NOTES_H

#include "base/arena.h"
#include "base/status.h"

enum note_kind { NOTE_CAUTION, NOTE_INPUT };

struct note {
    enum note_kind kind;
    const char *text;
};

struct notes {
    size_t count;
    struct note *items; /* in the arena */
};

/* Adds a note unless the very same is there already. Returns: OK, or E_MEMORY. */
enum status note_add(struct notes *notes, struct arena *arena, enum note_kind kind, const char *fmt, ...)
    PRINTF_LIKE(4, 5);

/* "caution", "input". */
const char *note_kind_name(enum note_kind kind);

#endif
