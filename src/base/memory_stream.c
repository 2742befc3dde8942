#define _GNU_SOURCE /* fopencookie */

#include "base/memory_stream.h"

#include <errno.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

struct memory_stream {
    char **text, *bytes;
    size_t *length, used, room; /* room: one more than may be used, for the NUL */
};

/* Returns: length, or 0 when memory is out, which makes the stream fail. */
static ssize_t take(void *cookie, const char *bytes, size_t length)
{
    enum { ROOM_FIRST = 16 * 1024 };
    struct memory_stream *stream = cookie;
    if (length >= SIZE_MAX / 4 - stream->used) {
        errno = ENOMEM;
        return 0;
    }
    if (stream->used + length >= stream->room) {
        size_t room = 2 * (stream->used + length) + ROOM_FIRST;
        char *larger = realloc(stream->bytes, room);
        if (larger == NULL) {
            return 0;
        }
        stream->bytes = larger;
        stream->room = room;
    }
    memcpy(stream->bytes + stream->used, bytes, length);
    stream->used += length;
    return (ssize_t)length;
}

/* An empty text has its NUL too. */
static int finish(void *cookie)
{
    struct memory_stream *stream = cookie;
    if (stream->bytes == NULL) {
        stream->bytes = malloc(1);
    }
    int failed = stream->bytes == NULL ? EOF : 0;
    if (stream->bytes != NULL) {
        stream->bytes[stream->used] = '\0';
    }
    *stream->text = stream->bytes;
    *stream->length = stream->used;
    free(stream);
    return failed;
}

FILE *memory_stream_open(char **text, size_t *length)
{
    *text = NULL;
    *length = 0;
    struct memory_stream *stream = calloc(1, sizeof *stream);
    if (stream == NULL) {
        return NULL;
    }
    stream->text = text;
    stream->length = length;
    FILE *to = fopencookie(stream, "w", (cookie_io_functions_t){.write = take, .close = finish});
    if (to == NULL) {
        free(stream);
    }
    return to;
}
