#include "log/log_source.h"

#include "base/files.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum {
    PACKED_SIZE = 64 * 1024,
    WIDE_SIZE = 64 * 1024,
    ROOM_LEFT = 32,
    GZIP_WINDOW = 15 + 16 /* zlib: the largest window, gzip header expected */
};

static enum status file_fault(const struct log_source *source, struct faults *faults)
{
    return faults_add(faults, E_FILE, (struct place){source->path, 0, 0}, "cannot be read: %s", strerror(errno));
}

static bool is_gzip(const char *path)
{
    size_t length = strlen(path);
    return length > 3 && strcmp(path + length - 3, ".gz") == 0;
}

enum status source_open(struct log_source *source, const char *path, struct faults *faults)
{
    *source = (struct log_source){.path = path, .fd = -1, .gzip = is_gzip(path)};
    sha256_init(&source->sha256);
    enum status status = file_open(path, &source->fd, faults);
    if (status != OK) {
        return status;
    }
    if (!source->gzip) {
        return OK;
    }
    source->packed = malloc(PACKED_SIZE);
    if (source->packed == NULL || inflateInit2(&source->stream, GZIP_WINDOW) != Z_OK) {
        free(source->packed);
        source->packed = NULL;
        source_close(source);
        return faults_memory(faults);
    }
    return OK;
}

/* One read of the file, hashed. */
static enum status read_some(struct log_source *source, void *to, size_t room, size_t *got, struct faults *faults)
{
    ssize_t count;
    do {
        count = read(source->fd, to, room);
    } while (count < 0 && errno == EINTR);
    if (count < 0) {
        return file_fault(source, faults);
    }
    *got = (size_t)count;
    sha256_update(&source->sha256, *got, to);
    return OK;
}

static enum status refill_packed(struct log_source *source, struct faults *faults)
{
    size_t got;
    enum status status = read_some(source, source->packed, PACKED_SIZE, &got, faults);
    if (status == OK) {
        source->stream.next_in = source->packed;
        source->stream.avail_in = (uInt)got;
    }
    return status;
}

/* Unpacks into room bytes. A gzip file may hold several members, one after the other. */
static enum status unpack(struct log_source *source, char *text, size_t room, size_t *got, struct faults *faults)
{
    struct place at = {source->path, 0, 0};
    z_stream *stream = &source->stream;
    stream->next_out = (unsigned char *)text;
    stream->avail_out = (uInt)room;
    while (stream->avail_out > 0) {
        if (stream->avail_in == 0) {
            enum status status = refill_packed(source, faults);
            if (status != OK) {
                return status;
            }
            if (stream->avail_in == 0 && source->member_open) {
                return faults_add(faults, E_INPUT, at, "the compressed data end early, expected a whole gzip file");
            }
            if (stream->avail_in == 0) {
                break;
            }
        }
        source->member_open = true;
        int result = inflate(stream, Z_NO_FLUSH);
        if (result == Z_MEM_ERROR) {
            return faults_memory(faults);
        }
        if (result != Z_OK && result != Z_STREAM_END) {
            return faults_add(faults, E_INPUT, at, "the compressed data are damaged, expected a gzip file");
        }
        if (result == Z_STREAM_END) {
            source->member_open = false;
            (void)inflateReset(stream); /* fails only on a stream that was never set up */
        }
    }
    *got = room - stream->avail_out;
    return OK;
}

/* The bytes as they stand in the unpacked file. *got < room only at its end. */
static enum status read_bytes(struct log_source *source, char *text, size_t room, size_t *got, struct faults *faults)
{
    if (source->gzip) {
        return unpack(source, text, room, got, faults);
    }
    *got = 0;
    size_t count = 1;
    while (*got < room && count > 0) {
        enum status status = read_some(source, text + *got, room - *got, &count, faults);
        if (status != OK) {
            return status;
        }
        *got += count;
    }
    return OK;
}

static enum status refill_wide(struct log_source *source, struct faults *faults)
{
    enum status status = read_bytes(source, source->wide, WIDE_SIZE, &source->wide_used, faults);
    source->wide_at = 0;
    source->wide_ended = status == OK && source->wide_used < WIDE_SIZE;
    return status;
}

/* As much UTF-8 as fits, of UTF-16. */
static enum status read_wide(struct log_source *source, char *text, size_t room, size_t *got, struct faults *faults)
{
    *got = 0;
    while (room - *got > ROOM_LEFT) {
        if (source->wide_at == source->wide_used && source->wide_ended) {
            source->ended = true;
            return OK;
        }
        if (source->wide_at == source->wide_used) {
            enum status status = refill_wide(source, faults);
            if (status != OK) {
                return status;
            }
        }
        size_t most = (room - *got - ROOM_LEFT / 2) / UTF16_GROWTH, left = source->wide_used - source->wide_at;
        size_t piece = left < most ? left : most;
        *got += utf16_piece(&source->utf16, source->wide + source->wide_at, piece, text + *got);
        source->wide_at += piece;
    }
    return OK;
}

/* The first piece of the file tells whether it is UTF-16. */
static enum status begin(struct log_source *source, char *text, size_t room, size_t *got, struct faults *faults)
{
    size_t first = room < WIDE_SIZE ? room : WIDE_SIZE;
    enum status status = read_bytes(source, text, first, got, faults);
    source->begun = true;
    if (status != OK || !utf16_begins(text, *got, &source->utf16.big_endian)) {
        source->ended = *got < first;
        return status;
    }
    source->wide = malloc(WIDE_SIZE);
    if (source->wide == NULL) {
        return faults_memory(faults);
    }
    memcpy(source->wide, text, *got);
    source->wide_used = *got;
    source->wide_ended = *got < first;
    *got = 0;
    return OK;
}

enum status source_read(struct log_source *source, char *text, size_t room, size_t *got, struct faults *faults)
{
    size_t first = 0;
    *got = 0;
    enum status status = source->begun ? OK : begin(source, text, room, &first, faults);
    if (status == OK && source->wide != NULL) {
        return read_wide(source, text, room, got, faults);
    }
    if (status == OK && !source->ended && first < room) {
        status = read_bytes(source, text + first, room - first, got, faults);
        source->ended = *got < room - first;
    }
    *got += first;
    return status;
}

void source_digest(struct log_source *source, char hex[65])
{
    static const char digits[] = "0123456789abcdef";
    uint8_t digest[SHA256_DIGEST_SIZE];
    sha256_digest(&source->sha256, sizeof digest, digest);
    for (size_t i = 0; i < sizeof digest; i++) {
        hex[2 * i] = digits[digest[i] >> 4];
        hex[2 * i + 1] = digits[digest[i] & 15];
    }
    hex[64] = '\0';
}

void source_close(struct log_source *source)
{
    if (source->packed != NULL) {
        (void)inflateEnd(&source->stream);
        free(source->packed);
        source->packed = NULL;
    }
    free(source->wide);
    source->wide = NULL;
    if (source->fd >= 0) {
        (void)close(source->fd);
        source->fd = -1;
    }
}
