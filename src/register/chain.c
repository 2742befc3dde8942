#include "register/chain.h"

#include "register/rows.h"

#include <stdarg.h>
#include <string.h>

/* Where a walk stands: after the row `id`. */
struct walk {
    struct bay_register *in;
    const char *chain;
    long long id;
    char digest[65], at[32];
    struct register_break *found;
    struct faults *faults;
};

static bool broken(struct walk *walk, long long id, const char *fmt, ...) PRINTF_LIKE(3, 4);
static bool broken(struct walk *walk, long long id, const char *fmt, ...)
{
    struct register_break *found = walk->found;
    *found = (struct register_break){.broken = true, .chain = walk->chain, .id = id};
    (void)snprintf(found->since, sizeof found->since, "%s", walk->at);
    int begun = snprintf(found->text, sizeof found->text, "%s %lld ",
                         strcmp(walk->chain, "papers") == 0 ? "the papers' row" : "judgement", id);
    va_list arguments;
    va_start(arguments, fmt);
    (void)vsnprintf(found->text + begun, sizeof found->text - (size_t)begun, fmt, arguments);
    va_end(arguments);
    return false;
}

/* Holds a row against the one before it and against its own digest. */
static bool follows(struct walk *walk, long long id, const char *previous, const char *stored, const char *digest,
                    const char *at)
{
    if (id > walk->id + 1) {
        return broken(walk, walk->id + 1, "is missing: it was taken out");
    }
    if (id != walk->id + 1) {
        return broken(walk, id, "has a number that was never given");
    }
    if (strcmp(stored, digest) != 0) {
        return broken(walk, id, "is not as it was written: it was altered");
    }
    if (strcmp(previous, walk->digest) != 0) {
        return broken(walk, id, "does not follow from the row before it: one of them was written anew");
    }
    walk->id = id;
    (void)snprintf(walk->digest, sizeof walk->digest, "%s", digest);
    (void)snprintf(walk->at, sizeof walk->at, "%s", at);
    return true;
}

static enum status text_stands(struct walk *walk, long long id, const char *sha256, const char *name)
{
    struct query query = query_begin(walk->in, "SELECT 1 FROM content WHERE sha256 = ?", walk->faults);
    query_text(&query, sha256);
    if (!query_next(&query) && query.status == OK) {
        (void)broken(walk, id, "names a text of %.60s (%.12s...) that is missing", name, sha256);
    }
    return query_end(&query);
}

/* The texts that a judgement names. */
static enum status texts_stand(struct walk *walk, const struct judgement *judgement)
{
    enum status status = judgement->result_sha256[0] == '\0'
                             ? OK
                             : text_stands(walk, judgement->id, judgement->result_sha256, "its result");
    for (const char *line = judgement->tables; *line != '\0' && status == OK && !walk->found->broken;) {
        char name[64], rows[65], text[65] = "";
        size_t length = strcspn(line, "\n"), first = strcspn(line, " \n"), second = first + 1;
        second += first < length ? strcspn(line + first + 1, " \n") + 1 : 0;
        size_t named = second < length ? length - second : 0;
        (void)snprintf(name, sizeof name, "%.*s", (int)(named < 63 ? named : 63), line + (named > 0 ? second : 0));
        bool told = register_table_of(judgement, name, rows, text);
        if (told && text[0] != '\0') {
            status = text_stands(walk, judgement->id, text, name);
        }
        if (told && rows[0] != '\0' && status == OK && !walk->found->broken) {
            status = text_stands(walk, judgement->id, rows, name);
        }
        line += length + (line[length] == '\n');
    }
    return status;
}

static enum status walk_judgements(struct walk *walk)
{
    struct query query = query_begin(walk->in, "SELECT " JUDGEMENT_COLUMNS " FROM judgement ORDER BY id", walk->faults);
    while (!walk->found->broken && query_next(&query)) {
        struct arena arena = {0};
        char digest[65];
        struct judgement row = row_judgement(&query, &arena);
        if (query.status == OK && row_digest_judgement(&row, digest) != OK) {
            query.status = faults_memory(walk->faults);
        }
        if (query.status == OK && follows(walk, row.id, row.previous, row.digest, digest, row.at)) {
            query.status = texts_stand(walk, &row);
        }
        arena_release(&arena);
    }
    return query_end(&query);
}

static enum status walk_papers(struct walk *walk)
{
    struct query query = query_begin(walk->in, "SELECT " PAPERS_COLUMNS " FROM papers ORDER BY id", walk->faults);
    while (!walk->found->broken && query_next(&query)) {
        struct arena arena = {0};
        char digest[65];
        struct judgement_papers row = row_papers(&query, &arena);
        if (query.status == OK && row_digest_papers(&row, digest) != OK) {
            query.status = faults_memory(walk->faults);
        }
        if (query.status == OK) {
            (void)follows(walk, row.id, row.previous, row.digest, digest, row.at);
        }
        arena_release(&arena);
    }
    return query_end(&query);
}

/* The register counts its rows apart from them, so that the last ones cannot go unseen. */
static enum status counted(struct walk *walk)
{
    struct arena arena = {0};
    struct query query = query_begin(walk->in, "SELECT rows, digest FROM head WHERE chain = ?", walk->faults);
    query_text(&query, walk->chain);
    bool there = query_next(&query);
    long long rows = there ? query_get_integer(&query, 0) : 0;
    const char *digest = there ? query_get_text(&query, 1, &arena) : "";
    if (query.status == OK && rows > walk->id) {
        (void)broken(walk, walk->id + 1, "is missing: it was taken out (%lld were written)", rows);
    } else if (query.status == OK && (rows < walk->id || strcmp(digest, walk->digest) != 0)) {
        (void)broken(walk, walk->id, "is not the last that was written: it was slipped in, or written anew");
    }
    enum status status = query_end(&query);
    arena_release(&arena);
    return status;
}

/* Every text that is kept is what its digest says. */
static enum status texts_hold(struct walk *walk)
{
    struct arena names = {0};
    struct query query = query_begin(walk->in, "SELECT sha256 FROM content", walk->faults);
    while (!walk->found->broken && query_next(&query)) {
        struct arena arena = {0};
        struct faults faults = {0};
        char *bytes;
        size_t length;
        bool found;
        const char *sha256 = query_get_text(&query, 0, &arena);
        if (register_text(walk->in, sha256, &arena, &bytes, &length, &found, &faults) == E_MEMORY) {
            query.status = faults_memory(walk->faults);
        } else if (faults.count > 0) {
            *walk->found = (struct register_break){.broken = true, .chain = "text"};
            (void)snprintf(walk->found->text, sizeof walk->found->text,
                           "the text %.12s... of a table or a result is not as it was stored: it was altered", sha256);
        }
        arena_release(&arena);
    }
    arena_release(&names);
    return query_end(&query);
}

/* One moment of the register: a transaction that only reads. */
enum status register_check(struct bay_register *in, struct register_break *found, long long *rows,
                           struct faults *faults)
{
    *found = (struct register_break){0};
    struct walk judgements = {.in = in, .chain = "judgement", .found = found, .faults = faults};
    struct walk papers = {.in = in, .chain = "papers", .found = found, .faults = faults};
    struct walk texts = {.in = in, .found = found, .faults = faults};
    enum status status = sql_run(in, "BEGIN", faults);
    if (status != OK) {
        return status;
    }
    status = walk_judgements(&judgements);
    status = status == OK && !found->broken ? counted(&judgements) : status;
    status = status == OK && !found->broken ? walk_papers(&papers) : status;
    status = status == OK && !found->broken ? counted(&papers) : status;
    status = status == OK && !found->broken ? texts_hold(&texts) : status;
    *rows = judgements.id;
    (void)sqlite3_exec(in->database, "ROLLBACK", NULL, NULL, NULL); /* nothing was written */
    return status;
}
