/* log_source.h - the bytes of a log, plain or gzip, hashed as they pass
 */
#ifndef DUTYPROOF_LOG_SOURCE_H
#define DUTYPROOF_LOG_SOURCE_H

#include "base/status.h"
#include "base/utf16.h"

#include <nettle/sha2.h>
#include <zlib.h>

struct log_source {
    const char *path; /* borrowed */
    int fd;
    bool gzip, member_open; /* member_open: inside a member of the gzip file */
    z_stream stream;
    unsigned char *packed; /* compressed bytes, for gzip only */
    struct sha256_ctx sha256;
    bool begun, ended; /* ended: the text handed over was the last */
    struct utf16 utf16;
    char *wide; /* bytes of a file of UTF-16 that wait to be made UTF-8; NULL: it is none */
    size_t wide_at, wide_used;
    bool wide_ended;
};

/* Opens path; it is unpacked when its name ends in .gz. Status: E_FILE, E_MEMORY: nothing is held. */
enum status source_open(struct log_source *source, const char *path, struct faults *faults);

/* Reads text, UTF-16 made UTF-8, until room (64 bytes or more) is filled or the file ends; then ended is true.
 * Status: E_FILE; E_INPUT the compressed data are damaged or cut. */
enum status source_read(struct log_source *source, char *text, size_t room, size_t *got, struct faults *faults);

/* The SHA-256 of the file's bytes as stored, once it was read to its end. */
void source_digest(struct log_source *source, char hex[65]);

void source_close(struct log_source *source);

#endif
