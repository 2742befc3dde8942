/* log_preamble.h - the lines that a logger writes above its header row, met again after a restart
 *
 * rig.csv states how many they are (`log header row`). The first that says something is known again by its label.
 */
#ifndef DUTYPROOF_LOG_PREAMBLE_H
#define DUTYPROOF_LOG_PREAMBLE_H

#include <stdbool.h>
#include <stddef.h>

/* {.lines = ...} is ready to use. */
struct log_preamble {
    size_t lines;              /* above the header row; 0: none */
    const char *first;         /* the first that says something, borrowed; NULL: none does */
    size_t first_length, line; /* and which that is, from 1 */
    size_t until;              /* lines up to this one belong to a preamble that was begun again */
    bool header_due;           /* after them the header row must come */
};

/* What a line below the header row is. */
enum preamble_line { PREAMBLE_NO, PREAMBLE_YES, PREAMBLE_HEADER_DUE };

/* Takes the next line that is neither blank nor a comment. */
enum preamble_line preamble_take(struct log_preamble *preamble, const char *text, size_t length, size_t line,
                                 char delimiter);

#endif
