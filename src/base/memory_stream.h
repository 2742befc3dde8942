/* memory_stream.h - a stream into memory that tells when memory is out
 *
 * glibc's open_memstream does not: the text that finds no room is dropped, yet ferror and fclose report success, and a
 * paper would come out cut.
 */
#ifndef DUTYPROOF_MEMORY_STREAM_H
#define DUTYPROOF_MEMORY_STREAM_H

#include <stdio.h>

/* Opens a stream for writing. fclose fills *text (from malloc, with a NUL behind it; the caller frees it) and *length;
 * when memory ran out on the way, ferror or fclose says so, and *text may be cut or NULL. Returns: NULL when memory is
 * out. */
FILE *memory_stream_open(char **text, size_t *length);

#endif
