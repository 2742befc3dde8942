/* tree.h - folders with all that they hold, by descriptor: no link is ever followed
 *
 * Each function sets errno where it fails.
 */
#ifndef DUTYPROOF_FILING_TREE_H
#define DUTYPROOF_FILING_TREE_H

#include "base/arena.h"

#include <stdbool.h>
#include <stddef.h>

/* Opens a folder inside an open folder. Returns: the descriptor, or -1: ELOOP or ENOTDIR when it is a link. */
int tree_open(int parent, const char *name);

/* Reads a plain file, which is not a link, in an open folder; its bytes are followed by a NUL that is not counted.
 * EFBIG: it holds more than largest bytes; EINVAL: it is no plain file; ENOMEM. */
bool tree_read(int folder, const char *name, size_t largest, struct arena *arena, char **bytes, size_t *length);

/* Removes all that an open folder holds; the file named last (NULL: none) goes last, so that a removal that is cut
 * short can be taken up. What lies on another file system stays. Takes the descriptor over. */
bool tree_empty(int folder, const char *last);

/* Removes a file, a link, or a folder with all in it; one that is not there is fine. */
bool tree_remove(int parent, const char *name);

/* Brings a file, a link or a folder with all in it to another place, where it must not be yet; the original stays.
 * Files become hard links, or copies where the file system makes none (then with their times and mode). A pipe, socket
 * or device is not brought: EINVAL. */
bool tree_bring(int from, const char *name, int to, const char *as);

#endif
