#include "papers/gnuplot.h"

#include <check.h>
#include <dirent.h>
#include <fcntl.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

static char folder[] = "gnuplot-test-XXXXXX";
static struct faults faults;

static void remove_folder(const char *path)
{
    DIR *dir = opendir(path);
    ck_assert_ptr_nonnull(dir);
    for (struct dirent *entry; (entry = readdir(dir)) != NULL;) {
        char name[512];
        (void)snprintf(name, sizeof name, "%s/%s", path, entry->d_name);
        (void)unlink(name);
    }
    (void)closedir(dir);
    ck_assert_int_eq(rmdir(path), 0);
}

static void setup(void)
{
    memcpy(folder, "gnuplot-test-XXXXXX", sizeof folder);
    ck_assert_ptr_nonnull(mkdtemp(folder));
    faults = (struct faults){0};
}

/* Also what a test set in the environment goes, for runs that do not fork. */
static void teardown(void)
{
    (void)unsetenv("DUTYPROOF_GNUPLOT");
    (void)unsetenv("GNUTERM");
    remove_folder(folder);
}

static bool exists(const char *name)
{
    char path[512];
    (void)snprintf(path, sizeof path, "%s/%s", folder, name);
    return access(path, F_OK) == 0;
}

static enum status run(struct gnuplot *gnuplot, const char *script)
{
    return gnuplot_run(gnuplot, script, strlen(script), &faults);
}

static struct gnuplot *start(void)
{
    struct gnuplot *gnuplot = NULL;
    ck_assert_msg(gnuplot_start(folder, &gnuplot, &faults) == OK, "%s", faults.text[0]);
    return gnuplot;
}

/* Number of open descriptors. */
static int descriptors(void)
{
    int open = 0;
    for (int fd = 0; fd < 256; fd++) {
        open += fcntl(fd, F_GETFD) >= 0;
    }
    return open;
}

static void write_program(const char *name, const char *text, char *path, size_t size)
{
    (void)snprintf(path, size, "%s/%s", folder, name);
    FILE *file = fopen(path, "w");
    ck_assert_ptr_nonnull(file);
    ck_assert_int_ge(fputs(text, file), 0);
    ck_assert_int_eq(fclose(file), 0);
    ck_assert_int_eq(chmod(path, 0755), 0);
}

START_TEST(draws_in_its_folder_and_leaves_nothing_open)
{
    int before = descriptors();
    struct gnuplot *gnuplot = start();
    ck_assert_int_eq(run(gnuplot, "set terminal dumb\nset output 'a.txt'\nplot x\nunset output\n"), OK);
    ck_assert(exists("a.txt"));
    ck_assert_int_eq(run(gnuplot, "set output 'b.txt'\nreplot\nunset output\n"), OK);
    ck_assert(exists("b.txt"));
    ck_assert_int_eq(run(gnuplot, ""), OK);
    ck_assert_int_eq(gnuplot_stop(gnuplot, &faults), OK);
    ck_assert_uint_eq(faults.count, 0);
    ck_assert_int_eq(descriptors(), before);
    ck_assert_int_eq(waitpid(-1, NULL, WNOHANG), -1); /* no child is left, dead or alive */
}
END_TEST

START_TEST(an_error_is_a_fault_and_the_next_script_runs)
{
    struct gnuplot *gnuplot = start();
    ck_assert_int_eq(run(gnuplot, "plot nonsense(x)\n"), E_CHILD);
    ck_assert_uint_eq(faults.count, 1);
    ck_assert_str_eq(faults.text[0], "gnuplot reports an error: undefined function: nonsense");
    ck_assert_int_eq(run(gnuplot, "set terminal dumb\nset output 'a.txt'\nplot x\nunset output\n"), OK);
    ck_assert_int_eq(gnuplot_stop(gnuplot, &faults), OK);
}
END_TEST

START_TEST(a_terminal_that_is_not_there_says_what_to_install)
{
    struct gnuplot *gnuplot = start();
    ck_assert_int_eq(run(gnuplot, "set terminal nosuchterminal\n"), E_CHILD);
    ck_assert_ptr_nonnull(strstr(faults.text[0], "gnuplot-nox"));
    ck_assert_int_eq(gnuplot_stop(gnuplot, &faults), OK);
}
END_TEST

START_TEST(a_program_that_is_not_there_says_what_to_install)
{
    struct gnuplot *gnuplot = NULL;
    ck_assert_int_eq(setenv("DUTYPROOF_GNUPLOT", "no-such-gnuplot", 1), 0);
    ck_assert_int_eq(gnuplot_start(folder, &gnuplot, &faults), E_CHILD);
    ck_assert_ptr_null(gnuplot);
    ck_assert_ptr_nonnull(strstr(faults.text[0], "'no-such-gnuplot' is not there"));
    ck_assert_ptr_nonnull(strstr(faults.text[0], "gnuplot-nox"));
    ck_assert_ptr_nonnull(strstr(faults.text[0], "fonts-dejavu-core"));
}
END_TEST

START_TEST(a_folder_that_is_not_there_is_a_fault)
{
    struct gnuplot *gnuplot = NULL;
    int before = descriptors();
    ck_assert_int_eq(gnuplot_start("no/such/folder", &gnuplot, &faults), E_CHILD);
    ck_assert_ptr_nonnull(strstr(faults.text[0], "'no/such/folder': No such file or directory"));
    ck_assert_int_eq(descriptors(), before);
    ck_assert_int_eq(waitpid(-1, NULL, WNOHANG), -1);
}
END_TEST

/* A large script to a process that ends without reading it would raise SIGPIPE on a pipe. */
START_TEST(a_process_that_dies_neither_kills_nor_hangs_the_host)
{
    enum { LARGE = 4 << 20 };
    char path[512];
    write_program("dies", "#!/bin/sh\necho 'the licence has run out' >&2\nexit 3\n", path, sizeof path);
    ck_assert_int_eq(setenv("DUTYPROOF_GNUPLOT", path, 1), 0);
    (void)signal(SIGPIPE, SIG_DFL);
    struct gnuplot *gnuplot = start();
    char *script = malloc(LARGE);
    ck_assert_ptr_nonnull(script);
    memset(script, '\n', LARGE);
    ck_assert_int_eq(gnuplot_run(gnuplot, script, LARGE, &faults), E_CHILD);
    free(script);
    ck_assert_uint_eq(faults.count, 1);
    ck_assert_str_eq(faults.text[0], "gnuplot has ended before its work was done: the licence has run out");
    ck_assert_int_eq(run(gnuplot, "plot x\n"), E_CHILD);
    ck_assert_uint_eq(faults.count, 2);
    ck_assert_int_eq(gnuplot_stop(gnuplot, &faults), E_CHILD);
    ck_assert_uint_eq(faults.count, 2); /* stopping a process whose death is reported adds nothing */
    ck_assert_int_eq(waitpid(-1, NULL, WNOHANG), -1);
}
END_TEST

/* Both directions are full at once when a long script makes gnuplot print much: neither may wait for the other. */
START_TEST(a_script_that_prints_much_is_heard_to_the_end)
{
    enum { LINES = 20000 };
    char *script = NULL;
    size_t length = 0;
    FILE *to = open_memstream(&script, &length);
    ck_assert_ptr_nonnull(to);
    for (int i = 0; i < LINES; i++) {
        (void)fprintf(to, "print 'line %d of a script that prints much more than a socket holds'\n", i);
    }
    ck_assert_int_eq(fclose(to), 0);
    struct gnuplot *gnuplot = start();
    ck_assert_int_eq(gnuplot_run(gnuplot, script, length, &faults), OK);
    free(script);
    ck_assert_int_eq(gnuplot_stop(gnuplot, &faults), OK);
}
END_TEST

/* A user's own start-up file must not change the papers. */
START_TEST(the_users_own_settings_do_not_count)
{
    char path[512];
    write_program(".gnuplot", "set output 'stray.txt'\nset terminal dumb\nplot x\nunset output\n", path, sizeof path);
    ck_assert_int_eq(setenv("HOME", folder, 1), 0);
    ck_assert_int_eq(setenv("GNUTERM", "nosuchterminal", 1), 0);
    struct gnuplot *gnuplot = start();
    ck_assert_int_eq(run(gnuplot, "print GPVAL_TERM\n"), OK);
    ck_assert_int_eq(gnuplot_stop(gnuplot, &faults), OK);
    ck_assert(!exists("stray.txt"));
}
END_TEST

START_TEST(works_without_a_home)
{
    ck_assert_int_eq(unsetenv("HOME"), 0);
    struct gnuplot *gnuplot = start();
    ck_assert_msg(run(gnuplot, "set terminal pdfcairo\nset output 'a.pdf'\nplot x\nunset output\n") == OK, "%s",
                  faults.text[0]);
    ck_assert_int_eq(gnuplot_stop(gnuplot, &faults), OK);
    ck_assert(exists("a.pdf"));
}
END_TEST

/* What gnuplot could take for a command, a macro, a format or markup, and one letter of each kind that ends a literal.
 */
static const char *const hostile[] = {
    "`touch stray`",
    "$(touch stray)",
    "@command",
    "@ARG0 $GPVAL_TERM",
    "it's \"quoted\"",
    "\"leading quote",
    "' , '' system('touch stray') '",
    "'leading apostrophe",
    "''two' '' '''",
    "'",
    "' ; system(\"touch stray\") ; print '",
    "back\\slash \\n \\t \\101 \\",
    "%s %d %n %%",
    "{/Bold x}^2_3 &{x} ~a{.5-}",
    "# not a comment",
    "END",
    "NaN",
    "?",
    "1e5",
    "a; system('touch stray')",
    "\xc3\xa9 \xce\xa9 \xe4\xb8\xad",
};
enum { HOSTILE = sizeof hostile / sizeof hostile[0] };

/* gnuplot itself says what it has read: the text must come back letter by letter. */
START_TEST(hostile_text_comes_back_as_it_is)
{
    char *script = NULL, seen[4096] = "", path[512];
    size_t length = 0;
    FILE *to = open_memstream(&script, &length);
    ck_assert_ptr_nonnull(to);
    (void)fputs("command = \"system('touch stray')\"\nset encoding utf8\nset datafile separator \"\\t\"\n"
                "set print 'seen'\nprint ",
                to);
    script_text(to, hostile[_i]);
    (void)fputs("\n$T << END\n1\t", to);
    script_cell(to, hostile[_i]);
    (void)fputs("\nEND\nset terminal unknown\ntext = ''\n"
                "plot $T using 1:(text = strcol(2), 1) with points\nprint text\nunset print\n",
                to);
    ck_assert_int_eq(fclose(to), 0);
    struct gnuplot *gnuplot = start();
    ck_assert_msg(gnuplot_run(gnuplot, script, length, &faults) == OK, "%s", faults.text[0]);
    ck_assert_int_eq(gnuplot_stop(gnuplot, &faults), OK);
    free(script);
    (void)snprintf(path, sizeof path, "%s/seen", folder);
    FILE *file = fopen(path, "r");
    ck_assert_ptr_nonnull(file);
    ck_assert_ptr_nonnull(fgets(seen, sizeof seen, file));
    seen[strcspn(seen, "\n")] = '\0';
    ck_assert_str_eq(seen, hostile[_i]);
    (void)fclose(file);
    ck_assert(!exists("stray"));
}
END_TEST

/* The letters that a data block reads apart from a plain literal, drawn as labels on the dumb terminal. */
START_TEST(cells_are_drawn_as_they_are)
{
    char *script = NULL, path[512], drawn[16384];
    size_t length = 0;
    FILE *to = open_memstream(&script, &length);
    ck_assert_ptr_nonnull(to);
    (void)fputs("set encoding utf8\nset datafile separator \"\\t\"\nset terminal dumb noenhanced size 100, 40\n"
                "set output 'drawn'\nunset tics\nunset key\nunset border\nset xrange [0:1]\nset yrange [0:1]\n$T << "
                "END\n0\t0.5\t",
                to);
    script_cell(to, hostile[_i]);
    (void)fputs("\nEND\nplot $T using 1:2:3 with labels left\nunset output\n", to);
    ck_assert_int_eq(fclose(to), 0);
    struct gnuplot *gnuplot = start();
    ck_assert_msg(gnuplot_run(gnuplot, script, length, &faults) == OK, "%s", faults.text[0]);
    ck_assert_int_eq(gnuplot_stop(gnuplot, &faults), OK);
    free(script);
    (void)snprintf(path, sizeof path, "%s/drawn", folder);
    FILE *file = fopen(path, "r");
    ck_assert_ptr_nonnull(file);
    drawn[fread(drawn, 1, sizeof drawn - 1, file)] = '\0';
    (void)fclose(file);
    ck_assert_msg(strstr(drawn, hostile[_i]) != NULL, "'%s' is not in\n%s", hostile[_i], drawn);
    ck_assert(!exists("stray"));
}
END_TEST

START_TEST(control_characters_become_spaces)
{
    char *script = NULL;
    size_t length = 0;
    FILE *to = open_memstream(&script, &length);
    ck_assert_ptr_nonnull(to);
    script_text(to, "a\nb\x1b'c\x7f");
    script_cell(to, "\td\ne\\f\"\r");
    ck_assert_int_eq(fclose(to), 0);
    ck_assert_str_eq(script, "('a b '.\"\\047\".'c ') d e\\134f\\042 ");
    free(script);
}
END_TEST

Suite *gnuplot_suite(void);

Suite *gnuplot_suite(void)
{
    Suite *suite = suite_create("gnuplot");
    TCase *process = tcase_create("process"), *text = tcase_create("text");
    tcase_add_checked_fixture(process, setup, teardown);
    tcase_add_checked_fixture(text, setup, teardown);
    tcase_set_timeout(process, 30);
    tcase_add_test(process, draws_in_its_folder_and_leaves_nothing_open);
    tcase_add_test(process, an_error_is_a_fault_and_the_next_script_runs);
    tcase_add_test(process, a_terminal_that_is_not_there_says_what_to_install);
    tcase_add_test(process, a_program_that_is_not_there_says_what_to_install);
    tcase_add_test(process, a_folder_that_is_not_there_is_a_fault);
    tcase_add_test(process, a_process_that_dies_neither_kills_nor_hangs_the_host);
    tcase_add_test(process, a_script_that_prints_much_is_heard_to_the_end);
    tcase_add_test(process, the_users_own_settings_do_not_count);
    tcase_add_test(process, works_without_a_home);
    tcase_add_loop_test(text, hostile_text_comes_back_as_it_is, 0, HOSTILE);
    tcase_add_loop_test(text, cells_are_drawn_as_they_are, 0, HOSTILE);
    tcase_add_test(text, control_characters_become_spaces);
    suite_add_tcase(suite, process);
    suite_add_tcase(suite, text);
    return suite;
}
