/* utf16.h - text as some loggers and spreadsheets save it, made UTF-8
 */
#ifndef DUTYPROOF_UTF16_H
#define DUTYPROOF_UTF16_H

#include <stdbool.h>
#include <stddef.h>

/* {0} is ready to use. A character may lie across two pieces of a file. */
struct utf16 {
    bool big_endian;
    unsigned high; /* the first half of a character beyond U+FFFF, 0: none waits */
    bool odd;      /* half a code unit waits: */
    unsigned char byte;
};

enum { UTF16_GROWTH = 3 }; /* bytes of UTF-8 that two bytes make at most, one for what waited apart */

/* True when a file that begins with these bytes is UTF-16 (its byte order mark); *big_endian tells which. */
bool utf16_begins(const char *text, size_t length, bool *big_endian);

/* Makes a piece of UTF-16 UTF-8. out holds at least (length + 1) / 2 * UTF16_GROWTH + 3 bytes. A lone half of a
 * character becomes U+FFFD. Returns: the bytes written. Source: RFC 2781, section 2.2; RFC 3629, section 3. */
size_t utf16_piece(struct utf16 *state, const char *text, size_t length, char *out);

#endif
