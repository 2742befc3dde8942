#include "base/text.h"

#include <float.h>
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

static bool is_blank(char c)
{
    return c == ' ' || c == '\t';
}

/* --- reading numbers --- */

enum {
    GATHERED_MAX = 19,       /* decimal digits that a uint64_t always holds */
    EXACT_POWER_MAX = 22,    /* 10^22 is the largest power of ten that a double holds exactly */
    SPARE_POWER_MAX = 15,    /* 10^15 < 2^53 */
    DECISIVE_DIGITS = 770,   /* halfway between two doubles needs at most 768 digits; what follows only breaks a tie */
    EXPONENT_MAX = 100000000 /* beyond it every number of a length that memory can hold is 0 or too large */
};

static const uint64_t exact_integer_max = UINT64_C(1) << 53;

static const double power_of_ten[EXACT_POWER_MAX + 1] = {1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,
                                                         1e8,  1e9,  1e10, 1e11, 1e12, 1e13, 1e14, 1e15,
                                                         1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};

/* A number as it stands in the text: +-gathered x 10^exponent, cut after GATHERED_MAX significant digits. */
struct scan {
    const char *from, *to; /* its digits, with the point if there is one */
    uint64_t gathered;
    int64_t exponent;
    int significant; /* digits gathered, leading zeros left out */
    bool whole;      /* no digit was cut */
    bool negative;
};

/* Takes the digits at text; digits after the point lower the exponent. Returns: the first character that is no digit.
 */
static const char *scan_digits(struct scan *scan, const char *text, const char *end, bool after_point)
{
    const char *c = text;
    uint64_t gathered = scan->gathered;
    while (gathered == 0 && c < end && *c == '0') {
        c++;
    }
    const char *first = c;
    const char *full = end - c > GATHERED_MAX - scan->significant ? c + (GATHERED_MAX - scan->significant) : end;
    while (c < full && is_digit(*c)) {
        gathered = gathered * 10 + (uint64_t)(*c++ - '0');
    }
    scan->gathered = gathered;
    scan->significant += (int)(c - first);
    scan->exponent -= after_point ? c - text : 0;
    const char *cut = c;
    while (c < end && is_digit(*c)) {
        c++;
    }
    scan->exponent += after_point ? 0 : c - cut;
    scan->whole = scan->whole && c == cut;
    return c;
}

/* Takes e[+-]digits. Returns: the first character after it; NULL when there are no digits. */
static const char *scan_exponent(struct scan *scan, const char *text, const char *end)
{
    const char *c = text + 1;
    bool negative = c < end && *c == '-';
    if (c < end && (*c == '-' || *c == '+')) {
        c++;
    }
    if (c == end || !is_digit(*c)) {
        return NULL;
    }
    int64_t exponent = 0;
    for (; c < end && is_digit(*c); c++) {
        if (exponent < INT64_MAX / 100) {
            exponent = exponent * 10 + (*c - '0');
        }
    }
    scan->exponent += negative ? -exponent : exponent;
    return c;
}

/* Returns: true when the whole text is one number. */
static bool scan_number(struct scan *scan, const char *text, const char *end, char point)
{
    while (text < end && is_blank(*text)) {
        text++;
    }
    while (end > text && is_blank(end[-1])) {
        end--;
    }
    *scan = (struct scan){.whole = true};
    if (text < end && (*text == '-' || *text == '+')) {
        scan->negative = *text == '-';
        text++;
    }
    scan->from = text;
    const char *c = scan_digits(scan, text, end, false);
    bool pointed = c < end && *c == point;
    if (pointed) {
        c = scan_digits(scan, c + 1, end, true);
    }
    scan->to = c;
    if (c - text == (pointed ? 1 : 0)) {
        return false;
    }
    if (c < end && (*c == 'e' || *c == 'E')) {
        c = scan_exponent(scan, c, end);
    }
    return c == end;
}

/* Clinger's fast path: a product or quotient of two exact doubles is correctly rounded. Returns: false where it does
 * not apply. */
static bool scan_fast(const struct scan *scan, double *magnitude)
{
    uint64_t digits = scan->gathered;
    int64_t exponent = scan->exponent;
    if (FLT_EVAL_METHOD != 0 || !scan->whole || digits > exact_integer_max) {
        return false;
    }
    if (exponent >= -EXACT_POWER_MAX && exponent < 0) {
        *magnitude = (double)digits / power_of_ten[-exponent];
        return true;
    }
    double scaled = (double)digits;
    if (exponent > EXACT_POWER_MAX && exponent <= EXACT_POWER_MAX + SPARE_POWER_MAX) {
        scaled *= power_of_ten[exponent - EXACT_POWER_MAX];
        exponent = EXACT_POWER_MAX;
    }
    if (exponent < 0 || exponent > EXACT_POWER_MAX || scaled > (double)exact_integer_max) {
        return false;
    }
    *magnitude = scaled * power_of_ten[exponent];
    return true;
}

/* Any other number: hands strtod the digits as an integer with an exponent. No point, so the locale does not matter. */
static double scan_slow(const struct scan *scan)
{
    char text[DECISIVE_DIGITS + 32];
    size_t count = 0;
    bool more = false;
    int64_t exponent = scan->exponent + scan->significant; /* of 0.DIGITS */
    for (const char *c = scan->from; c < scan->to; c++) {
        if (!is_digit(*c) || (count == 0 && *c == '0')) {
            continue;
        }
        if (count < DECISIVE_DIGITS) {
            text[count++] = *c;
        } else {
            more = more || *c != '0';
        }
    }
    if (count == 0) {
        return 0.0;
    }
    if (more) {
        text[count++] = '1';
    }
    exponent -= (int64_t)count;
    exponent = exponent > EXPONENT_MAX ? EXPONENT_MAX : exponent < -EXPONENT_MAX ? -EXPONENT_MAX : exponent;
    (void)snprintf(text + count, sizeof text - count, "e%d", (int)exponent);
    return strtod(text, NULL);
}

bool number_parse(const char *text, size_t length, char point, double *value)
{
    struct scan scan;
    double magnitude;
    if (!scan_number(&scan, text, text + length, point)) {
        return false;
    }
    if (!scan_fast(&scan, &magnitude)) {
        magnitude = scan_slow(&scan);
    }
    if (!isfinite(magnitude)) {
        return false;
    }
    *value = scan.negative ? -magnitude : magnitude;
    return true;
}

int number_significant(const char *text)
{
    struct scan scan;
    const char *end = text + strlen(text);
    if (!scan_number(&scan, text, end, '.') && !scan_number(&scan, text, end, ',')) {
        return 0;
    }
    int count = 0;
    for (const char *c = scan.from; c < scan.to; c++) {
        count += is_digit(*c) && (count > 0 || *c != '0');
    }
    return count > 0 ? count : 1;
}

/* --- rounding and showing numbers --- */

enum { ALL_DIGITS = 15, DIGITS_MAX = 17 };

/* A finite number in decimal: +- D.DDD x 10^exponent. */
struct decimal {
    bool negative;
    int count, exponent;
    char digits[DIGITS_MAX + 1];
};

static int clamped(int value, int low, int high)
{
    return value < low ? low : value > high ? high : value;
}

/* printf writes the locale's point, so only the digits and the exponent are taken from its text. */
static struct decimal decimal_of(double value, int count)
{
    struct decimal d = {.negative = value < 0};
    char text[64];
    (void)snprintf(text, sizeof text, "%.*e", count - 1, fabs(value));
    const char *c = text;
    for (; *c != '\0' && *c != 'e'; c++) {
        if (is_digit(*c) && d.count < DIGITS_MAX) {
            d.digits[d.count++] = *c;
        }
    }
    d.exponent = *c == 'e' ? (int)strtol(c + 1, NULL, 10) : 0;
    return d;
}

/* Cuts to count digits by the rule of IS 2:1960: exactly half goes to the even digit. */
static void decimal_cut(struct decimal *d, int count)
{
    if (count >= d->count) {
        return;
    }
    bool more = false;
    for (int i = count + 1; i < d->count; i++) {
        more = more || d->digits[i] != '0';
    }
    char dropped = d->digits[count];
    bool odd = (d->digits[count - 1] - '0') % 2 != 0;
    d->count = count;
    if (dropped < '5' || (dropped == '5' && !more && !odd)) {
        return;
    }
    int i = count - 1;
    while (i >= 0 && d->digits[i] == '9') {
        d->digits[i--] = '0';
    }
    if (i >= 0) {
        d->digits[i]++;
    } else {
        d->digits[0] = '1';
        d->exponent++;
    }
}

static struct decimal decimal_rounded(double value, int significant)
{
    int count = clamped(significant, 1, DIGITS_MAX);
    struct decimal d = decimal_of(value, count > ALL_DIGITS ? count : (int)ALL_DIGITS);
    decimal_cut(&d, count);
    return d;
}

double number_round(double value, int significant)
{
    if (!isfinite(value) || value == 0.0) {
        return value;
    }
    struct decimal d = decimal_rounded(value, significant);
    char text[64];
    int length =
        snprintf(text, sizeof text, "%s%.*se%d", d.negative ? "-" : "", d.count, d.digits, d.exponent - (d.count - 1));
    double rounded = value;
    (void)number_parse(text, (size_t)length, '.', &rounded);
    return rounded;
}

char *number_format(double value, int significant, char *out, size_t size)
{
    enum { PLAIN_FROM = -4, PLAIN_BELOW = 9 };
    static const char zeros[] = "0000000000";
    char text[64];
    int length = 0;
    if (size == 0) {
        return out;
    }
    out[0] = '\0';
    if (!isfinite(value)) {
        return out;
    }
    struct decimal d = decimal_rounded(value, significant);
    const char *sign = d.negative ? "-" : "";
    if (d.exponent < PLAIN_FROM || d.exponent >= PLAIN_BELOW) {
        length = snprintf(text, sizeof text, "%s%c%s%.*se%d", sign, d.digits[0], d.count > 1 ? "." : "", d.count - 1,
                          d.digits + 1, d.exponent);
    } else if (d.exponent < 0) {
        length = snprintf(text, sizeof text, "%s0.%.*s%.*s", sign, -d.exponent - 1, zeros, d.count, d.digits);
    } else if (d.exponent >= d.count - 1) {
        length = snprintf(text, sizeof text, "%s%.*s%.*s", sign, d.count, d.digits, d.exponent - (d.count - 1), zeros);
    } else {
        length = snprintf(text, sizeof text, "%s%.*s.%.*s", sign, d.exponent + 1, d.digits, d.count - d.exponent - 1,
                          d.digits + d.exponent + 1);
    }
    if (length > 0 && (size_t)length < size) {
        memcpy(out, text, (size_t)length + 1);
    }
    return out;
}

/* --- names --- */

static const char *skip_separators(const char *text)
{
    for (;;) {
        if (*text != '\0' && strchr(" \t\r\n_-", *text) != NULL) {
            text++;
        } else if (text[0] == '\xc2' && text[1] == '\xa0') { /* no-break space */
            text += 2;
        } else {
            return text;
        }
    }
}

/* Steps through a folded name byte by byte; start behind skip_separators. Returns: the next byte, NUL at the end. */
static char fold_next(const char **text)
{
    const char *c = skip_separators(*text);
    if (c != *text) {
        *text = c;
        if (*c != '\0') {
            return ' ';
        }
    }
    if (*c == '\0') {
        return '\0';
    }
    *text = c + 1;
    return *c >= 'A' && *c <= 'Z' ? (char)(*c - 'A' + 'a') : *c;
}

char *name_fold(const char *text, char *out, size_t size)
{
    size_t used = 0;
    text = skip_separators(text);
    for (char c; used + 1 < size && (c = fold_next(&text)) != '\0'; used++) {
        out[used] = c;
    }
    if (size > 0) {
        out[used] = '\0';
    }
    return out;
}

bool name_equal(const char *a, const char *b)
{
    a = skip_separators(a);
    b = skip_separators(b);
    char ca, cb;
    do {
        ca = fold_next(&a);
        cb = fold_next(&b);
    } while (ca == cb && ca != '\0');
    return ca == cb;
}

enum { NEAREST_MAX = 64 };

static size_t least(size_t a, size_t b)
{
    return a < b ? a : b;
}

/* Damerau-Levenshtein distance (optimal string alignment) of two folded names shorter than NEAREST_MAX. */
static size_t edit_distance(const char *a, const char *b)
{
    size_t rows[3][NEAREST_MAX + 1];
    size_t *before = rows[0], *above = rows[1], *row = rows[2];
    size_t na = strlen(a), nb = strlen(b);
    for (size_t j = 0; j <= nb; j++) {
        above[j] = j;
    }
    for (size_t i = 1; i <= na; i++) {
        row[0] = i;
        for (size_t j = 1; j <= nb; j++) {
            size_t change = above[j - 1] + (a[i - 1] != b[j - 1]);
            row[j] = least(change, least(above[j], row[j - 1]) + 1);
            if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1]) {
                row[j] = least(row[j], before[j - 2] + 1);
            }
        }
        size_t *free_row = before;
        before = above;
        above = row;
        row = free_row;
    }
    return above[nb];
}

const char *name_nearest(const char *name, const char *const *candidates, size_t count)
{
    char wanted[NEAREST_MAX], candidate[NEAREST_MAX];
    const char *nearest = NULL;
    size_t allowed = strlen(name_fold(name, wanted, sizeof wanted)) / 3;
    for (size_t i = 0; i < count; i++) {
        size_t distance = edit_distance(wanted, name_fold(candidates[i], candidate, sizeof candidate));
        if (distance <= allowed) {
            nearest = candidates[i];
            if (distance == 0) {
                break;
            }
            allowed = distance - 1;
        }
    }
    return nearest;
}

/* --- UTF-8 made safe to show --- */

enum { REPLACEMENT = 0xfffd, MARKS_MAX = 3 };

struct range {
    uint32_t first, last;
};

static bool in_ranges(uint32_t code, const struct range *ranges, size_t count)
{
    for (size_t i = 0; i < count && ranges[i].first <= code; i++) {
        if (code <= ranges[i].last) {
            return true;
        }
    }
    return false;
}

/* Controls, characters that reverse or hide text, and line ends. The joiners U+200C and U+200D are part of how Indian
 * languages are written and count as combining marks. */
static bool is_unsafe(uint32_t code)
{
    static const struct range unsafe[] = {
        {0x0000, 0x001f}, {0x007f, 0x009f}, {0x00ad, 0x00ad}, {0x061c, 0x061c},   {0x180e, 0x180e},
        {0x200b, 0x200b}, {0x200e, 0x200f}, {0x2028, 0x202e}, {0x2060, 0x206f},   {0xfdd0, 0xfdef},
        {0xfeff, 0xfeff}, {0xfff9, 0xfffb}, {0xfffe, 0xffff}, {0xe0000, 0xe007f},
    };
    return in_ranges(code, unsafe, sizeof unsafe / sizeof *unsafe);
}

/* Non-spacing marks of the scripts that are met on test beds' papers (Unicode categories Mn and Me). */
static bool is_mark(uint32_t code)
{
    static const struct range marks[] = {
        {0x0300, 0x036f}, {0x0483, 0x0489}, {0x0591, 0x05bd}, {0x0610, 0x061a}, {0x064b, 0x065f},   {0x0670, 0x0670},
        {0x06d6, 0x06dc}, {0x0900, 0x0902}, {0x093a, 0x093a}, {0x093c, 0x093c}, {0x0941, 0x0948},   {0x094d, 0x094d},
        {0x0951, 0x0957}, {0x0962, 0x0963}, {0x0981, 0x0981}, {0x09bc, 0x09bc}, {0x09c1, 0x09c4},   {0x09cd, 0x09cd},
        {0x0a01, 0x0a02}, {0x0a3c, 0x0a3c}, {0x0a41, 0x0a51}, {0x0a70, 0x0a71}, {0x0a81, 0x0a82},   {0x0abc, 0x0abc},
        {0x0ac1, 0x0ac8}, {0x0acd, 0x0acd}, {0x0b01, 0x0b01}, {0x0b3c, 0x0b3c}, {0x0b3f, 0x0b3f},   {0x0b41, 0x0b44},
        {0x0b4d, 0x0b4d}, {0x0b82, 0x0b82}, {0x0bc0, 0x0bc0}, {0x0bcd, 0x0bcd}, {0x0c00, 0x0c00},   {0x0c3e, 0x0c40},
        {0x0c46, 0x0c56}, {0x0cbc, 0x0cbc}, {0x0cbf, 0x0cbf}, {0x0ccc, 0x0ccd}, {0x0d00, 0x0d01},   {0x0d41, 0x0d44},
        {0x0d4d, 0x0d4d}, {0x0e31, 0x0e31}, {0x0e34, 0x0e3a}, {0x0e47, 0x0e4e}, {0x1ab0, 0x1aff},   {0x1dc0, 0x1dff},
        {0x200c, 0x200d}, {0x20d0, 0x20f0}, {0xfe00, 0xfe0f}, {0xfe20, 0xfe2f}, {0xe0100, 0xe01ef},
    };
    return in_ranges(code, marks, sizeof marks / sizeof *marks);
}

/* Bytes of the character that starts with lead; 0 when none does. */
static size_t utf8_length(unsigned char lead)
{
    if (lead < 0x80) {
        return 1;
    }
    if (lead < 0xc0 || lead >= 0xf8) {
        return 0;
    }
    return lead < 0xe0 ? 2 : lead < 0xf0 ? 3 : 4;
}

/* Decodes one character of NUL-terminated text. Returns: its bytes; 1, with code REPLACEMENT, for a byte that is not
 * UTF-8. */
static size_t utf8_decode(const char *text, uint32_t *code)
{
    static const uint32_t smallest[] = {0, 0, 0x80, 0x800, 0x10000};
    const unsigned char *byte = (const unsigned char *)text;
    size_t length = utf8_length(byte[0]);
    uint32_t decoded = length < 2 ? byte[0] : byte[0] & (0x7fu >> length);
    for (size_t i = 1; i < length; i++) {
        if ((byte[i] & 0xc0) != 0x80) {
            length = 0;
            break;
        }
        decoded = decoded << 6 | (byte[i] & 0x3fu);
    }
    bool surrogate = decoded >= 0xd800 && decoded <= 0xdfff;
    if (length == 0 || decoded < smallest[length] || surrogate || decoded > 0x10ffff) {
        *code = REPLACEMENT;
        return 1;
    }
    *code = decoded;
    return length;
}

char *text_shown(struct arena *arena, const char *text, size_t max_characters)
{
    static const char replacement[] = "\xef\xbf\xbd", ellipsis[] = "\xe2\x80\xa6";
    enum { WIDEST = 4 * (1 + MARKS_MAX), SHORT = 3 };
    size_t length = strlen(text), limit = (SIZE_MAX - 64) / WIDEST;
    if (length > limit) {
        return NULL;
    }
    size_t characters_most = least(length, max_characters);
    char *shown = arena_alloc(arena, least(characters_most * WIDEST, length * SHORT) + WIDEST + 1, 1);
    if (shown == NULL) {
        return NULL;
    }
    size_t used = 0, last = 0, characters = 0, marks = 0;
    while (*text != '\0') {
        uint32_t code;
        size_t bytes = utf8_decode(text, &code);
        bool mark = is_mark(code);
        if (!mark && characters == max_characters) {
            used = last;
            if (max_characters > 0) {
                memcpy(shown + last, ellipsis, SHORT);
                used += SHORT;
            }
            break;
        }
        marks = mark ? marks + 1 : 0;
        if (!mark) {
            last = used;
            characters++;
        }
        if (marks <= MARKS_MAX) {
            bool safe = code != REPLACEMENT && !is_unsafe(code);
            memcpy(shown + used, safe ? text : replacement, safe ? bytes : SHORT);
            used += safe ? bytes : SHORT;
        }
        text += bytes;
    }
    shown[used] = '\0';
    return shown;
}

char *text_put(char *out, size_t size, const char *text)
{
    size_t length = strlen(text), kept = length < size ? length : size - 1;
    memmove(out, text, kept);
    out[kept] = '\0';
    return out;
}

void text_quote_csv(const char *text, FILE *to)
{
    text = text == NULL ? "" : text;
    (void)fputs(text[0] != '\0' && strchr("=+-@", text[0]) != NULL ? "\"'" : "\"", to);
    for (; *text != '\0'; text++) {
        (void)fputs(*text == '"' ? "\"" : "", to);
        (void)fputc((unsigned char)*text < ' ' ? ' ' : *text, to);
    }
    (void)fputc('"', to);
}

size_t text_columns(const char *utf8)
{
    size_t columns = 0;
    while (*utf8 != '\0') {
        uint32_t code;
        utf8 += utf8_decode(utf8, &code);
        columns += !is_mark(code);
    }
    return columns;
}
