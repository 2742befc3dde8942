/* files.h - writing files that are whole or not there, and names that are safe
 */
#ifndef DUTYPROOF_FILES_H
#define DUTYPROOF_FILES_H

#include "base/arena.h"
#include "base/status.h"

#include <stddef.h>

/* Writes a file so that it appears whole or not at all: to a temporary name in the same folder, synced, renamed, the
 * folder synced. An existing file of that name is replaced. Status: E_FILE (the fault names the file and the system's
 * reason; the temporary is removed). */
enum status file_write(const char *path, const void *bytes, size_t length, struct faults *faults);

/* Moves a finished file (made by a child process beside its place) to its name: synced, renamed, the folder synced.
 * Status: E_FILE, also when the file is empty. */
enum status file_publish(const char *temporary, const char *path, struct faults *faults);

/* The same in steps for many files at once, since to sync is what costs: file_stage writes them all beside their places
 * (file_patch overwrites bytes of one), files_sync makes what was written and renamed on the file system of a folder
 * last, and file_place renames. A file that is synced before it is placed is whole or not there. file_stage refuses a
 * file that exists. Status: E_FILE. */
enum status file_stage(const char *path, const void *bytes, size_t length, struct faults *faults);
enum status file_patch(const char *path, size_t at, const void *bytes, size_t length, struct faults *faults);
enum status files_sync(const char *folder, struct faults *faults);
enum status file_place(const char *staged, const char *path, struct faults *faults);

/* Moves a file to another folder of the same file system; one that is not there is fine. Status: E_FILE. */
enum status file_move(const char *from, const char *to, struct faults *faults);

/* Removes a file; one that is not there is fine. Status: E_FILE. */
enum status file_remove(const char *path, struct faults *faults);

/* Reads a whole file. Status: E_FILE (also when it holds more than largest bytes), E_MEMORY. The bytes are followed by
 * a NUL that is not counted. */
enum status file_read(const char *path, size_t largest, struct arena *arena, char **bytes, size_t *length,
                      struct faults *faults);

/* Makes a folder and its parents; one that exists is fine. Status: E_FILE. */
enum status folder_make(const char *path, struct faults *faults);

/* Takes a folder (made if need be) for this run alone and removes the scratch folders in it whose makers have ended
 * without doing so. *lock is for folder_unlock; a file system without locks is used without one. The lock ends with the
 * process. Status: E_FILE, also when another run holds it. */
enum status folder_lock(const char *path, int *lock, struct faults *faults);
void folder_unlock(int lock);

/* The part of a path after its last '/': "logs/a.csv" gives "a.csv". Never NULL. */
const char *file_base(const char *path);

/* A folder or file name from a serial: letters, digits, '.', '-' and '_' are kept; every other character, and a dot at
 * either end, becomes '_'. Where anything had to be changed or cut, '~' and 8 hex digits of the serial's SHA-256 are
 * added; '~' is never kept, so such a name is never that of another serial. At most 100 bytes. Returns: the name in the
 * arena; NULL when memory is out. */
char *name_safe(struct arena *arena, const char *serial);

/* The same with the digits always added: for a serial whose plain name differs from another's by case only. */
char *name_safe_marked(struct arena *arena, const char *serial);

/* SHA-256, as 64 lower-case hex digits with a NUL. Source: FIPS 180-4, by nettle. */
void sha256_hex(const void *bytes, size_t length, char hex[65]);

#endif
