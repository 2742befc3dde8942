#include "base/arena.h"

#include <stdalign.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { BLOCK_SIZE = 16 * 1024 };

/* A block's memory follows its header, aligned for any type. */
struct arena_block {
    struct arena_block *older;
    size_t used, size;
};

static const size_t alignment = alignof(max_align_t);

static size_t round_up(size_t size)
{
    return (size + alignment - 1) / alignment * alignment;
}

static size_t header_size(void)
{
    return round_up(sizeof(struct arena_block));
}

void *arena_alloc(struct arena *arena, size_t count, size_t size)
{
    if (size != 0 && count > (SIZE_MAX / 4) / size) {
        return NULL;
    }
    size_t need = round_up(count * size == 0 ? 1 : count * size);
    struct arena_block *block = arena->newest;
    if (block == NULL || block->size - block->used < need) {
        size_t room = need > BLOCK_SIZE ? need : (size_t)BLOCK_SIZE;
        block = calloc(1, header_size() + room);
        if (block == NULL) {
            return NULL;
        }
        block->size = room;
        block->older = arena->newest;
        arena->newest = block;
    }
    char *memory = (char *)block + header_size() + block->used;
    block->used += need;
    return memory;
}

char *arena_text(struct arena *arena, const char *text, size_t length)
{
    char *copy = length == SIZE_MAX ? NULL : arena_alloc(arena, length + 1, 1);
    if (copy != NULL && length > 0) {
        memcpy(copy, text, length);
    }
    return copy;
}

char *arena_format(struct arena *arena, const char *fmt, ...)
{
    va_list args, again;
    va_start(args, fmt);
    va_copy(again, args);
    int length = vsnprintf(NULL, 0, fmt, args);
    va_end(args);
    char *text = length < 0 ? NULL : arena_alloc(arena, (size_t)length + 1, 1);
    if (text != NULL) {
        (void)vsnprintf(text, (size_t)length + 1, fmt, again);
    }
    va_end(again);
    return text;
}

void *arena_push(struct arena *arena, void *items, size_t *count, size_t size)
{
    enum { FIRST_CAPACITY = 8 };
    void *array;
    memcpy(&array, items, sizeof array);
    bool full = *count == 0 || (*count >= FIRST_CAPACITY && (*count & (*count - 1)) == 0);
    if (full) {
        size_t capacity = *count == 0 ? FIRST_CAPACITY : *count * 2;
        void *larger = arena_alloc(arena, capacity, size);
        if (larger == NULL) {
            return NULL;
        }
        if (*count > 0) {
            memcpy(larger, array, *count * size);
        }
        array = larger;
        memcpy(items, &array, sizeof array);
    }
    return (char *)array + (*count)++ * size;
}

void arena_release(struct arena *arena)
{
    while (arena->newest != NULL) {
        struct arena_block *older = arena->newest->older;
        free(arena->newest);
        arena->newest = older;
    }
}
