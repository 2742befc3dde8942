#include "base/grouped.h"

#include "base/text.h"

#include <string.h>

enum { NUMBER_MAX = 48 };

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

/* The bytes of a sign that can only be a separator of groups at the start of text; 0 when there is none. */
static size_t space_length(const char *text, size_t left)
{
    static const char *const signs[] = {" ", "\u00a0", "\u2009", "\u202f", "'", "\u2019"};
    for (size_t i = 0; i < sizeof signs / sizeof *signs; i++) {
        size_t length = strlen(signs[i]);
        if (length <= left && memcmp(text, signs[i], length) == 0) {
            return length;
        }
    }
    return 0;
}

static bool three_digits(const char *text, size_t left)
{
    return left >= 3 && is_digit(text[0]) && is_digit(text[1]) && is_digit(text[2]) &&
           (left == 3 || !is_digit(text[3]));
}

/* Trims no-break and other spaces. */
static void trim(const char **text, size_t *length)
{
    for (size_t space; *length > 0 && **text != '\'' && (space = space_length(*text, *length)) > 0;) {
        *text += space;
        *length -= space;
    }
    static const char *const ends[] = {" ", "\u00a0", "\u2009", "\u202f"};
    for (size_t i = 0; i < sizeof ends / sizeof *ends;) {
        size_t end = strlen(ends[i]);
        bool there = *length >= end && memcmp(*text + *length - end, ends[i], end) == 0;
        *length -= there ? end : 0;
        i = there ? 0 : i + 1;
    }
}

/* The digits of a number as they are taken apart. */
struct groups {
    char digits[NUMBER_MAX];
    size_t used, count; /* count: groups after the first */
    char sign;          /* between them: a comma, a point, or a space for all that are no decimal sign */
};

static bool keep(struct groups *groups, const char *text, size_t length)
{
    if (length >= sizeof groups->digits - groups->used) {
        return false;
    }
    memcpy(groups->digits + groups->used, text, length);
    groups->used += length;
    return true;
}

/* Takes the sign and the group that follow. Returns: the bytes taken; 0 when none follows. */
static size_t take_group(struct groups *groups, const char *text, size_t left)
{
    size_t space = left == 0 ? 0 : space_length(text, left);
    bool mark = left > 0 && (*text == ',' || *text == '.');
    size_t length = space > 0 ? space : mark;
    char sign = space > 0 ? ' ' : left > 0 ? *text : '\0';
    if (length == 0 || (groups->sign != '\0' && groups->sign != sign) || !three_digits(text + length, left - length) ||
        !keep(groups, text + length, 3)) {
        return 0;
    }
    groups->sign = sign;
    groups->count++;
    return length + 3;
}

bool number_grouped(const char *text, size_t length, double *value)
{
    struct groups groups = {.used = 0};
    trim(&text, &length);
    size_t at = length > 0 && (*text == '-' || *text == '+'), first = at, taken;
    while (at < length && is_digit(text[at])) {
        at++;
    }
    if (at == first || (at - first > 3 && at < length && space_length(text + at, length - at) > 0) ||
        !keep(&groups, text, at)) {
        return false;
    }
    bool few = at - first <= 3;
    while (few && (taken = take_group(&groups, text + at, length - at)) > 0) {
        at += taken;
    }
    bool decimals = at < length && (text[at] == ',' || text[at] == '.') && text[at] != groups.sign;
    bool doubt = groups.sign != ' ' && groups.count == 1 && !decimals;
    if (doubt || (at < length && !decimals) || !keep(&groups, text + at, length - at)) {
        return false;
    }
    bool trimmed_only = groups.count == 0;
    return (!trimmed_only || !decimals || text[at] == '.') &&
           number_parse(groups.digits, groups.used, decimals ? text[at] : '.', value);
}

bool number_two_ways(const char *text, size_t length, double *grouped, double *decimal)
{
    trim(&text, &length);
    size_t at = length > 0 && (*text == '-' || *text == '+'), first = at;
    char digits[NUMBER_MAX];
    while (at < length && is_digit(text[at])) {
        at++;
    }
    bool mark = at > first && at - first <= 3 && at < length && (text[at] == ',' || text[at] == '.');
    if (!mark || text[first] == '0' || !three_digits(text + at + 1, length - at - 1) || length != at + 4) {
        return false;
    }
    memcpy(digits, text, at);
    memcpy(digits + at, text + at + 1, 3);
    return number_parse(digits, at + 3, '.', grouped) && number_parse(text, length, text[at], decimal);
}
