#include "register/sql.h"

#include <errno.h>
#include <string.h>

enum status sql_failed(const struct bay_register *in, int code, struct faults *faults)
{
    struct place at = {.file = in->path};
    int error = (code & 0xff) == SQLITE_IOERR ? errno : 0; /* SQLite's own copy of it is cleared by then */
    switch (code & 0xff) {
    case SQLITE_NOMEM: return faults_memory(faults);
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
        return faults_add(faults, E_FILE, at,
                          "another program has been writing to it for %d s: let it end, then run again", in->wait_s);
    case SQLITE_NOTADB:
    case SQLITE_CORRUPT:
        return faults_add(
            faults, E_FILE, at,
            "is damaged, or no register (%s): restore it, or move it away, and it is rebuilt from the papers",
            sqlite3_errmsg(in->database));
    case SQLITE_READONLY:
    case SQLITE_PERM:
    case SQLITE_CANTOPEN:
        return faults_add(faults, E_FILE, at, "cannot be %s: %s", in->write ? "written" : "read",
                          sqlite3_errmsg(in->database));
    default: break;
    }
    return faults_add(faults, E_FILE, at, "%s%s%s", sqlite3_errmsg(in->database), error != 0 ? ": " : "",
                      error != 0 ? strerror(error) : "");
}

enum status sql_run(struct bay_register *in, const char *statements, struct faults *faults)
{
    int code = sqlite3_exec(in->database, statements, NULL, NULL, NULL);
    return code == SQLITE_OK ? OK : sql_failed(in, code, faults);
}

enum status sql_number(struct bay_register *in, const char *statement, long long *number, struct faults *faults)
{
    struct query query = query_begin(in, statement, faults);
    *number = query_next(&query) ? query_get_integer(&query, 0) : 0;
    return query_end(&query);
}

static void take(struct query *query, int code)
{
    if (query->status == OK && code != SQLITE_OK && code != SQLITE_ROW && code != SQLITE_DONE) {
        query->status = sql_failed(query->in, code, query->faults);
    }
}

/* The place of a kept statement. Returns: NULL when it is not kept. */
static sqlite3_stmt **kept(struct bay_register *in, sqlite3_stmt *statement)
{
    for (size_t i = 0; i < STATEMENTS_KEPT; i++) {
        if (in->kept[i] == statement) {
            return &in->kept[i];
        }
    }
    return NULL;
}

static sqlite3_stmt *find_kept(const struct bay_register *in, const char *text)
{
    for (size_t i = 0; i < STATEMENTS_KEPT && in->kept[i] != NULL; i++) {
        if (strcmp(sqlite3_sql(in->kept[i]), text) == 0 && !sqlite3_stmt_busy(in->kept[i])) {
            return in->kept[i];
        }
    }
    return NULL;
}

struct query query_begin(struct bay_register *in, const char *statement, struct faults *faults)
{
    struct query query = {.in = in, .faults = faults, .statement = find_kept(in, statement)};
    if (query.statement != NULL) {
        return query;
    }
    take(&query, sqlite3_prepare_v2(in->database, statement, -1, &query.statement, NULL));
    sqlite3_stmt **room = query.statement != NULL ? kept(in, NULL) : NULL;
    if (room != NULL) {
        *room = query.statement;
    }
    return query;
}

void sql_forget(struct bay_register *in)
{
    for (size_t i = 0; i < STATEMENTS_KEPT; i++) {
        (void)sqlite3_finalize(in->kept[i]);
        in->kept[i] = NULL;
    }
}

void query_text(struct query *query, const char *text)
{
    query->bound++;
    if (query->status == OK) {
        bool blank = text == NULL || text[0] == '\0';
        take(query, blank ? sqlite3_bind_null(query->statement, query->bound)
                          : sqlite3_bind_text(query->statement, query->bound, text, -1, SQLITE_STATIC));
    }
}

void query_integer(struct query *query, long long number)
{
    query->bound++;
    if (query->status == OK) {
        take(query, sqlite3_bind_int64(query->statement, query->bound, number));
    }
}

void query_bytes(struct query *query, const void *bytes, size_t length)
{
    query->bound++;
    if (query->status == OK) {
        take(query, sqlite3_bind_blob64(query->statement, query->bound, bytes, length, SQLITE_STATIC));
    }
}

bool query_next(struct query *query)
{
    if (query->status != OK) {
        return false;
    }
    int code = sqlite3_step(query->statement);
    take(query, code);
    return code == SQLITE_ROW;
}

const char *query_get_text(struct query *query, int column, struct arena *arena)
{
    const char *text = (const char *)sqlite3_column_text(query->statement, column);
    if (text == NULL) {
        return "";
    }
    const char *copy = arena_text(arena, text, strlen(text));
    if (copy == NULL && query->status == OK) {
        query->status = faults_memory(query->faults);
    }
    return copy == NULL ? "" : copy;
}

long long query_get_integer(const struct query *query, int column)
{
    return sqlite3_column_int64(query->statement, column);
}

enum status query_end(struct query *query)
{
    if (query->statement != NULL &&
        kept(query->in, query->statement) != NULL) { /* what failed is known from the steps */
        (void)sqlite3_reset(query->statement);
        (void)sqlite3_clear_bindings(query->statement);
    } else {
        (void)sqlite3_finalize(query->statement);
    }
    query->statement = NULL;
    return query->status;
}
