/* files.h - writing files that are whole or not there
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

/* The same in steps for many files at once, since to sync is what costs: file_stage writes a file that does not exist
 * yet, and files_sync makes what was written and renamed on the file system of a
 * folder last. Status: E_FILE. */
enum status file_stage(const char *path, const void *bytes, size_t length, struct faults *faults);
enum status files_sync(const char *folder, struct faults *faults);

/* Removes a file; one that is not there is fine. Status: E_FILE. */
enum status file_remove(const char *path, struct faults *faults);

/* Opens a file for reading; what is no plain file (a folder, a pipe, a device) is refused and never waited for. *fd is
 * -1 on a fault. Status: E_FILE. */
enum status file_open(const char *path, int *fd, struct faults *faults);

/* Reads a whole file. Status: E_FILE (also when it holds more than largest bytes), E_MEMORY. The bytes are followed by
 * a NUL that is not counted. */
enum status file_read(const char *path, size_t largest, struct arena *arena, char **bytes, size_t *length,
                      struct faults *faults);

/* Makes a folder and its parents; one that exists is fine. Status: E_FILE. */
enum status folder_make(const char *path, struct faults *faults);

/* The part of a path after its last '/': "logs/a.csv" gives "a.csv". Never NULL. */
const char *file_base(const char *path);

/* Bytes of a log's or list's file name without `.csv` or `.csv.gz`, in capitals too; other dots are part of the name:
 * "DN-15.04.csv" gives those of "DN-15.04". */
size_t log_name_length(const char *name);

/* The SHA-256 of a file's bytes. Returns: false, and "", when it cannot be read. */
bool file_sha256(const char *path, char hex[65]);

/* SHA-256, as 64 lower-case hex digits with a NUL. Source: FIPS 180-4, by nettle. */
void sha256_hex(const void *bytes, size_t length, char hex[65]);

#endif
