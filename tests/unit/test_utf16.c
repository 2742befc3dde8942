/* UTF-16 against the worked examples of RFC 2781 and RFC 3629. */
#include "base/utf16.h"
#include "near.h"

#include <string.h>

/* U+12345 is D808 DF45 (RFC 2781, section 5); = R a are U+003D U+0052 U+0061; U+65E5 is E6 97 A5 in UTF-8 (RFC 3629,
 * section 7). The bytes of U+12345 in UTF-8, F0 92 8D 85, follow from RFC 3629, section 3. */
static const char big[] = "\xfe\xff\xd8\x08\xdf\x45\x00\x3d\x00\x52\x00\x61\x65\xe5";
static const char little[] = "\xff\xfe\x08\xd8\x45\xdf\x3d\x00\x52\x00\x61\x00\xe5\x65";
static const char want[] = "\xef\xbb\xbf\xf0\x92\x8d\x85=Ra\xe6\x97\xa5";

/* Each way of cutting the file in two gives the same text. */
static void check_cut(const char *text, size_t length)
{
    for (size_t cut = 0; cut <= length; cut++) {
        struct utf16 state = {0};
        char out[2 * sizeof big * UTF16_GROWTH];
        ck_assert(utf16_begins(text, length, &state.big_endian));
        size_t written = utf16_piece(&state, text, cut, out);
        written += utf16_piece(&state, text + cut, length - cut, out + written);
        ck_assert_uint_eq(written, sizeof want - 1);
        ck_assert_mem_eq(out, want, written);
    }
}

START_TEST(utf16_examples)
{
    check_cut(big, sizeof big - 1);
    check_cut(little, sizeof little - 1);
}
END_TEST

/* A half without its other half is U+FFFD, EF BF BD; what follows it is kept. */
START_TEST(utf16_lone_halves)
{
    struct utf16 state = {.big_endian = true};
    char out[32];
    size_t written = utf16_piece(&state, "\xd8\x08\x00\x61\xdf\x45\x00\x62", 8, out);
    ck_assert_uint_eq(written, 8);
    ck_assert_mem_eq(out,
                     "\xef\xbf\xbd"
                     "a\xef\xbf\xbd"
                     "b",
                     8);
}
END_TEST

START_TEST(utf16_other_files)
{
    bool big_endian;
    ck_assert(!utf16_begins("flow", 4, &big_endian));
    ck_assert(!utf16_begins("\xef\xbb\xbf", 3, &big_endian));
    ck_assert(!utf16_begins("\xff", 1, &big_endian));
}
END_TEST

Suite *utf16_suite(void);
Suite *utf16_suite(void)
{
    Suite *suite = suite_create("utf16");
    TCase *all = tcase_create("utf16");
    tcase_add_test(all, utf16_examples);
    tcase_add_test(all, utf16_lone_halves);
    tcase_add_test(all, utf16_other_files);
    suite_add_tcase(suite, all);
    return suite;
}
