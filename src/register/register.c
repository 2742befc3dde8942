#include "register/register.h"

#include "register/network.h"
#include "register/schema.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

char *register_path(const char *bay, struct arena *arena)
{
    return arena_format(arena, "%s/register.db", bay);
}

/* SQLite opens a file that cannot be written for reading, and needs the folder for its journal only later: both are
 * told now. */
static enum status can_write(struct bay_register *in, const char *bay, struct faults *faults)
{
    const char *refused = access(bay, W_OK | X_OK) != 0 ? bay : NULL;
    if (refused == NULL && access(in->path, W_OK) != 0 && errno != ENOENT) {
        refused = in->path;
    }
    return refused == NULL
               ? OK
               : faults_add(faults, E_FILE, (struct place){.file = refused},
                            "cannot be written: %s; the bay's register must take what is judged", strerror(errno));
}

static enum status on_network(const struct register_request *request, struct bay_register *in, struct faults *faults)
{
    const char *name = request->write && !request->network ? network_of(request->bay) : NULL;
    return name == NULL ? OK
                        : faults_add(faults, E_FILE, (struct place){.file = in->path},
                                     "lies on a network file system (%s), where locks may not hold: "
                                     "keep the bay on a disk of its own, or write 'register, "
                                     "network' into rig.csv where the works vouch for them",
                                     name);
}

static enum status open_database(struct bay_register *in, struct faults *faults)
{
    int flags = in->write ? SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE : SQLITE_OPEN_READONLY;
    in->created = access(in->path, F_OK) != 0;
    if (in->created && !in->write) {
        return faults_add(faults, E_FILE, (struct place){.file = in->path}, "%s",
                          errno == ENOENT ? "there is no register: nothing has been judged with it yet"
                                          : strerror(errno));
    }
    int code = sqlite3_open_v2(in->path, &in->database, flags, NULL);
    if (in->database == NULL) {
        return faults_memory(faults);
    }
    if (code != SQLITE_OK) {
        return sql_failed(in, code, faults);
    }
    (void)sqlite3_extended_result_codes(in->database, 1);
    (void)sqlite3_busy_timeout(in->database, 1000 * in->wait_s);
    (void)sqlite3_db_config(in->database, SQLITE_DBCONFIG_DEFENSIVE, 1, NULL);
    (void)sqlite3_db_config(in->database, SQLITE_DBCONFIG_TRUSTED_SCHEMA, 0, NULL);
    return sql_run(in, "PRAGMA cell_size_check = ON; PRAGMA synchronous = FULL; PRAGMA cache_size = -16384", faults);
}

enum status register_open(const struct register_request *request, struct bay_register **opened, struct faults *faults)
{
    *opened = NULL;
    struct bay_register *in = calloc(1, sizeof *in);
    if (in == NULL) {
        return faults_memory(faults);
    }
    in->write = request->write;
    in->wait_s = request->wait_s > 0 ? request->wait_s : REGISTER_WAIT_S;
    in->bay = arena_text(&in->arena, request->bay, strlen(request->bay));
    in->path = register_path(request->bay, &in->arena);
    enum status status = in->bay == NULL || in->path == NULL ? faults_memory(faults) : on_network(request, in, faults);
    status = status == OK && in->write ? can_write(in, request->bay, faults) : status;
    status = status == OK ? open_database(in, faults) : status;
    status = status == OK ? schema_ready(in, faults) : status;
    if (status != OK) {
        register_close(in);
        return status;
    }
    *opened = in;
    return OK;
}

void register_close(struct bay_register *in)
{
    if (in != NULL) {
        register_abandon(in);
        sql_forget(in);
        (void)sqlite3_close(in->database);
        arena_release(&in->arena);
        free(in);
    }
}

bool register_created(const struct bay_register *in)
{
    return in->created;
}

const char *register_file(const struct bay_register *in)
{
    return in->path;
}

enum status register_begin(struct bay_register *in, struct faults *faults)
{
    if (!in->write) {
        return faults_add(faults, E_FILE, (struct place){.file = in->path}, "was opened to be read");
    }
    enum status status = sql_run(in, "BEGIN IMMEDIATE", faults);
    in->grouped = status == OK;
    return status;
}

enum status register_commit(struct bay_register *in, struct faults *faults)
{
    enum status status = sql_run(in, "COMMIT", faults);
    in->grouped = in->grouped && status != OK;
    return status;
}

void register_abandon(struct bay_register *in)
{
    if (in->grouped) {
        (void)sqlite3_exec(in->database, "ROLLBACK", NULL, NULL, NULL); /* what it cannot take back, closing does */
        in->grouped = false;
    }
}
