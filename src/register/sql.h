/* sql.h - statements to the register's database, whose faults are told in words (inside src/register/ only)
 */
#ifndef DUTYPROOF_REGISTER_SQL_H
#define DUTYPROOF_REGISTER_SQL_H

#include "register/register.h"

#include <sqlite3.h>

enum { STATEMENTS_KEPT = 24 };

struct bay_register {
    sqlite3 *database;
    sqlite3_stmt *kept[STATEMENTS_KEPT]; /* compiled once, and taken again when they are not in use */
    struct arena arena;                  /* bay, path */
    const char *bay, *path;
    bool write, created, grouped;
    int wait_s;
};

/* A statement under way. The first failure stands, and what follows it does nothing. */
struct query {
    struct bay_register *in;
    sqlite3_stmt *statement;
    struct faults *faults;
    enum status status;
    int bound; /* parameters so far */
};

/* Adds what SQLite says of its last failure. Returns: E_FILE or E_MEMORY. */
enum status sql_failed(const struct bay_register *in, int code, struct faults *faults);

/* Runs statements that return nothing. Status: E_FILE, E_MEMORY. */
enum status sql_run(struct bay_register *in, const char *statements, struct faults *faults);

/* The one number that a statement gives. Status: E_FILE, E_MEMORY. */
enum status sql_number(struct bay_register *in, const char *statement, long long *number, struct faults *faults);

struct query query_begin(struct bay_register *in, const char *statement, struct faults *faults);

/* Binds the next parameter. The text is borrowed until the query ends; "" and NULL are the database's NULL. */
void query_text(struct query *query, const char *text);
void query_integer(struct query *query, long long number);
void query_bytes(struct query *query, const void *bytes, size_t length);

/* Returns: true when there is a (further) row. */
bool query_next(struct query *query);

/* A column of the row: a copy in the arena ("" where it is NULL), or a number. A failure shows at query_end. */
const char *query_get_text(struct query *query, int column, struct arena *arena);
long long query_get_integer(const struct query *query, int column);

/* Frees the statements that are kept. */
void sql_forget(struct bay_register *in);

/* Ends the query, also one that failed. Status: E_FILE, E_MEMORY. */
enum status query_end(struct query *query);

#endif
