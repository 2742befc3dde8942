#include "log/log_preamble.h"

#include <string.h>

/* The length of what stays the same from start to start: `started,10:20` and `Started: 10:20` differ after the comma or
 * colon. A line that begins with no letter could be a row: all of it must be the same. */
static size_t label_length(const char *text, size_t length, char delimiter)
{
    bool letter = length > 0 && ((*text >= 'A' && *text <= 'Z') || (*text >= 'a' && *text <= 'z'));
    size_t end = 0;
    while (end < length && !(letter && (text[end] == delimiter || text[end] == ':' || text[end] == '='))) {
        end++;
    }
    return end;
}

static bool begins_again(const struct log_preamble *preamble, const char *text, size_t length, char delimiter)
{
    if (preamble->first == NULL || length == 0 || *text != *preamble->first) {
        return false;
    }
    size_t label = label_length(preamble->first, preamble->first_length, delimiter);
    return label_length(text, length, delimiter) == label && memcmp(text, preamble->first, label) == 0;
}

enum preamble_line preamble_take(struct log_preamble *preamble, const char *text, size_t length, size_t line,
                                 char delimiter)
{
    if (preamble->header_due && line > preamble->until) {
        preamble->header_due = false;
        return PREAMBLE_HEADER_DUE;
    }
    if (preamble->header_due) {
        return PREAMBLE_YES;
    }
    if (!begins_again(preamble, text, length, delimiter)) {
        return PREAMBLE_NO;
    }
    preamble->until = line + preamble->lines - preamble->line;
    preamble->header_due = true;
    return PREAMBLE_YES;
}
