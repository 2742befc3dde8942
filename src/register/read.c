#include "register/register.h"
#include "register/rows.h"

#include "base/date.h"

#include <string.h>

/* The first row of a query that selects JUDGEMENT_COLUMNS. */
static enum status first_judgement(struct query *query, struct arena *arena, struct judgement *judgement, bool *found)
{
    *found = query_next(query);
    if (*found) {
        *judgement = row_judgement(query, arena);
    }
    return query_end(query);
}

enum status register_read(struct bay_register *in, long long id, struct arena *arena, struct judgement *judgement,
                          bool *found, struct faults *faults)
{
    struct query query = query_begin(in, "SELECT " JUDGEMENT_COLUMNS " FROM judgement WHERE id = ?", faults);
    query_integer(&query, id);
    return first_judgement(&query, arena, judgement, found);
}

enum status register_latest(struct bay_register *in, const char *serial, const char *log_sha256, struct arena *arena,
                            struct judgement *judgement, bool *found, struct faults *faults)
{
    struct query query = query_begin(in,
                                     "SELECT " JUDGEMENT_COLUMNS " FROM judgement INDEXED BY judgement_log"
                                     " WHERE log_sha256 = ? AND serial = ? COLLATE BINARY ORDER BY id DESC LIMIT 1",
                                     faults);
    query_text(&query, log_sha256);
    query_text(&query, serial);
    return first_judgement(&query, arena, judgement, found);
}

enum status register_revision(struct bay_register *in, const char *serial, const char *log_sha256, long long revision,
                              struct arena *arena, struct judgement *judgement, bool *found, struct faults *faults)
{
    struct query query =
        query_begin(in,
                    "SELECT " JUDGEMENT_COLUMNS " FROM judgement INDEXED BY judgement_log"
                    " WHERE log_sha256 = ? AND serial = ? COLLATE BINARY AND revision = ? ORDER BY id DESC LIMIT 1",
                    faults);
    query_text(&query, log_sha256);
    query_text(&query, serial);
    query_integer(&query, revision);
    return first_judgement(&query, arena, judgement, found);
}

enum status register_of_log(struct bay_register *in, const char *log_sha256, struct arena *arena,
                            struct judgement *judgement, bool *found, struct faults *faults)
{
    struct query query = query_begin(
        in, "SELECT " JUDGEMENT_COLUMNS " FROM judgement WHERE log_sha256 = ? ORDER BY id DESC LIMIT 1", faults);
    query_text(&query, log_sha256);
    return first_judgement(&query, arena, judgement, found);
}

enum status register_of_result(struct bay_register *in, const char *result_sha256, struct arena *arena,
                               struct judgement *judgement, bool *found, struct faults *faults)
{
    struct query query = query_begin(
        in, "SELECT " JUDGEMENT_COLUMNS " FROM judgement WHERE result_sha256 = ? ORDER BY id DESC LIMIT 1", faults);
    query_text(&query, result_sha256);
    return first_judgement(&query, arena, judgement, found);
}

enum status register_papers(struct bay_register *in, long long judgement, struct arena *arena,
                            struct judgement_papers *papers, bool *found, struct faults *faults)
{
    struct query query =
        query_begin(in, "SELECT " PAPERS_COLUMNS " FROM papers WHERE judgement = ? ORDER BY id DESC LIMIT 1", faults);
    query_integer(&query, judgement);
    *found = query_next(&query);
    if (*found) {
        *papers = row_papers(&query, arena);
    }
    return query_end(&query);
}

/* --- which test stands in front --- */

/* One test of a serial: a log, as its newest judgement has it. */
struct test {
    long long id;
    const char *log_sha256;
    struct date tested;
    bool withdrawn;
};

static enum status list_tests(struct bay_register *in, const char *serial, struct arena *arena, struct test **tests,
                              size_t *count, struct faults *faults)
{
    struct query query = query_begin(in,
                                     "SELECT id, log_sha256, tested, verdict FROM judgement INDEXED BY judgement_serial"
                                     " WHERE serial = ?1 AND serial = ?1 COLLATE BINARY ORDER BY id",
                                     faults);
    query_text(&query, serial);
    while (query_next(&query)) {
        const char *sha256 = query_get_text(&query, 1, arena);
        struct test *test = NULL;
        for (size_t i = 0; i < *count && test == NULL; i++) {
            test = strcmp((*tests)[i].log_sha256, sha256) == 0 ? &(*tests)[i] : NULL;
        }
        test = test != NULL ? test : arena_push(arena, tests, count, sizeof *test);
        if (test == NULL) {
            query.status = faults_memory(faults);
            break;
        }
        *test = (struct test){.id = query_get_integer(&query, 0), .log_sha256 = sha256};
        (void)date_parse(query_get_text(&query, 2, arena), &test->tested);
        test->withdrawn = strcmp(query_get_text(&query, 3, arena), "void") == 0;
    }
    return query_end(&query);
}

/* At equal times, and where a date is not known, the one judged later. */
static bool stands_before(const struct test *a, const struct test *b)
{
    int order = a->tested.known && b->tested.known ? date_compare(&a->tested, &b->tested) : 0;
    return order > 0 || (order == 0 && a->id > b->id);
}

enum status register_current(struct bay_register *in, const char *serial, long long *id, struct faults *faults)
{
    struct arena arena = {0};
    struct test *tests = NULL;
    const struct test *front = NULL;
    size_t count = 0;
    enum status status = list_tests(in, serial, &arena, &tests, &count, faults);
    for (size_t i = 0; i < count; i++) {
        if (!tests[i].withdrawn && (front == NULL || stands_before(&tests[i], front))) {
            front = &tests[i];
        }
    }
    *id = front == NULL ? 0 : front->id;
    arena_release(&arena);
    return status;
}
