#include "register/keeper.h"
#include "register/register.h"
#include "register/rows.h"

#include "base/clock.h"
#include "base/files.h"

#include <stdlib.h>
#include <string.h>
#include <zlib.h>

enum { LARGEST_TEXT = 256 * 1024 * 1024 };

/* --- texts, each once --- */

static bool has_text(struct bay_register *in, const char *sha256, enum status *status, struct faults *faults)
{
    struct query query = query_begin(in, "SELECT 1 FROM content WHERE sha256 = ?", faults);
    query_text(&query, sha256);
    bool has = query_next(&query);
    *status = query_end(&query);
    return has;
}

/* A short text needs no window of 32 KiB: to clear that is what costs. *room is freed by the caller. */
static bool deflate_text(const void *bytes, size_t length, Bytef **room, size_t *size)
{
    int bits = 9;
    while (bits < MAX_WBITS && ((size_t)1 << bits) < length) {
        bits++;
    }
    z_stream stream = {.next_in = (z_const Bytef *)bytes, .avail_in = (uInt)length};
    if (deflateInit2(&stream, Z_DEFAULT_COMPRESSION, Z_DEFLATED, bits, bits - 7, Z_DEFAULT_STRATEGY) != Z_OK) {
        return false;
    }
    stream.avail_out = (uInt)deflateBound(&stream, (uLong)length);
    stream.next_out = *room = malloc(stream.avail_out);
    bool whole = *room != NULL && deflate(&stream, Z_FINISH) == Z_STREAM_END;
    *size = stream.total_out;
    (void)deflateEnd(&stream);
    return whole;
}

static enum status insert_text(struct bay_register *in, const char *sha256, const void *bytes, size_t length,
                               struct faults *faults)
{
    Bytef *room = NULL;
    size_t size = 0;
    if (length > LARGEST_TEXT) {
        return faults_add(faults, E_FILE, (struct place){.file = in->path}, "takes no text of more than %d MiB",
                          LARGEST_TEXT >> 20);
    }
    if (!deflate_text(bytes, length, &room, &size)) {
        free(room);
        return faults_memory(faults);
    }
    struct query query = query_begin(in, "INSERT INTO content VALUES (?, ?, ?)", faults);
    query_text(&query, sha256);
    query_integer(&query, (long long)length);
    query_bytes(&query, room, size);
    (void)query_next(&query);
    enum status status = query_end(&query);
    free(room);
    return status;
}

static enum status keep_text(struct bay_register *in, const void *bytes, size_t length, char sha256[65],
                             struct faults *faults)
{
    enum status status = OK;
    sha256_hex(bytes, length, sha256);
    return has_text(in, sha256, &status, faults) || status != OK ? status
                                                                 : insert_text(in, sha256, bytes, length, faults);
}

static enum status inflate_text(struct query *query, size_t length, struct arena *arena, char **bytes)
{
    uLongf size = (uLongf)length;
    const void *deflated = sqlite3_column_blob(query->statement, 1);
    int held = sqlite3_column_bytes(query->statement, 1);
    *bytes = arena_alloc(arena, length + 1, 1);
    if (*bytes == NULL) {
        return E_MEMORY;
    }
    bool whole =
        deflated != NULL && uncompress((Bytef *)*bytes, &size, deflated, (uLong)held) == Z_OK && size == length;
    return whole ? OK : E_FILE;
}

enum status register_text(struct bay_register *in, const char *sha256, struct arena *arena, char **bytes,
                          size_t *length, bool *found, struct faults *faults)
{
    char hex[65];
    enum status read = OK;
    struct query query = query_begin(in, "SELECT size, deflated FROM content WHERE sha256 = ?", faults);
    query_text(&query, sha256);
    *found = query_next(&query);
    if (*found) {
        long long size = query_get_integer(&query, 0);
        *length = size >= 0 && size <= LARGEST_TEXT ? (size_t)size : 0;
        read = inflate_text(&query, *length, arena, bytes);
    }
    enum status status = query_end(&query);
    if (status != OK || !*found) {
        return status;
    }
    if (read == OK) {
        sha256_hex(*bytes, *length, hex);
    }
    return read == E_MEMORY                         ? faults_memory(faults)
           : read == OK && strcmp(hex, sha256) == 0 ? OK
                                                    : faults_add(faults, E_FILE, (struct place){.file = in->path},
                                                                 "the text %.12s... is not as it was stored", sha256);
}

/* --- tables --- */

static bool is_digest(const char *text)
{
    return strspn(text, "0123456789abcdef") == 64;
}

static enum status keep_tables(struct bay_register *in, const struct judgement_order *order, struct arena *arena,
                               const char **lines, struct faults *faults)
{
    *lines = "";
    for (size_t i = 0; i < order->table_count; i++) {
        const struct register_table *table = &order->tables[i];
        char rows[65] = "-", text[65] = "-";
        enum status status = table->rows == NULL ? OK : keep_text(in, table->rows, strlen(table->rows), rows, faults);
        if (status == OK && table->text != NULL) {
            status = keep_text(in, table->text, table->length, text, faults);
        }
        if (status != OK) {
            return status;
        }
        *lines = arena_format(arena, "%s%s %s %s\n", *lines, rows, text, table->name);
        if (*lines == NULL) {
            return faults_memory(faults);
        }
    }
    return OK;
}

static void take_word(const char *line, size_t length, char hex[65])
{
    bool digest = length == 64 && is_digest(line);
    memcpy(hex, line, digest ? 64 : 0);
    hex[digest ? 64 : 0] = '\0';
}

bool register_table_of(const struct judgement *judgement, const char *name, char rows_sha256[65], char text_sha256[65])
{
    for (const char *line = judgement->tables; *line != '\0';) {
        size_t length = strcspn(line, "\n"), rows = strcspn(line, " \n");
        const char *text = line + rows + (line[rows] == ' ');
        size_t texts = strcspn(text, " \n");
        const char *named = text + texts + (text[texts] == ' ');
        size_t left = (size_t)(line + length - named);
        if (named <= line + length && left == strlen(name) && memcmp(named, name, left) == 0) {
            take_word(line, rows, rows_sha256);
            take_word(text, texts, text_sha256);
            return true;
        }
        line += length + (line[length] == '\n');
    }
    return false;
}

/* --- rows --- */

struct head {
    long long rows;
    char digest[65];
};

static enum status read_head(struct bay_register *in, const char *chain, struct head *head, struct faults *faults)
{
    struct arena arena = {0};
    *head = (struct head){0};
    struct query query = query_begin(in, "SELECT rows, digest FROM head WHERE chain = ?", faults);
    query_text(&query, chain);
    if (query_next(&query)) {
        head->rows = query_get_integer(&query, 0);
        (void)snprintf(head->digest, sizeof head->digest, "%s", query_get_text(&query, 1, &arena));
    }
    arena_release(&arena);
    return query_end(&query);
}

static enum status write_head(struct bay_register *in, const char *chain, long long rows, const char *digest,
                              struct faults *faults)
{
    struct query query = query_begin(in, "UPDATE head SET rows = ?, digest = ? WHERE chain = ?", faults);
    query_integer(&query, rows);
    query_text(&query, digest);
    query_text(&query, chain);
    (void)query_next(&query);
    return query_end(&query);
}

static enum status insert_judgement(struct bay_register *in, const struct judgement *row, struct faults *faults)
{
    const char *const texts[] = {row->serial,    row->model,      row->order,   row->tested,
                                 row->log,       row->log_sha256, row->tables,  row->program,
                                 row->libraries, row->verdict,    row->figures, row->result_sha256};
    struct query query = query_begin(
        in, "INSERT INTO judgement (" JUDGEMENT_COLUMNS ") VALUES (?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?)", faults);
    query_integer(&query, row->id);
    query_text(&query, row->at);
    query_text(&query, row->who);
    query_text(&query, strcmp(row->origin, JUDGED) == 0 ? "" : row->origin);
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        query_text(&query, texts[i]);
    }
    query_integer(&query, row->revision);
    query_text(&query, row->changes);
    query_text(&query, row->previous);
    query_text(&query, row->digest);
    (void)query_next(&query);
    return query_end(&query);
}

static const char *text_or(const char *text, const char *otherwise)
{
    return text != NULL && text[0] != '\0' ? text : otherwise;
}

/* A copy without NULLs. */
static struct judgement stated(const struct judgement *from)
{
    struct judgement row = *from;
    const char **const texts[] = {&row.serial,  &row.model,      &row.order,   &row.tested,
                                  &row.log,     &row.log_sha256, &row.program, &row.libraries,
                                  &row.verdict, &row.figures,    &row.changes, &row.origin};
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        *texts[i] = text_or(*texts[i], "");
    }
    row.origin = text_or(row.origin, JUDGED);
    return row;
}

static enum status add(struct bay_register *in, const struct judgement_order *order, struct arena *arena, long long *id,
                       struct faults *faults)
{
    struct head head;
    char now[32], digest[65], result[65] = "";
    struct judgement row = stated(&order->judgement);
    enum status status = read_head(in, "judgement", &head, faults);
    status = status == OK ? keep_tables(in, order, arena, &row.tables, faults) : status;
    if (status == OK && order->document != NULL) {
        status = keep_text(in, order->document, order->document_length, result, faults);
    }
    row.id = head.rows + 1;
    row.at = text_or(row.at, clock_text(now));
    row.who = text_or(row.who, status == OK ? keeper_name(arena) : "");
    row.result_sha256 = result;
    row.previous = head.digest;
    row.digest = digest;
    if (status == OK && (row.who[0] == '\0' || row_digest_judgement(&row, digest) != OK)) {
        status = faults_memory(faults);
    }
    status = status == OK ? insert_judgement(in, &row, faults) : status;
    *id = row.id;
    return status == OK ? write_head(in, "judgement", row.id, digest, faults) : status;
}

enum status register_add(struct bay_register *in, const struct judgement_order *order, long long *id,
                         struct faults *faults)
{
    struct arena arena = {0};
    enum status status = add(in, order, &arena, id, faults);
    arena_release(&arena);
    return status;
}

enum status register_add_papers(struct bay_register *in, const struct judgement_papers *papers, struct faults *faults)
{
    struct head head;
    char now[32], digest[65];
    enum status status = read_head(in, "papers", &head, faults);
    struct judgement_papers row = {.id = head.rows + 1,
                                   .judgement = papers->judgement,
                                   .at = clock_text(now),
                                   .folder = text_or(papers->folder, ""),
                                   .files = text_or(papers->files, ""),
                                   .previous = head.digest};
    if (status == OK && row_digest_papers(&row, digest) != OK) {
        status = faults_memory(faults);
    }
    if (status != OK) {
        return status;
    }
    struct query query = query_begin(in, "INSERT INTO papers (" PAPERS_COLUMNS ") VALUES (?,?,?,?,?,?,?)", faults);
    query_integer(&query, row.id);
    query_integer(&query, row.judgement);
    query_text(&query, row.at);
    query_text(&query, row.folder);
    query_text(&query, row.files);
    query_text(&query, row.previous);
    query_text(&query, digest);
    (void)query_next(&query);
    status = query_end(&query);
    return status == OK ? write_head(in, "papers", row.id, digest, faults) : status;
}
