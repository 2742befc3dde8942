/* files.h - writing files that are whole or not there, and names that are safe
 */
#ifndef DUTYPROOF_FILES_H
#define DUTYPROOF_FILES_H

#include "dutyproof/arena.h"
#include "dutyproof/status.h"

#include <stddef.h>

/* Writes a file so that it appears whole or not at all: to a temporary name in the same folder, synced, renamed, the folder synced.
 * An existing file of that name is replaced. Status: E_FILE (the fault names the file and the system's reason; the
 * temporary is removed). */
enum status file_write(const char *path, const void *bytes, size_t length, struct faults *faults);

/* Moves a finished file (made by a child process beside its place) to its name: synced, renamed, the folder synced. */
enum status file_publish(const char *temporary, const char *path, struct faults *faults);

/* Reads a whole file. Status: E_FILE, E_MEMORY. The bytes are followed by a NUL that is not counted. */
enum status file_read(const char *path, size_t largest, struct arena *arena, char **bytes, size_t *length, struct faults *faults);

/* Makes a folder and its parents; one that exists is fine. */
enum status folder_make(const char *path, struct faults *faults);

/* A folder or file name from a serial: letters, digits, '.', '-' and '_' are kept, all else (and a leading dot) becomes '_'; when anything had to be
 * changed, or letters are upper case beside another serial in lower, "-" and 8 hex digits of the serial's SHA-256 are added, so that two serials never share a
 * name, even on a file system that ignores case. Length at most 100. Returns: the name in the arena; NULL when memory is out. */
char *name_safe(struct arena *arena, const char *serial);

/* SHA-256, as 64 lower-case hex digits with a NUL. */
void sha256_hex(const void *bytes, size_t length, char hex[65]);

#endif
