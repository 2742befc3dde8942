/* status.h - what a function returns when it could not do its work, and the messages that go with it
 *
 * A function that can fail returns an enum status and describes each fault in a struct faults that its caller
 * owns. Readers collect every fault of a file and fail at the end; numeric stages stop at the first.
 * The library never prints and never exits: the program decides what to do with the messages.
 */
#ifndef DUTYPROOF_STATUS_H
#define DUTYPROOF_STATUS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

enum status {
    OK = 0,
    E_INPUT = -1,  /* a table or a log is wrong; the faults say where */
    E_USAGE = -2,  /* the request itself makes no sense */
    E_FILE = -3,   /* a file could not be read, written, synced or renamed */
    E_MEMORY = -4, /* out of memory */
    E_CHILD = -5,  /* a child process (gnuplot) could not be started, or failed */
};

/* Where a fault lies. line and column count from 1, 0 means "not known"; column is the number of the CSV
 * column, as a spreadsheet counts, not a byte offset. file is borrowed for the call only. */
struct place {
    const char *file;
    size_t line, column;
};

enum { FAULTS_KEPT = 20, FAULT_TEXT = 480 };

/* All faults of one run: the first FAULTS_KEPT as text, the rest as a count. {0} is ready to use; nothing to free. */
struct faults {
    enum status first; /* status of the first fault; OK when there is none */
    size_t count;
    char text[FAULTS_KEPT][FAULT_TEXT]; /* "file:line:column: what is wrong, what was expected" */
};

#if defined(__GNUC__)
#define PRINTF_LIKE(fmt, args) __attribute__((format(printf, fmt, args)))
#else
#define PRINTF_LIKE(fmt, args)
#endif

/* Adds one fault. The text is cut (with an ellipsis) where it would not fit. Control characters in it are shown as '?'.
 * Returns: status, so that `return faults_add(...)` is one statement. */
enum status faults_add(struct faults *faults, enum status status, struct place at, const char *fmt, ...)
    PRINTF_LIKE(4, 5);

/* Shows control characters as '?' and, where the text was cut, ends it with "..." on a whole UTF-8 character. */
void text_tidy(char *text, bool cut);

/* Adds "out of memory". Returns: E_MEMORY. */
enum status faults_memory(struct faults *faults);

/* Prints the kept faults, one a line, and "... and N more" after them. Returns: false if a write failed. */
bool faults_print(const struct faults *faults, FILE *to);

#endif
