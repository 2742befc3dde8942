#include "register/schema.h"

/* "DPrg": what the file(1) of a database tells. */
enum { APPLICATION_ID = 0x44507267 };

/* Step n brings schema n to n + 1; a new register takes them all. A step never changes: what it made lies in bays.
 * Columns that a later step adds are NULL in older rows, and a NULL takes no part in a row's digest (rows.c). */
static const char *const steps[REGISTER_SCHEMA] = {
    "CREATE TABLE judgement ("
    "  id INTEGER PRIMARY KEY, at TEXT NOT NULL, who TEXT, serial TEXT COLLATE NOCASE, model TEXT COLLATE NOCASE,"
    "  ordered TEXT COLLATE NOCASE, tested TEXT, log TEXT, log_sha256 TEXT, tables TEXT, program TEXT, libraries TEXT,"
    "  verdict TEXT, figures TEXT, result_sha256 TEXT, revision INTEGER NOT NULL, changes TEXT, previous TEXT,"
    "  digest TEXT NOT NULL) STRICT;"
    "CREATE TABLE papers ("
    "  id INTEGER PRIMARY KEY, judgement INTEGER NOT NULL, at TEXT NOT NULL, folder TEXT, files TEXT, previous TEXT,"
    "  digest TEXT NOT NULL) STRICT;"
    "CREATE TABLE content (sha256 TEXT PRIMARY KEY, size INTEGER NOT NULL, deflated BLOB NOT NULL) STRICT;"
    "CREATE TABLE head (chain TEXT PRIMARY KEY, rows INTEGER NOT NULL, digest TEXT) STRICT;"
    "INSERT INTO head VALUES ('judgement', 0, NULL), ('papers', 0, NULL);"
    "CREATE INDEX judgement_serial ON judgement (serial);"
    "CREATE INDEX judgement_ordered ON judgement (ordered, tested);"
    "CREATE INDEX judgement_model ON judgement (model, tested);"
    "CREATE INDEX judgement_tested ON judgement (tested);"
    "CREATE INDEX judgement_log ON judgement (log_sha256);"
    "CREATE INDEX papers_judgement ON papers (judgement);",

    "ALTER TABLE judgement ADD COLUMN origin TEXT;"
    "CREATE INDEX judgement_verdict ON judgement (verdict, tested);"
    "CREATE INDEX judgement_model_verdict ON judgement (model, verdict, tested);"
    "CREATE INDEX judgement_result ON judgement (result_sha256);"
    "CREATE TRIGGER judgement_stays BEFORE UPDATE ON judgement BEGIN SELECT RAISE(ABORT, 'rows are only added'); END;"
    "CREATE TRIGGER judgement_kept BEFORE DELETE ON judgement BEGIN SELECT RAISE(ABORT, 'rows are only added'); END;"
    "CREATE TRIGGER papers_stay BEFORE UPDATE ON papers BEGIN SELECT RAISE(ABORT, 'rows are only added'); END;"
    "CREATE TRIGGER papers_kept BEFORE DELETE ON papers BEGIN SELECT RAISE(ABORT, 'rows are only added'); END;",
};

static enum status version_of(struct bay_register *in, long long *version, struct faults *faults)
{
    long long id = 0, tables = 0;
    enum status status = sql_number(in, "PRAGMA user_version", version, faults);
    status = status == OK ? sql_number(in, "PRAGMA application_id", &id, faults) : status;
    status = status == OK ? sql_number(in, "SELECT count(*) FROM sqlite_schema", &tables, faults) : status;
    struct place at = {.file = in->path};
    if (status == OK && (id != APPLICATION_ID || *version < 1) && (tables > 0 || !in->write)) {
        return faults_add(faults, E_FILE, at, "is a database, but no register of this program: move it away");
    }
    if (status == OK && *version > REGISTER_SCHEMA) {
        return faults_add(faults, E_FILE, at,
                          "has schema %lld, this program knows schemas up to %d: use the newer program that wrote it",
                          *version, REGISTER_SCHEMA);
    }
    return status;
}

static enum status step(struct bay_register *in, long long version, struct faults *faults)
{
    struct arena arena = {0};
    enum status status = sql_run(in, steps[version], faults);
    char *mark =
        arena_format(&arena, "PRAGMA user_version = %lld; PRAGMA application_id = %d;", version + 1, APPLICATION_ID);
    if (status == OK) {
        status = mark == NULL ? faults_memory(faults) : sql_run(in, mark, faults);
    }
    arena_release(&arena);
    return status;
}

/* The version is read again within the transaction: another program may have been faster. */
static enum status migrate(struct bay_register *in, struct faults *faults)
{
    long long version = 0;
    enum status status = register_begin(in, faults);
    status = status == OK ? version_of(in, &version, faults) : status;
    for (; status == OK && version < REGISTER_SCHEMA; version++) {
        status = step(in, version, faults);
    }
    status = status == OK ? register_commit(in, faults) : status;
    register_abandon(in);
    return status;
}

enum status schema_ready(struct bay_register *in, struct faults *faults)
{
    long long version = 0;
    enum status status = version_of(in, &version, faults);
    if (status != OK || version == REGISTER_SCHEMA) {
        return status;
    }
    if (!in->write) {
        return faults_add(
            faults, E_FILE, (struct place){.file = in->path},
            "has schema %lld, this program reads schema %d: the next command that judges brings it up to date", version,
            REGISTER_SCHEMA);
    }
    return migrate(in, faults);
}
