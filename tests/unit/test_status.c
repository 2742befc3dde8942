/* Faults and notes: how messages are placed, kept, cut and counted. */
#include "base/notes.h"
#include "base/status.h"
#include "base/text.h"
#include "near.h"

#include <string.h>

static const struct {
    struct place at;
    const char *want;
} placed[] = {
    {{"run.csv", 7, 3}, "run.csv:7:3: 'x' is not a number, expected a flow"},
    {{"run.csv", 7, 0}, "run.csv:7: 'x' is not a number, expected a flow"},
    {{"run.csv", 0, 0}, "run.csv: 'x' is not a number, expected a flow"},
    {{NULL, 0, 0}, "'x' is not a number, expected a flow"},
};

START_TEST(fault_placed)
{
    struct faults faults = {0};
    ck_assert_int_eq(faults_add(&faults, E_INPUT, placed[_i].at, "'%s' is not a number, expected a flow", "x"),
                     E_INPUT);
    ck_assert_str_eq(faults.text[0], placed[_i].want);
    ck_assert_int_eq(faults.first, E_INPUT);
    ck_assert_uint_eq(faults.count, 1);
}
END_TEST

START_TEST(fault_first_stands)
{
    struct faults faults = {0};
    (void)faults_add(&faults, E_FILE, (struct place){0}, "a");
    ck_assert_int_eq(faults_memory(&faults), E_MEMORY);
    ck_assert_int_eq(faults.first, E_FILE);
    ck_assert_uint_eq(faults.count, 2);
    ck_assert_str_eq(faults.text[1], "out of memory");
}
END_TEST

START_TEST(fault_controls_shown)
{
    struct faults faults = {0};
    (void)faults_add(&faults, E_INPUT, (struct place){"a\nb", 1, 0}, "'%s'", "\x1b[2J\t\x7f");
    ck_assert_str_eq(faults.text[0], "a?b:1: '?[2J?"
                                     "?'");
}
END_TEST

/* Texts of every length around the limit, of one- and three-byte characters: always within the room, always ended by
 * an ellipsis when cut, never by half a character. */
START_TEST(fault_cut_whole)
{
    char text[FAULT_TEXT + 64];
    for (size_t length = FAULT_TEXT - 8; length < FAULT_TEXT + 8; length++) {
        for (size_t shift = 0; shift < 3; shift++) {
            struct faults faults = {0};
            size_t used = 0;
            while (used < shift) {
                text[used++] = 'a';
            }
            while (used + 3 <= length) {
                memcpy(text + used, "\xe2\x82\xb9", 3);
                used += 3;
            }
            text[used] = '\0';
            (void)faults_add(&faults, E_INPUT, (struct place){0}, "%s", text);
            size_t kept = strlen(faults.text[0]);
            if (used < FAULT_TEXT) {
                ck_assert_str_eq(faults.text[0], text);
                continue;
            }
            ck_assert_uint_lt(kept, FAULT_TEXT);
            ck_assert_uint_gt(kept, FAULT_TEXT - 8);
            ck_assert_str_eq(faults.text[0] + kept - 3, "...");
            ck_assert_uint_eq((kept - 3 - shift) % 3, 0);
        }
    }
}
END_TEST

START_TEST(fault_counted)
{
    struct faults faults = {0};
    char printed[4096] = "";
    for (int i = 0; i < FAULTS_KEPT + 5; i++) {
        (void)faults_add(&faults, E_INPUT, (struct place){"t.csv", (size_t)i + 1, 0}, "bad");
    }
    FILE *file = tmpfile();
    ck_assert_ptr_nonnull(file);
    ck_assert(faults_print(&faults, file));
    rewind(file);
    size_t length = fread(printed, 1, sizeof printed - 1, file);
    (void)fclose(file);
    ck_assert_uint_gt(length, 0);
    ck_assert_ptr_nonnull(strstr(printed, "t.csv:20: bad\n... and 5 more\n"));
    ck_assert_ptr_null(strstr(printed, "t.csv:21:"));
}
END_TEST

START_TEST(fault_print_fails)
{
    struct faults faults = {0};
    (void)faults_add(&faults, E_INPUT, (struct place){0}, "bad");
    FILE *read_only = fopen("/dev/null", "r");
    ck_assert_ptr_nonnull(read_only);
    ck_assert(!faults_print(&faults, read_only));
    (void)fclose(read_only);
}
END_TEST

START_TEST(note_once)
{
    struct arena arena = {0};
    struct notes notes = {0};
    for (int i = 0; i < 3; i++) {
        ck_assert_int_eq(note_add(&notes, &arena, NOTE_CAUTION, "%d points", 4), OK);
    }
    ck_assert_int_eq(note_add(&notes, &arena, NOTE_INPUT, "%d points", 4), OK);
    ck_assert_int_eq(note_add(&notes, &arena, NOTE_CAUTION, "%d points", 5), OK);
    ck_assert_uint_eq(notes.count, 3);
    ck_assert_str_eq(notes.items[0].text, "4 points");
    ck_assert_int_eq(notes.items[1].kind, NOTE_INPUT);
    ck_assert_str_eq(notes.items[2].text, "5 points");
    ck_assert_str_eq(note_kind_name(NOTE_CAUTION), "caution");
    ck_assert_str_eq(note_kind_name(NOTE_INPUT), "input");
    arena_release(&arena);
}
END_TEST

/* A note longer than any sane one is cut, and cut the same way twice it is still one note. */
START_TEST(note_long)
{
    struct arena arena = {0};
    struct notes notes = {0};
    for (int i = 0; i < 2; i++) {
        ck_assert_int_eq(note_add(&notes, &arena, NOTE_INPUT, "%5000d", 1), OK);
    }
    ck_assert_uint_eq(notes.count, 1);
    ck_assert_uint_lt(strlen(notes.items[0].text), 5000);
    arena_release(&arena);
}
END_TEST

Suite *status_suite(void);
Suite *status_suite(void)
{
    Suite *suite = suite_create("status");
    TCase *all = tcase_create("status");
    tcase_add_loop_test(all, fault_placed, 0, (int)(sizeof placed / sizeof *placed));
    tcase_add_test(all, fault_first_stands);
    tcase_add_test(all, fault_controls_shown);
    tcase_add_test(all, fault_cut_whole);
    tcase_add_test(all, fault_counted);
    tcase_add_test(all, fault_print_fails);
    tcase_add_test(all, note_once);
    tcase_add_test(all, note_long);
    suite_add_tcase(suite, all);
    return suite;
}
