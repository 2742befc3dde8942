/* number_parse against strtod: the same texts accepted, the same bits read, with either point */
#include "fuzz.h"

#include "base/text.h"

#include <float.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { LONGEST = 2048 };

static size_t digits_at(const char *text)
{
    return strspn(text, "0123456789");
}

/* The grammar of text.h, said another way. */
static bool is_number(const char *text)
{
    text += *text == '+' || *text == '-';
    size_t before = digits_at(text), after = 0;
    text += before;
    if (*text == '.') {
        after = digits_at(++text);
        text += after;
    }
    if (before + after == 0) {
        return false;
    }
    if (*text == 'e' || *text == 'E') {
        text++;
        text += *text == '+' || *text == '-';
        size_t exponent = digits_at(text);
        return exponent > 0 && text[exponent] == '\0';
    }
    return *text == '\0';
}

/* A copy without the blanks around it, and with a point for a decimal comma. Returns: false when it holds a NUL, or the
 * other decimal sign. */
static bool normalize(const char *data, size_t size, char point, char copy[LONGEST + 1])
{
    while (size > 0 && (data[0] == ' ' || data[0] == '\t')) {
        data++, size--;
    }
    while (size > 0 && (data[size - 1] == ' ' || data[size - 1] == '\t')) {
        size--;
    }
    for (size_t i = 0; i < size; i++) {
        if (data[i] == '\0' || data[i] == (point == ',' ? '.' : ',')) {
            return false;
        }
        copy[i] = data[i] == point ? '.' : data[i];
    }
    copy[size] = '\0';
    return true;
}

static void compare(const char *data, size_t size, char point)
{
    char copy[LONGEST + 1];
    const double untouched = 12345.0;
    double value = untouched;
    bool parsed = number_parse(data, size, point, &value);
    bool expected = normalize(data, size, point, copy) && is_number(copy);
    double reference = expected ? strtod(copy, NULL) : 0.0;
    expected = expected && isfinite(reference);
    MUST(parsed == expected);
    MUST(parsed ? memcmp(&value, &reference, sizeof value) == 0 : value == untouched);
}

/* What number_format writes is read again, to the digits that it was asked for. */
static void there_and_back(const char *data, size_t size)
{
    double value, again;
    char text[400];
    if (!number_parse(data, size, '.', &value) || !(fabs(value) < 1e300) || (value != 0.0 && fabs(value) < 1e-290)) {
        return; /* where rounding overflows, or meets the gradual end of the range */
    }
    for (int digits = 1; digits <= 17; digits++) {
        (void)number_format(value, digits, text, sizeof text);
        MUST(text[0] != '\0' && number_parse(text, strlen(text), '.', &again));
        double rounding =
            5.0001 * pow(10.0, -digits) + (digits < 15 ? 5.0001e-15 : 0.0) + DBL_EPSILON; /* of 15 digits first */
        MUST(fabs(again - value) <= fabs(value) * rounding);
    }
    char small[9];
    (void)number_format(value, 6, small, sizeof small);
    MUST(small[0] == '\0' || number_parse(small, strlen(small), '.', &again));
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    if (size > LONGEST) {
        return 0;
    }
    compare((const char *)data, size, '.');
    compare((const char *)data, size, ',');
    there_and_back((const char *)data, size);
    return 0;
}
