/* arena.h - memory that lives as long as one run
 *
 * Everything that a run reads or computes (texts, tables, points, curves, notes) lives in one arena and goes with it.
 * Only foreign objects (GSL workspaces, libcsv parsers, FILE) are allocated and freed by the function that made them.
 */
#ifndef DUTYPROOF_ARENA_H
#define DUTYPROOF_ARENA_H

#include <stdbool.h>
#include <stddef.h>

struct arena_block;

/* {0} is an empty arena, ready to use. */
struct arena {
    struct arena_block *newest;
};

/* Allocates count x size bytes, zeroed, aligned for any type.
 * Returns: the memory, owned by the arena; NULL when memory is out or count x size overflows. count 0 gives a valid
 * pointer. */
void *arena_alloc(struct arena *arena, size_t count, size_t size);

/* Copies length bytes of text and adds a NUL. Returns: the copy, owned by the arena; NULL when memory is out. */
char *arena_text(struct arena *arena, const char *text, size_t length);

/* Formats into the arena as printf does. Returns: the text; NULL when memory is out. */
char *arena_format(struct arena *arena, const char *fmt, ...)
#if defined(__GNUC__)
    __attribute__((format(printf, 2, 3)))
#endif
    ;

/* Makes room for one more item in a growing array that lives in the arena: the array doubles when it is full.
 * items is the address of the array's pointer: item = arena_push(arena, &list, &count, sizeof *list).
 * The array must have grown by arena_push alone.
 * Returns: the new, zeroed last item, count raised by one; NULL (nothing changed) when memory is out. */
void *arena_push(struct arena *arena, void *items, size_t *count, size_t size);

/* Frees everything; the arena is empty and ready again. */
void arena_release(struct arena *arena);

#endif
