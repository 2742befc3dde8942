/* large.h - words in letters that can be read across a test bay
 */
#ifndef DUTYPROOF_CLI_LARGE_H
#define DUTYPROOF_CLI_LARGE_H

#include <stdio.h>

enum { LARGE_ROWS = 7 };

/* Prints a word of capital letters and spaces in block letters of seven rows, twice as wide where columns allow.
 * Letters that are not known are left out. colour: an ANSI sequence, "" for none. */
void large_print(const char *word, int columns, const char *colour, FILE *to);

#endif
