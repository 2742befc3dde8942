/* sheet.h - the sheet of a unit, as a document: page 1 to decide and sign by, page 2 with what that rests on
 */
#ifndef DUTYPROOF_PAPERS_SHEET_H
#define DUTYPROOF_PAPERS_SHEET_H

#include "papers/words.h"

/* Describes the sheet of a finished result. It lives in the arena, as does its plot. Status: E_MEMORY. */
enum status sheet_document(const struct result *result, struct arena *arena, struct document *document);

/* --- for sheet.c alone --- */

/* The sheet under way. */
struct sheet {
    const struct result *result;
    struct figure_units units;
    struct document *document;
    struct arena *arena;
    struct sources *sources;
};

/* The different sources of all limits, each once, numbered from 1. */
enum { SOURCES_MAX = 64 };
struct sources {
    size_t count;
    const char *texts[SOURCES_MAX];
};

/* The number of a source; 0 for none. */
size_t source_number(struct sources *sources, const char *source);

/* What the curves say at the guaranteed points; and page 2 (sheet_readings.c). */
void sheet_curves(struct sheet *sheet);
void sheet_readings(struct sheet *sheet);

/* The tone of a verdict on the sheet: nothing on it is green while something stands against the unit. */
enum tone sheet_tone(const struct sheet *sheet, enum verdict verdict);

#endif
