/* register.h - what was judged, when, by whom, from what: storing it so that nothing is lost or changed in silence
 *
 * A register is a file of a bay, `register.db` (SQLite, rollback journal). It is only ever added to: a row a judgement
 * and a row for its papers once they stand. Each row carries the digest of the row before it, so that a row that is
 * altered, taken out or slipped in shows (register/chain.h). Texts (tables, result documents) are kept once, by their
 * digest.
 *
 * The structs here are plain: a server for a whole works could stand behind the same calls. Nothing here knows of
 * papers' forms, tables or physics.
 */
#ifndef DUTYPROOF_REGISTER_REGISTER_H
#define DUTYPROOF_REGISTER_REGISTER_H

#include "base/arena.h"
#include "base/status.h"

#include <stdbool.h>
#include <stddef.h>

struct bay_register;

struct register_request {
    const char *bay; /* the bay's folder */
    bool write;      /* make it where it is missing, bring an older one up to date; else it is only read */
    bool network;    /* the works vouch for locks where the bay lies on a network */
    int wait_s;      /* for other programs that write; 0: REGISTER_WAIT_S */
};

enum { REGISTER_WAIT_S = 30, REGISTER_SCHEMA = 2 };

/* The path of a bay's register, in the arena. Returns: NULL when memory is out. */
char *register_path(const char *bay, struct arena *arena);

/* Opens a bay's register. Fails before anything else is done where rows could not be added later: read-only folder or
 * file, a file that is no register, one of a newer schema (both numbers are told), a network file system. created: it
 * was not there before. Status: E_FILE, E_MEMORY; when it is only read and not there, E_FILE. Memory: register_close
 * frees it. */
enum status register_open(const struct register_request *request, struct bay_register **opened, struct faults *faults);
void register_close(struct bay_register *bay_register);
bool register_created(const struct bay_register *bay_register);
const char *register_file(const struct bay_register *bay_register);

/* A group of rows is added as one: all or none of it stands. While it lasts, other programs that write wait. What is
 * read within it is what it will be added to. register_abandon takes a group back and may be called when there is none.
 * Status: E_FILE (locked for longer than the wait, disk full), E_MEMORY. */
enum status register_begin(struct bay_register *bay_register, struct faults *faults);
enum status register_commit(struct bay_register *bay_register, struct faults *faults);
void register_abandon(struct bay_register *bay_register);

/* One judgement. Texts are never NULL when read, and "" where nothing is stated. */
struct judgement {
    long long id;       /* 1, 2, 3 ... in the order of judging */
    const char *at;     /* when it was judged: UTC, ISO 8601 */
    const char *who;    /* login@host */
    const char *origin; /* JUDGED, or why the row is here without a judging */
    const char *serial, *model, *order, *tested;
    const char *log; /* relative to the bay */
    const char *log_sha256;
    const char *tables; /* a line a table, see register_table */
    const char *program, *libraries;
    const char *verdict; /* "pass", "fail", "not judged", "void" */
    const char *figures; /* JSON object: margins, efficiency ... */
    const char *result_sha256;
    long long revision;            /* 1 for the first judgement of a log */
    const char *changes;           /* what makes it differ from the revision before; a line a change */
    const char *previous, *digest; /* of the row before, of this row */
};

#define JUDGED  "judged"
#define REBUILT "rebuilt from papers"

/* A table that took part. rows: the text of the rows that were used, a line a cell (changes.h); text: the whole file.
 * NULL: not known. In judgement.tables it is a line "ROWS_SHA256 TEXT_SHA256 NAME\n" with the digests of both; '-'
 * stands for one that is not known. */
struct register_table {
    const char *name;
    const char *rows;
    const char *text;
    size_t length;
};

/* What a row is made from. Of judgement, id, tables, result_sha256, previous and digest are set here; at "" takes the
 * clock's time, who "" the login and host. */
struct judgement_order {
    struct judgement judgement;
    const struct register_table *tables;
    size_t table_count;
    const char *document; /* the result document, byte for byte */
    size_t document_length;
};

/* Adds a judgement within a group. Status: E_FILE, E_MEMORY. */
enum status register_add(struct bay_register *bay_register, const struct judgement_order *order, long long *id,
                         struct faults *faults);

/* The papers of a judgement, once they stand. files: in the form of sha256sum, a line a file. */
struct judgement_papers {
    long long id, judgement;
    const char *at, *folder, *files; /* folder: relative to the bay where it lies in it, else from the root */
    const char *previous, *digest;
};

/* Adds them within a group; of papers, judgement, folder and files are taken. Status: E_FILE, E_MEMORY. */
enum status register_add_papers(struct bay_register *bay_register, const struct judgement_papers *papers,
                                struct faults *faults);

/* Reading. What is found lives in the arena; found tells whether there is such a row. Status: E_FILE, E_MEMORY. */

/* The judgement of a number. */
enum status register_read(struct bay_register *bay_register, long long id, struct arena *arena,
                          struct judgement *judgement, bool *found, struct faults *faults);

/* The newest judgement of a serial's log: what the next one would be a revision of. */
enum status register_latest(struct bay_register *bay_register, const char *serial, const char *log_sha256,
                            struct arena *arena, struct judgement *judgement, bool *found, struct faults *faults);

/* A revision of it, the newest of that number. */
enum status register_revision(struct bay_register *bay_register, const char *serial, const char *log_sha256,
                              long long revision, struct arena *arena, struct judgement *judgement, bool *found,
                              struct faults *faults);

/* The newest judgement of a log whatever its serial, and of a result document. */
enum status register_of_log(struct bay_register *bay_register, const char *log_sha256, struct arena *arena,
                            struct judgement *judgement, bool *found, struct faults *faults);
enum status register_of_result(struct bay_register *bay_register, const char *result_sha256, struct arena *arena,
                               struct judgement *judgement, bool *found, struct faults *faults);

/* The number of the judgement in front of a serial: of its latest test, whatever order they were judged in; at equal
 * times the one judged later; a log whose newest judgement is "void" does not count. 0: there is none. */
enum status register_current(struct bay_register *bay_register, const char *serial, long long *id,
                             struct faults *faults);

/* The newest papers of a judgement. */
enum status register_papers(struct bay_register *bay_register, long long judgement, struct arena *arena,
                            struct judgement_papers *papers, bool *found, struct faults *faults);

/* A text that is kept, by its digest; the bytes are followed by a NUL that is not counted. It is held against the
 * digest. Status: E_FILE also when it is not as it was stored. */
enum status register_text(struct bay_register *bay_register, const char *sha256, struct arena *arena, char **bytes,
                          size_t *length, bool *found, struct faults *faults);

/* The line of a table in judgement.tables: its digests. Returns: false when it is not among them. */
bool register_table_of(const struct judgement *judgement, const char *name, char rows_sha256[65], char text_sha256[65]);

#endif
