/* Numbers against the C library's strtod and hand-derived cases; names and hostile text against what the header
 * promises. */
#include "base/text.h"
#include "near.h"

#include <float.h>
#include <inttypes.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define COUNT(array) ((int)(sizeof(array) / sizeof *(array)))

/* Parses a copy that ends where the text ends, so that a sanitizer sees any read beyond it. */
static bool parse(const char *text, size_t length, char point, double *value)
{
    char *exact = malloc(length > 0 ? length : 1);
    ck_assert_ptr_nonnull(exact);
    memcpy(exact, text, length);
    bool parsed = number_parse(exact, length, point, value);
    free(exact);
    return parsed;
}

static uint64_t bits_of(double value)
{
    uint64_t bits;
    memcpy(&bits, &value, sizeof bits);
    return bits;
}

/* Bit for bit what strtod reads in the C locale, the locale of the tests, with either point. */
static void same_as_strtod(char *text)
{
    double want = strtod(text, NULL), got = 0.0;
    bool parsed = parse(text, strlen(text), '.', &got);
    if (!isfinite(want)) {
        ck_assert_msg(!parsed, "%.60s is out of range, yet read as %.17g", text, got);
        return;
    }
    ck_assert_msg(parsed && bits_of(got) == bits_of(want), "%.60s is %.17g, want %.17g", text, got, want);
    char *point = strchr(text, '.');
    if (point != NULL) {
        *point = ',';
        ck_assert_msg(parse(text, strlen(text), ',', &got) && bits_of(got) == bits_of(want),
                      "%.60s is %.17g, want %.17g", text, got, want);
    }
}

static const struct {
    const char *text;
    char point;
    double want;
} accepted[] = {
    {"0", '.', 0.0},
    {"-0.0", '.', -0.0},
    {"12.5", '.', 12.5},
    {"12,5", ',', 12.5},
    {"  +12.5\t", '.', 12.5},
    {"-3.25E+2", '.', -325.0},
    {".5", '.', 0.5},
    {"5.", '.', 5.0},
    {"007", '.', 7.0},
    {"1e-400", '.', 0.0},
    {"0e999999999999999999999", '.', 0.0},
    {"1e-999999999999999999999", '.', 0.0},
    /* 2^53 + 1 lies halfway: to even */
    {"9007199254740993", '.', 9007199254740992.0},
    {"9007199254740993.0000000000000000000000000000000000001", '.', 9007199254740994.0},
    /* 1 + 2^-53 lies halfway: to even, and up as soon as anything follows */
    {"1.00000000000000011102230246251565404236316680908203125", '.', 1.0},
    {"1.00000000000000011102230246251565404236316680908203126", '.', 1.0 + DBL_EPSILON},
    /* the largest double, and the last decimal that still rounds to it */
    {"1.7976931348623157e308", '.', DBL_MAX},
    {"1.7976931348623158e308", '.', DBL_MAX},
    /* the smallest normal, and the number just below it that made other readers loop for ever */
    {"2.2250738585072014e-308", '.', DBL_MIN},
    {"2.2250738585072011e-308", '.', 0x0.fffffffffffffp-1022},
    /* just above half the smallest subnormal, and just below */
    {"2.4703282292062328e-324", '.', 0x1p-1074},
    {"2.4703282292062327e-324", '.', 0.0},
};

START_TEST(number_accepted)
{
    double got = NAN;
    const char *text = accepted[_i].text;
    ck_assert(parse(text, strlen(text), accepted[_i].point, &got));
    ck_assert_msg(bits_of(got) == bits_of(accepted[_i].want), "%s is %.17g, want %.17g", text, got, accepted[_i].want);
}
END_TEST

static const char *const refused[] = {
    "",          " ",
    ".",         "-",
    "+",         "e5",
    "1e",        "1e+",
    "1e5.0",     "1.2.3",
    "1,5",       "1 2",
    "--1",       "+-1",
    "0x10",      "nan",
    "NAN",       "inf",
    "-infinity", "1e309",
    "-1e999",    "1e99999999999999999999",
    "12.4x",     "1_000",
    "1'000",     "1d5",
    "\u00a05",   "1\n",
    "1.8e308",   "- 1",
    "1e 5",      "1f",
    "٣",
};

START_TEST(number_refused)
{
    double untouched = 42.0;
    ck_assert_msg(!parse(refused[_i], strlen(refused[_i]), '.', &untouched), "'%s' read as %g", refused[_i], untouched);
    near_abs(untouched, 42.0, 0.0);
}
END_TEST

START_TEST(number_nul_inside)
{
    double value = 42.0;
    ck_assert(!parse("1\0", 2, '.', &value));
    ck_assert(!parse("1.5", 3, ',', &value));
    ck_assert(parse("12345", 2, '.', &value));
    near_abs(value, 12.0, 0.0);
}
END_TEST

/* xorshift64, so that every run and machine sees the same numbers */
static uint64_t random_bits(uint64_t *state)
{
    *state ^= *state << 13;
    *state ^= *state >> 7;
    *state ^= *state << 17;
    return *state;
}

static double random_double(uint64_t *state)
{
    double value;
    do {
        uint64_t bits = random_bits(state);
        memcpy(&value, &bits, sizeof value);
    } while (!isfinite(value));
    return value;
}

START_TEST(number_random_bits)
{
    static const char *const forms[] = {"%.17g", "%.15g", "%.6f", "%.16e", "%.3e", "%g"};
    uint64_t state = UINT64_C(0x9e3779b97f4a7c15);
    char text[400];
    for (int i = 0; i < 10000; i++) {
        (void)snprintf(text, sizeof text, forms[_i], random_double(&state));
        same_as_strtod(text);
    }
}
END_TEST

/* What a logger writes: up to nine digits with 0 to 8 of them after the point. */
START_TEST(number_of_logs)
{
    uint64_t state = 12345;
    char text[64];
    for (int i = 0; i < 50000; i++) {
        double reading = (double)(int64_t)(random_bits(&state) % 2000000000) - 1e9;
        (void)snprintf(text, sizeof text, "%.*f", i % 9, reading / 1e5);
        same_as_strtod(text);
    }
}
END_TEST

/* Both edges of every path: all powers of ten with short, 16-, 17- and 19-digit and cut mantissas. */
START_TEST(number_powers_of_ten)
{
    static const char *const mantissas[] = {"1",
                                            "9",
                                            "-4.5",
                                            "9007199254740991",
                                            "9007199254740992",
                                            "9007199254740993",
                                            "99999999999999999",
                                            "9.999999999999999999",
                                            "1.0000000000000000000",
                                            "18446744073709551615",
                                            "18446744073709551616",
                                            "0.00000000000000000000000000000000000123456789",
                                            "123456789012345678901234567890.123456789"};
    char text[128];
    for (int power = -400; power <= 330; power++) {
        (void)snprintf(text, sizeof text, "%se%d", mantissas[_i], power);
        same_as_strtod(text);
    }
}
END_TEST

/* The exact decimal halfway between a random double and the next, up to 768 digits: to even, and with a digit after it
 * or one unit in the last place less, to the nearer one. */
START_TEST(number_halfway)
{
    volatile long double one = 1.0L; /* an emulated processor may have less than the compiler believes */
    if (LDBL_MANT_DIG < 64 || LDBL_MIN_EXP > -16000 || one + LDBL_EPSILON == one) {
        return;
    }
    enum { DIGITS = 800, PRINTED = DIGITS + 16 };
    uint64_t state = 777;
    char text[PRINTED + 3 * DIGITS], exact[PRINTED];
    for (int i = 0; i < 500; i++) {
        double low = fabs(random_double(&state));
        if (i % 4 == 0) {
            low *= 0x1p-1022; /* a subnormal, where the digits are most */
        }
        double high = nextafter(low, INFINITY);
        if (!isfinite(high)) {
            continue;
        }
        long double middle = ((long double)low + (long double)high) / 2;
        (void)snprintf(exact, sizeof exact, "%.*Le", DIGITS, middle);
        char *exponent = strchr(exact, 'e');
        double even = bits_of(low) % 2 == 0 ? low : high, got;
        ck_assert(parse(exact, strlen(exact), '.', &got));
        ck_assert_msg(bits_of(got) == bits_of(even), "halfway above %a is %a", low, got);
        int length = snprintf(text, sizeof text, "%.*s%0*d%s", (int)(exponent - exact), exact, 2 * DIGITS, 1, exponent);
        ck_assert(parse(text, (size_t)length, '.', &got));
        ck_assert_msg(bits_of(got) == bits_of(high), "beyond halfway above %a is %a", low, got);
        same_as_strtod(text);
    }
}
END_TEST

/* 5000 zeros on either side that an exponent takes back, and 5000 nines. */
START_TEST(number_long)
{
    enum { LONG = 5000 };
    static char text[LONG + 64];
    double got;
    memset(text, '0', LONG);
    text[1] = '.';
    int length = LONG + snprintf(text + LONG, 64, "125e%d", LONG - 2 + 1);
    ck_assert(parse(text, (size_t)length, '.', &got));
    near_abs(got, 1.25, 0.0);
    memset(text, '0', LONG);
    text[0] = '5';
    length = LONG + snprintf(text + LONG, 64, "e-%d", LONG);
    ck_assert(parse(text, (size_t)length, '.', &got));
    near_abs(got, 0.5, 0.0);
    memset(text, '9', LONG);
    text[1] = '.';
    ck_assert(parse(text, LONG, '.', &got));
    near_abs(got, 10.0, 0.0);
    ck_assert(!parse(text + 2, LONG - 2, '.', &got));
}
END_TEST

static const struct {
    const char *text;
    int want;
} significant[] = {
    {"40.0", 3},
    {"1200", 4},
    {"0.050", 2},
    {"5", 1},
    {"0", 1},
    {"0.00", 1},
    {"-12,50", 4},
    {"1.20e3", 3},
    {" 7.0 ", 2},
    {"", 0},
    {"4x", 0},
    {"nan", 0},
    {"123456789012345678901234", 24},
    {"100.", 3},
};

START_TEST(number_significant_digits)
{
    ck_assert_msg(number_significant(significant[_i].text) == significant[_i].want, "'%s' has %d", significant[_i].text,
                  number_significant(significant[_i].text));
}
END_TEST

/* IS 2:1960 (and ISO 80000-1:2009 Annex B, rule A): the nearer; of two equally near the one with the even digit. */
static const struct {
    double value;
    int digits;
    double want;
    const char *shown;
} rounded[] = {
    {2.675, 3, 2.68, "2.68"},
    {2.665, 3, 2.66, "2.66"},
    {2.6650001, 3, 2.67, "2.67"},
    {2.6649999, 3, 2.66, "2.66"},
    {0.125, 2, 0.12, "0.12"},
    {0.135, 2, 0.14, "0.14"},
    {-0.125, 2, -0.12, "-0.12"},
    {2.5, 1, 2.0, "2"},
    {3.5, 1, 4.0, "4"},
    {99.5, 2, 100.0, "100"},
    {98.5, 2, 98.0, "98"},
    {9.995, 3, 10.0, "10.0"},
    {0.9985, 3, 0.998, "0.998"},
    {1.0 / 3.0, 4, 0.3333, "0.3333"},
    {1.15 + 2.2 - 2.2, 2, 1.2, "1.2"}, /* 1.1500000000000004: the dust of a sum is not "more than half" */
    {40.0, 3, 40.0, "40.0"},
    {1200.0, 6, 1200.0, "1200.00"},
    {123456.0, 2, 120000.0, "120000"},
    {999999999.0, 9, 999999999.0, "999999999"},
    {999999999.0, 3, 1e9, "1.00e9"},
    {0.0001, 3, 0.0001, "0.000100"},
    {0.00009999, 2, 0.0001, "0.00010"},
    {0.000012345, 3, 0.0000123, "1.23e-5"},
    {6.02214076e23, 4, 6.022e23, "6.022e23"},
    {5e-324, 1, 5e-324, "5e-324"},
    {DBL_MAX, 17, DBL_MAX, "1.7976931348623157e308"},
    {DBL_MAX, 3, DBL_MAX, "1.80e308"}, /* 1.80e308 is no double: the value stays */
    {0.1, 17, 0.1, "0.10000000000000001"},
    {12.0, 0, 10.0, "10"},
    {0.0, 3, 0.0, "0.00"},
};

START_TEST(number_rounded)
{
    char text[64];
    near_abs(number_round(rounded[_i].value, rounded[_i].digits), rounded[_i].want, 0.0);
    ck_assert_str_eq(number_format(rounded[_i].value, rounded[_i].digits, text, sizeof text), rounded[_i].shown);
}
END_TEST

START_TEST(number_never_cut)
{
    char text[8];
    ck_assert_str_eq(number_format(1234567.0, 7, text, sizeof text), "1234567");
    ck_assert_str_eq(number_format(12345678.0, 8, text, sizeof text), "");
    ck_assert_str_eq(number_format(NAN, 3, text, sizeof text), "");
    ck_assert_str_eq(number_format(-INFINITY, 3, text, sizeof text), "");
    text[0] = 'x';
    ck_assert_ptr_eq(number_format(1.0, 3, text, 0), text);
    ck_assert_int_eq(text[0], 'x');
    ck_assert(isnan(number_round(NAN, 3)));
    ck_assert(isinf(number_round(INFINITY, 3)));
}
END_TEST

static const struct {
    const char *text, *want;
} folded[] = {
    {"Flow", "flow"},
    {"  Suction_Pressure - gauge ", "suction pressure gauge"},
    {"a\xc2\xa0\xc2\xa0"
     "b",
     "a b"},
    {"_-_", ""},
    {"", ""},
    {"\xc3\x84", "\xc3\x84"}, /* letters beyond ASCII stay as they are */
    {"\xc2", "\xc2"},         /* half a no-break space at the end */
};

START_TEST(name_folded)
{
    char out[64];
    ck_assert_str_eq(name_fold(folded[_i].text, out, sizeof out), folded[_i].want);
    ck_assert(name_equal(folded[_i].text, folded[_i].want));
}
END_TEST

START_TEST(name_limits)
{
    char out[4] = "xyz";
    ck_assert_str_eq(name_fold("abcdef", out, sizeof out), "abc");
    ck_assert_str_eq(name_fold("abc", out, 1), "");
    out[0] = 'x';
    (void)name_fold("abc", out, 0);
    ck_assert_int_eq(out[0], 'x');
    ck_assert(!name_equal("flow", "flow 2"));
    ck_assert(!name_equal("flow", "flo"));
    ck_assert(!name_equal("ab", "a b"));
    char a[600], b[600];
    memset(a, 'a', sizeof a);
    memset(b, 'A', sizeof b);
    a[599] = b[599] = '\0';
    ck_assert(name_equal(a, b));
    b[598] = 'b'; /* long names are compared to their very end */
    ck_assert(!name_equal(a, b));
}
END_TEST

static const struct {
    const char *name, *want;
} nearest[] = {
    {"flwo", "flow"},
    {"Voltge", "voltage"},
    {"VOLTAGE", "voltage"},
    {"discharge presure", "discharge pressure"},
    {"sped", "speed"},
    {"power facter", "power factor"},
    {"temperature", NULL},
    {"p", NULL},
    {"", NULL},
    {"xyz", NULL},
};

START_TEST(name_nearest_found)
{
    static const char *const known[] = {"flow",  "discharge pressure", "voltage", "current",
                                        "power", "power factor",       "speed"};
    const char *got = name_nearest(nearest[_i].name, known, sizeof known / sizeof *known);
    ck_assert_pstr_eq(got, nearest[_i].want);
}
END_TEST

START_TEST(name_nearest_long)
{
    char long_name[1000];
    memset(long_name, 'a', sizeof long_name);
    long_name[999] = '\0';
    const char *const known[] = {"flow", long_name};
    ck_assert_ptr_eq(name_nearest(long_name, known, 2), long_name);
    ck_assert_ptr_null(name_nearest("flow", NULL, 0));
}
END_TEST

#define BAD "\xef\xbf\xbd"
#define CUT "\xe2\x80\xa6"

static const struct {
    const char *text;
    size_t max;
    const char *want;
} shown[] = {
    {"", 10, ""},
    {"SN-1042", 10, "SN-1042"},
    {"SN-1042", 7, "SN-1042"},
    {"SN-1042", 6, "SN-10" CUT},
    {"SN-1042", 1, CUT},
    {"SN-1042", 0, ""},
    {"पम्प सेट", 20, "पम्प सेट"}, /* Devanagari with its marks */
    {"a\tb\nc\x7f", 20, "a" BAD "b" BAD "c" BAD},
    {"\x1b[2J", 20, BAD "[2J"}, /* a terminal's clear-screen */
    {"\xc2\x9b"
     "2J",
     20, BAD "2J"}, /* the same as one C1 control */
    {"\xe2\x80\xae"
     "abc",
     20, BAD "abc"}, /* U+202E right-to-left override */
    {"\xe2\x81\xa6"
     "a\xe2\x81\xa9",
     20, BAD "a" BAD},                                     /* U+2066, U+2069 isolates */
    {"\xe2\x80\x8e\xe2\x80\x8f\xd8\x9c", 20, BAD BAD BAD}, /* U+200E, U+200F, U+061C marks */
    {"a\xe2\x80\x8b"
     "b\xef\xbb\xbf",
     20, "a" BAD "b" BAD}, /* zero-width space and no-break space */
    {"a\xe2\x80\xa8"
     "b",
     20, "a" BAD "b"}, /* U+2028 line separator */
    {"\xff\xfe", 20, BAD BAD},
    {"\xc3", 20, BAD}, /* cut off at the end */
    {"\xe2\x82", 20, BAD BAD},
    {"\xc0\xaf", 20, BAD BAD}, /* overlong '/' */
    {"\xe0\x80\xaf", 20, BAD BAD BAD},
    {"\xed\xa0\x80", 20, BAD BAD BAD},         /* a surrogate */
    {"\xf4\x90\x80\x80", 20, BAD BAD BAD BAD}, /* beyond U+10FFFF */
    {"\xf0\x9f\x94\xa7", 1, "\xf0\x9f\x94\xa7"},
    {"e\xcc\x81\xcc\x82\xcc\x83\xcc\x84\xcc\x85x", 20, "e\xcc\x81\xcc\x82\xcc\x83x"}, /* five marks on one base */
    {"e\xcc\x81", 1, "e\xcc\x81"},                                                    /* a mark takes no place */
    {"e\xcc\x81x", 1, CUT},
    {"\xcc\x81\xcc\x81\xcc\x81\xcc\x81", 1, "\xcc\x81\xcc\x81\xcc\x81"},
    {"%s%n", 20, "%s%n"},
};

START_TEST(text_shown_safely)
{
    struct arena arena = {0};
    ck_assert_pstr_eq(text_shown(&arena, shown[_i].text, shown[_i].max), shown[_i].want);
    arena_release(&arena);
}
END_TEST

/* Random bytes with many escapes, UTF-8 leads and marks among them: always short, clean, one line, and stable. */
START_TEST(text_shown_hostile)
{
    enum { LENGTH = 10000, KEPT = 60 };
    static char text[LENGTH + 1];
    static const unsigned char likely[] = {0xcc, 0x81, 0xe2, 0x80, 0xae, 0xf0, 0xff, 0x1b, 'a', 0xed, 0xa0, 0xc2};
    uint64_t state = 99;
    struct arena arena = {0};
    for (int round = 0; round < 50; round++) {
        for (int i = 0; i < LENGTH; i++) {
            uint64_t bits = random_bits(&state);
            unsigned char byte = bits % 3 == 0 ? (unsigned char)(bits >> 20) : likely[(bits >> 8) % sizeof likely];
            text[i] = (char)(byte == 0 ? 1 : byte);
        }
        const char *once = text_shown(&arena, text, KEPT);
        ck_assert_ptr_nonnull(once);
        ck_assert_uint_le(text_columns(once), KEPT);
        ck_assert_uint_le(strlen(once), 16 * KEPT + 16);
        for (const char *c = once; *c != '\0'; c++) {
            ck_assert_msg((unsigned char)*c >= 0x20 && *c != 0x7f, "control 0x%02x", (unsigned)*c);
        }
        ck_assert_str_eq(text_shown(&arena, once, KEPT), once);
        ck_assert_ptr_nonnull(text_shown(&arena, text, SIZE_MAX));
    }
    arena_release(&arena);
}
END_TEST

static const struct {
    const char *text;
    size_t want;
} columns[] = {{"", 0}, {"abc", 3}, {"m³/h", 4}, {"e\xcc\x81", 1}, {"\xff\xff", 2}, {"पंप", 2}, {CUT, 1}};

START_TEST(text_put_cuts)
{
    char out[6] = "#####";
    ck_assert_ptr_eq(text_put(out, sizeof out, "abcde"), out);
    ck_assert_str_eq(out, "abcde");
    ck_assert_str_eq(text_put(out, 4, "vwxyz"), "vwx");
    ck_assert_str_eq(text_put(out, 1, "vwxyz"), "");
    ck_assert_mem_eq(out + 4, "e", 2); /* nothing beyond size is touched */
}
END_TEST

START_TEST(text_columns_counted)
{
    ck_assert_uint_eq(text_columns(columns[_i].text), columns[_i].want);
}
END_TEST

Suite *text_suite(void);
Suite *text_suite(void)
{
    Suite *suite = suite_create("text");
    TCase *parsing = tcase_create("parsing");
    tcase_add_loop_test(parsing, number_accepted, 0, COUNT(accepted));
    tcase_add_loop_test(parsing, number_refused, 0, COUNT(refused));
    tcase_add_test(parsing, number_nul_inside);
    tcase_add_loop_test(parsing, number_random_bits, 0, 6);
    tcase_add_test(parsing, number_of_logs);
    tcase_add_loop_test(parsing, number_powers_of_ten, 0, 13);
    tcase_add_test(parsing, number_halfway);
    tcase_add_test(parsing, number_long);
    tcase_set_timeout(parsing, 60);
    suite_add_tcase(suite, parsing);
    TCase *rounding = tcase_create("rounding");
    tcase_add_loop_test(rounding, number_significant_digits, 0, COUNT(significant));
    tcase_add_loop_test(rounding, number_rounded, 0, COUNT(rounded));
    tcase_add_test(rounding, number_never_cut);
    suite_add_tcase(suite, rounding);
    TCase *names = tcase_create("names");
    tcase_add_loop_test(names, name_folded, 0, COUNT(folded));
    tcase_add_test(names, name_limits);
    tcase_add_loop_test(names, name_nearest_found, 0, COUNT(nearest));
    tcase_add_test(names, name_nearest_long);
    suite_add_tcase(suite, names);
    TCase *showing = tcase_create("showing");
    tcase_add_loop_test(showing, text_shown_safely, 0, COUNT(shown));
    tcase_add_test(showing, text_shown_hostile);
    tcase_add_test(showing, text_put_cuts);
    tcase_add_loop_test(showing, text_columns_counted, 0, COUNT(columns));
    suite_add_tcase(suite, showing);
    return suite;
}
