/* A unit's papers as one folder: what stands after each step, after a kill at each rename, on a file system that
 * exchanges no names or makes no links; and the lock that all this is done under. */
#define _GNU_SOURCE /* renameat2 */

#include "filing/exchange.h"

#include "base/files.h"
#include "filing/tree.h"
#include "filing/unit_folder.h"
#include "filing/unit_name.h"

#include <check.h>
#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <sys/wait.h>
#include <unistd.h>

#define COUNT(array) ((int)(sizeof(array) / sizeof *(array)))

/* --- a file system that refuses, a process that is killed: these stand before the C library's --- */

static bool no_exchange, no_links;
static int renames_left = -1; /* then the process is killed, before the rename; -1: never */

static void count_rename(void)
{
    if (renames_left >= 0 && renames_left-- == 0) {
        (void)raise(SIGKILL);
    }
}

int renameat2(int from, const char *name, int to, const char *as, unsigned int flags)
{
    if (no_exchange) {
        errno = EINVAL;
        return -1;
    }
    count_rename();
    return (int)syscall(SYS_renameat2, from, name, to, as, flags);
}

int renameat(int from, const char *name, int to, const char *as)
{
    count_rename();
    return (int)syscall(SYS_renameat2, from, name, to, as, 0);
}

int linkat(int from, const char *name, int to, const char *as, int flags)
{
    if (no_links) {
        errno = EPERM;
        return -1;
    }
    return (int)syscall(SYS_linkat, from, name, to, as, flags);
}

/* --- the room --- */

static struct arena arena;
static struct faults faults;
static struct scratch room;
static struct out out;

static void set_up(void)
{
    faults = (struct faults){0};
    no_exchange = no_links = false;
    renames_left = -1;
    const char *parent = getenv("TMPDIR");
    ck_assert_int_eq(scratch_make(parent != NULL ? parent : "/tmp", &arena, &room, &faults), OK);
    const char *path = arena_format(&arena, "%s/out", room.path);
    ck_assert_int_eq(out_open(path, "test", &out, &faults), OK);
}

static void tear_down(void)
{
    ck_assert_int_eq(out_close(&out, &faults), OK);
    ck_assert_int_eq(scratch_remove(&room, &faults), OK);
    arena_release(&arena);
}

static const char *inside(const char *name)
{
    char *path = arena_format(&arena, "%s/%s", out.path, name);
    ck_assert_ptr_nonnull(path);
    return path;
}

static bool is_there(const char *name)
{
    struct stat facts;
    return lstat(inside(name), &facts) == 0;
}

static void put(const char *name, const char *text)
{
    ck_assert_int_eq(file_write(inside(name), text, strlen(text), &faults), OK);
}

static const char *content(const char *name)
{
    char *bytes = NULL;
    size_t length = 0;
    return file_read(inside(name), 10000, &arena, &bytes, &length, &(struct faults){0}) == OK ? bytes : "";
}

/* How many entries a folder of OUT holds but those of the lock and of scratch folders. */
static int entries(const char *name)
{
    int count = 0;
    DIR *folder = opendir(inside(name));
    for (struct dirent *entry; folder != NULL && (entry = readdir(folder)) != NULL;) {
        count += entry->d_name[0] != '.';
    }
    if (folder != NULL) {
        (void)closedir(folder);
    }
    return count;
}

/* --- a test and its papers: the sheet and the result say the same word --- */

struct paper_test {
    const char *serial, *day, *word;
    char log; /* the digest of its log is made of this digit */
};

static const struct paper_test may = {"T-1", "2024-05-14", "pass", '1'},
                               june = {"T-1", "2024-06-01T10:00", "fail", '2'},
                               june_later = {"T-1", "2024-06-01T11:00", "pass", '3'},
                               may_judged_again = {"T-1", "2024-05-14", "not judged", '1'};

static enum status stage_test(struct unit_folder *unit, const struct paper_test *test)
{
    char digest[65];
    memset(digest, test->log, 64);
    digest[64] = '\0';
    struct unit_test filed = {.log_sha256 = arena_text(unit->arena, digest, 64)};
    ck_assert(date_parse(test->day, &filed.tested));
    const char *result = arena_format(
        unit->arena, "{\"serial\": \"%s\", \"tested\": \"%s\", \"log\": {\"sha256\": \"%s\"}, \"verdict\": \"%s\"}\n",
        test->serial, test->day, digest, test->word);
    enum status status = unit_folder_begin(unit, &filed, &faults);
    status = status == OK ? unit_folder_stage(unit, "sheet.txt", test->word, strlen(test->word), &faults) : status;
    return status == OK ? unit_folder_stage(unit, "result.json", result, strlen(result), &faults) : status;
}

static enum status file_test(struct out *to, const struct paper_test *test, struct unit_folder *told)
{
    struct unit_folder unit;
    enum status status = unit_folder_open(to, test->serial, NULL, &arena, &unit, &faults);
    status = status == OK ? stage_test(&unit, test) : status;
    status = status == OK ? unit_folder_settle(&unit, &faults) : status;
    status = status == OK ? unit_folders_place(&unit, 1, &faults) : status;
    if (told != NULL) {
        *told = unit;
    }
    unit_folder_close(&unit);
    return status;
}

static void file_well(const struct paper_test *test)
{
    enum status status = file_test(&out, test, NULL);
    ck_assert_msg(status == OK, "%s", faults.text[0]);
}

/* The word that all papers of a folder agree on; "" when there is none, "mixed" when they do not. */
static const char *word_in(const char *folder)
{
    const char *sheet = content(arena_format(&arena, "%s/sheet.txt", folder));
    const char *result = content(arena_format(&arena, "%s/result.json", folder));
    struct seal said, actual;
    int fd = tree_open(AT_FDCWD, inside(folder));
    if (fd < 0) {
        return "";
    }
    bool whole = seal_read(fd, &arena, &said) && seal_of(fd, &arena, &actual) && seal_same(&said, &actual);
    (void)close(fd);
    const char *quoted = arena_format(&arena, "\"verdict\": \"%s\"", sheet);
    return whole && strstr(result, quoted) != NULL ? sheet : "mixed";
}

static int earlier_with(const char *word)
{
    int count = 0;
    DIR *folder = opendir(inside("T-1/earlier"));
    for (struct dirent *entry; folder != NULL && (entry = readdir(folder)) != NULL;) {
        const char *one = arena_format(&arena, "T-1/earlier/%s", entry->d_name);
        count += entry->d_name[0] != '.' && strcmp(word_in(one), word) == 0;
    }
    if (folder != NULL) {
        (void)closedir(folder);
    }
    return count;
}

/* --- filing --- */

START_TEST(files_and_keeps)
{
    file_well(&may);
    ck_assert_str_eq(word_in("T-1"), "pass");
    ck_assert(!is_there("T-1/earlier"));
    file_well(&june);
    ck_assert_str_eq(word_in("T-1"), "fail");
    ck_assert_int_eq(earlier_with("pass"), 1);
    ck_assert_int_eq(entries("T-1/earlier"), 1);
}
END_TEST

START_TEST(leaves_nothing_behind)
{
    file_well(&may);
    file_well(&june);
    const char *path = out.path;
    ck_assert_int_eq(out_close(&out, &faults), OK);
    DIR *folder = opendir(path);
    ck_assert_ptr_nonnull(folder);
    for (struct dirent *entry; (entry = readdir(folder)) != NULL;) {
        ck_assert_msg(strcmp(entry->d_name, "T-1") == 0 || strspn(entry->d_name, ".") == strlen(entry->d_name),
                      "%s was left", entry->d_name);
    }
    (void)closedir(folder);
}
END_TEST

START_TEST(same_papers_change_nothing)
{
    struct stat before, after;
    struct unit_folder told;
    file_well(&may);
    ck_assert_int_eq(stat(inside("T-1"), &before), 0);
    ck_assert_int_eq(file_test(&out, &may, &told), OK);
    ck_assert_int_eq(stat(inside("T-1"), &after), 0);
    ck_assert(before.st_ino == after.st_ino && !told.changed);
    ck_assert_int_eq(entries("T-1"), 3);
}
END_TEST

/* Whatever the order in which three tests are filed, the latest by date and time stands in front. */
START_TEST(latest_in_front_in_any_order)
{
    static const int orders[][3] = {{0, 1, 2}, {0, 2, 1}, {1, 0, 2}, {1, 2, 0}, {2, 0, 1}, {2, 1, 0}};
    const struct paper_test *const tests[] = {&may, &june, &june_later};
    for (int i = 0; i < 3; i++) {
        file_well(tests[orders[_i][i]]);
    }
    ck_assert_str_eq(word_in("T-1"), "pass");
    ck_assert_ptr_nonnull(strstr(content("T-1/result.json"), "11:00"));
    ck_assert_int_eq(earlier_with("pass"), 1);
    ck_assert_int_eq(earlier_with("fail"), 1);
    ck_assert_int_eq(entries("T-1/earlier"), 2);
}
END_TEST

START_TEST(says_that_a_later_test_stands)
{
    struct unit_folder told;
    file_well(&june);
    ck_assert_int_eq(file_test(&out, &may, &told), OK);
    ck_assert(told.later_in_front);
    ck_assert_ptr_nonnull(strstr(told.sets[0].folder, "/T-1/earlier/2024-05-14-"));
    ck_assert_int_eq(file_test(&out, &may, &told), OK);
    ck_assert(!told.changed);
}
END_TEST

/* The same log judged anew stands in front, whatever its date says. */
START_TEST(a_log_judged_again_is_kept_twice)
{
    file_well(&may);
    file_well(&may_judged_again);
    ck_assert_str_eq(word_in("T-1"), "not judged");
    ck_assert_int_eq(earlier_with("pass"), 1);
    file_well(&may);
    ck_assert_str_eq(word_in("T-1"), "pass");
    ck_assert_int_eq(entries("T-1/earlier"), 1);
}
END_TEST

START_TEST(sets_altered_papers_aside)
{
    file_well(&may);
    put("T-1/sheet.txt", "fail");
    file_well(&may);
    ck_assert_str_eq(word_in("T-1"), "pass");
    ck_assert_int_eq(entries("T-1/earlier"), 1);
    ck_assert_int_eq(earlier_with("mixed"), 1);
}
END_TEST

/* earlier/ holds another folder of the name that the papers which stand would take. */
START_TEST(names_in_earlier_can_meet)
{
    file_well(&may);
    file_well(&june);
    DIR *folder = opendir(inside("T-1/earlier"));
    ck_assert_ptr_nonnull(folder);
    for (struct dirent *entry; (entry = readdir(folder)) != NULL;) {
        if (entry->d_name[0] != '.') {
            put(arena_format(&arena, "T-1/earlier/%s/sheet.txt", entry->d_name), "another");
        }
    }
    (void)closedir(folder);
    file_well(&june_later);
    file_well(&may);
    ck_assert_int_eq(earlier_with("pass"), 1);
    ck_assert_int_eq(earlier_with("mixed"), 1);
    ck_assert_int_eq(earlier_with("fail"), 1);
}
END_TEST

START_TEST(what_a_person_adds_stays)
{
    struct unit_folder unit;
    file_well(&may);
    put("T-1/photo.jpg", "photo");
    ck_assert_int_eq(mkdir(inside("T-1/more"), 0750), 0);
    put("T-1/more/note.txt", "note");
    ck_assert_int_eq(symlink("photo.jpg", inside("T-1/front.jpg")), 0);
    ck_assert_int_eq(unit_folder_open(&out, "T-1", NULL, &arena, &unit, &faults), OK);
    ck_assert_int_eq(stage_test(&unit, &june), OK);
    ck_assert_int_eq(unit_folder_settle(&unit, &faults), OK);
    put("T-1/late.jpg", "late");
    ck_assert_int_eq(unit_folders_place(&unit, 1, &faults), OK);
    unit_folder_close(&unit);
    ck_assert_str_eq(content("T-1/photo.jpg"), "photo");
    ck_assert_str_eq(content("T-1/more/note.txt"), "note");
    ck_assert_str_eq(content("T-1/late.jpg"), "late");
    ck_assert_str_eq(content("T-1/front.jpg"), "photo");
}
END_TEST

START_TEST(copies_where_links_fail)
{
    no_links = true;
    file_well(&may);
    put("T-1/photo.jpg", "photo");
    file_well(&june);
    ck_assert_int_eq(earlier_with("pass"), 1);
    ck_assert_str_eq(content("T-1/photo.jpg"), "photo");
}
END_TEST

/* --- refusals: what stands is left as it is --- */

static void expect_refusal(const char *words)
{
    faults = (struct faults){0};
    ck_assert_int_eq(file_test(&out, &may, NULL), E_INPUT);
    ck_assert_msg(strstr(faults.text[0], words) != NULL, "'%s'", faults.text[0]);
    ck_assert_ptr_nonnull(strstr(faults.text[0], "/T-1"));
}

START_TEST(refuses_links_and_strangers)
{
    ck_assert_int_eq(mkdir(inside("elsewhere"), 0777), 0);
    ck_assert_int_eq(symlink("elsewhere", inside("T-1")), 0);
    expect_refusal("is a link");
    ck_assert_int_eq(entries("elsewhere"), 0);
    ck_assert_int_eq(unlink(inside("T-1")), 0);
    put("T-1", "a file");
    expect_refusal("is in the way");
    ck_assert_int_eq(unlink(inside("T-1")), 0);
    ck_assert_int_eq(mkdir(inside("T-1"), 0777), 0);
    ck_assert_int_eq(symlink("../elsewhere", inside("T-1/earlier")), 0);
    expect_refusal("its 'earlier' is a link");
    ck_assert_int_eq(entries("elsewhere"), 0);
    ck_assert_int_eq(unlink(inside("T-1/earlier")), 0);
    put("T-1/result.json", "{}");
    expect_refusal("is not a result document");
    ck_assert_str_eq(content("T-1/result.json"), "{}");
}
END_TEST

START_TEST(refuses_what_cannot_be_kept)
{
    file_well(&may);
    ck_assert_int_eq(mkfifo(inside("T-1/pipe"), 0666), 0);
    faults = (struct faults){0};
    ck_assert_int_eq(file_test(&out, &june, NULL), E_INPUT);
    ck_assert_msg(strstr(faults.text[0], "T-1/pipe: cannot be kept") != NULL, "'%s'", faults.text[0]);
    ck_assert_str_eq(word_in("T-1"), "pass");
}
END_TEST

/* --- names --- */

static const struct {
    const char *serial, *name;
} plain_names[] = {
    {"TW/26-107", "TW-26-107"},
    {"BW-24-0117", "BW-24-0117"},
    {"a.b_c-9", "a.b_c-9"},
    {"../x", "_.-x"},
    {".", "_"},
    {"..", "__"},
    {"", "_"},
    {"a:b", "a-b"},
    {"a b", "a-b"},
    {".hidden", "_hidden"},
    {"ends.", "ends_"},
    {"पंप-१", "_----"},
    {"a\nb", "a-b"},
    {"$(rm x)", "_-rm-x-"},
    {"a~12345678", "a-12345678"},
};

START_TEST(plain_name)
{
    ck_assert_str_eq(unit_name_plain(&arena, plain_names[_i].serial), plain_names[_i].name);
}
END_TEST

START_TEST(long_names)
{
    char a[301], b[301];
    memset(a, 'x', 300);
    memset(b, 'x', 300);
    a[300] = b[300] = '\0';
    b[299] = 'y';
    const char *name_a = unit_name_plain(&arena, a), *name_b = unit_name_plain(&arena, b);
    ck_assert_uint_eq(strlen(name_a), UNIT_NAME_LONGEST);
    ck_assert_str_ne(name_a, name_b);
    a[UNIT_NAME_LONGEST] = '\0';
    ck_assert_str_eq(unit_name_plain(&arena, a), a); /* the longest that is kept */
}
END_TEST

/* Serials that would meet, and a batch's own papers: each has a folder of its own, and finds it again. */
START_TEST(no_two_serials_share_a_folder)
{
    static const char *const serials[] = {"TW/26",   "TW-26",     "tw-26",           "TW 26",       "batch.csv",
                                          "Earlier", "BATCH.CSV", "certificate.pdf", "register.db", "manifest.txt"};
    const char *folders[COUNT(serials)];
    for (int turn = 0; turn < 2; turn++) {
        for (int i = 0; i < COUNT(serials); i++) {
            struct unit_folder told;
            const struct paper_test test = {serials[i], "2024-05-14", turn == 0 ? "pass" : "fail", '1'};
            ck_assert_int_eq(file_test(&out, &test, &told), OK);
            ck_assert(turn == 0 || strcmp(folders[i], told.name) == 0);
            folders[i] = told.name;
            for (int k = 0; k < i; k++) {
                ck_assert_msg(strcasecmp(folders[k], told.name) != 0, "%s and %s share %s", serials[k], serials[i],
                              told.name);
            }
        }
    }
    ck_assert_str_eq(folders[0], "TW-26");
    for (int i = 4; i < COUNT(serials); i++) {
        ck_assert_ptr_nonnull(strchr(folders[i], '~'));
    }
}
END_TEST

/* --- kills --- */

/* A run that files a test and is killed at the n-th rename. Returns: true when it was. */
static bool killed_at(int n, const struct paper_test *test)
{
    pid_t child = fork();
    ck_assert_int_ge(child, 0);
    if (child == 0) {
        struct out own;
        renames_left = n;
        bool good = out_open(out.path, "killed", &own, &faults) == OK && file_test(&own, test, NULL) == OK &&
                    out_close(&own, &faults) == OK;
        _exit(good ? 0 : 1);
    }
    int how = 0;
    ck_assert_int_eq(waitpid(child, &how, 0), child);
    ck_assert(WIFSIGNALED(how) || WEXITSTATUS(how) == 0);
    return WIFSIGNALED(how);
}

/* However the name came to be exchanged, and wherever the kill fell: what is in front is whole, nothing is lost, and
 * the next run finishes. */
static void kill_everywhere(bool sweep_first)
{
    for (int n = 0; n < 20; n++) {
        file_well(&may);
        if (!killed_at(n, &june)) {
            ck_assert_int_gt(n, 0);
            return;
        }
        const char *now = word_in("T-1");
        ck_assert_msg(strcmp(now, "mixed") != 0, "killed at rename %d: mixed papers", n);
        if (sweep_first) {
            out_sweep(&out);
            ck_assert_msg(word_in("T-1")[0] != '\0', "killed at rename %d: the sweep lost the folder", n);
        }
        file_well(&june);
        out_sweep(&out);
        ck_assert_str_eq(word_in("T-1"), "fail");
        ck_assert_int_eq(earlier_with("pass"), 1);
        ck_assert_int_eq(entries("T-1/earlier"), 1);
        ck_assert(!is_there(".dutyproof-change-T-1"));
        ck_assert(tree_remove(out.folder, "T-1"));
    }
    ck_abort_msg("no end of renames");
}

START_TEST(killed_at_each_rename)
{
    kill_everywhere(_i == 1);
}
END_TEST

START_TEST(killed_at_each_rename_without_exchange)
{
    no_exchange = true;
    kill_everywhere(_i == 1);
}
END_TEST

/* Another holds the lock of a change that was cut short, to finish it: a sweep leaves it what it needs. */
START_TEST(sweep_spares_what_another_finishes)
{
    struct out other;
    int cut = 0;
    no_exchange = true;
    for (int n = 0; n < 20; n++) {
        file_well(&may);
        bool killed = killed_at(n, &june);
        cut += is_there(".dutyproof-change-T-1");
        ck_assert_int_eq(out_open(out.path, "other", &other, &faults), OK);
        ck_assert(out_try_lock(&other, "T-1"));
        out_sweep(&out);
        ck_assert_int_eq(out_close(&other, &faults), OK);
        file_well(&june);
        ck_assert_int_eq(earlier_with("pass"), 1);
        ck_assert(tree_remove(out.folder, "T-1"));
        if (!killed) {
            break;
        }
    }
    ck_assert_int_gt(cut, 0);
}
END_TEST

START_TEST(files_without_exchange)
{
    no_exchange = true;
    file_well(&may);
    file_well(&june);
    ck_assert_str_eq(word_in("T-1"), "fail");
    ck_assert_int_eq(earlier_with("pass"), 1);
    ck_assert(!is_there(".dutyproof-change-T-1"));
}
END_TEST

START_TEST(a_foreign_marker_is_told)
{
    put(".dutyproof-change-T-1", "../../etc\n../../tmp\n");
    ck_assert_int_eq(file_test(&out, &may, NULL), E_FILE);
    ck_assert_ptr_nonnull(strstr(faults.text[0], "is not a marker"));
}
END_TEST

/* --- locks --- */

START_TEST(lock_holds_and_says_for_whom)
{
    struct out other;
    ck_assert_int_eq(out_open(out.path, "certify", &other, &faults), OK);
    other.wait_s = 0.05;
    ck_assert_int_eq(out_lock(&out, "T-1", "unit 'T-1'", &faults), OK);
    ck_assert(!out_try_lock(&other, "t-1"));
    ck_assert(!out_try_lock(&other, "T-1~12345678"));
    ck_assert(out_try_lock(&other, "T-2"));
    ck_assert_int_eq(out_lock(&other, "T-1", "unit 'T-1'", &faults), E_INPUT);
    ck_assert_msg(strstr(faults.text[0], "unit 'T-1' is in use by test by ") != NULL, "%s", faults.text[0]);
    out_unlock(&out, "T-1");
    ck_assert(out_try_lock(&other, "T-1"));
    ck_assert_int_eq(out_close(&other, &faults), OK);
}
END_TEST

/* A lock on the folder itself would go with it to the old one's place. */
START_TEST(lock_outlives_the_exchange)
{
    struct unit_folder unit;
    struct out other;
    file_well(&may);
    ck_assert_int_eq(out_open(out.path, "other", &other, &faults), OK);
    ck_assert_int_eq(unit_folder_open(&out, "T-1", NULL, &arena, &unit, &faults), OK);
    ck_assert_int_eq(stage_test(&unit, &june), OK);
    ck_assert_int_eq(unit_folder_settle(&unit, &faults), OK);
    ck_assert_int_eq(unit_folders_place(&unit, 1, &faults), OK);
    ck_assert(!out_try_lock(&other, "T-1"));
    unit_folder_close(&unit);
    ck_assert(out_try_lock(&other, "T-1"));
    ck_assert_int_eq(out_close(&other, &faults), OK);
}
END_TEST

/* Processes that open, lock, count and close, so that the lock file comes and goes: no count is lost. */
START_TEST(lock_file_comes_and_goes)
{
    enum { PROCESSES = 6, TURNS = 200 };
    const char *path = out.path;
    put("count", "0");
    for (int i = 0; i < PROCESSES; i++) {
        pid_t child = fork();
        ck_assert_int_ge(child, 0);
        for (int turn = 0; child == 0 && turn < TURNS; turn++) {
            struct out own;
            bool good = out_open(path, "count", &own, &faults) == OK && out_lock(&own, "c", "c", &faults) == OK;
            long count = good ? strtol(content("count"), NULL, 10) : 0;
            const char *text = arena_format(&arena, "%ld", count + 1);
            int fd = open(inside("count"), O_WRONLY | O_TRUNC);
            good = good && write(fd, text, strlen(text)) == (ssize_t)strlen(text) && close(fd) == 0;
            good = good && out_close(&own, &faults) == OK;
            if (!good || turn + 1 == TURNS) {
                _exit(good ? 0 : 1);
            }
        }
    }
    for (int i = 0; i < PROCESSES; i++) {
        int how = 1;
        ck_assert_int_gt(wait(&how), 0);
        ck_assert_int_eq(how, 0);
    }
    ck_assert_int_eq(strtol(content("count"), NULL, 10), PROCESSES * TURNS);
    ck_assert(!is_there(".dutyproof.lock"));
}
END_TEST

Suite *unit_folder_suite(void);
Suite *unit_folder_suite(void)
{
    Suite *suite = suite_create("unit_folder");
    TCase *filing = tcase_create("filing");
    tcase_add_checked_fixture(filing, set_up, tear_down);
    tcase_add_test(filing, files_and_keeps);
    tcase_add_test(filing, leaves_nothing_behind);
    tcase_add_test(filing, same_papers_change_nothing);
    tcase_add_loop_test(filing, latest_in_front_in_any_order, 0, 6);
    tcase_add_test(filing, says_that_a_later_test_stands);
    tcase_add_test(filing, a_log_judged_again_is_kept_twice);
    tcase_add_test(filing, sets_altered_papers_aside);
    tcase_add_test(filing, names_in_earlier_can_meet);
    tcase_add_test(filing, what_a_person_adds_stays);
    tcase_add_test(filing, copies_where_links_fail);
    tcase_add_test(filing, refuses_links_and_strangers);
    tcase_add_test(filing, refuses_what_cannot_be_kept);
    tcase_add_loop_test(filing, plain_name, 0, COUNT(plain_names));
    tcase_add_test(filing, long_names);
    tcase_add_test(filing, no_two_serials_share_a_folder);
    suite_add_tcase(suite, filing);
    TCase *safety = tcase_create("safety");
    tcase_add_checked_fixture(safety, set_up, tear_down);
    tcase_set_timeout(safety, 60); /* a loaded machine; nothing here is measured */
    tcase_add_loop_test(safety, killed_at_each_rename, 0, 2);
    tcase_add_loop_test(safety, killed_at_each_rename_without_exchange, 0, 2);
    tcase_add_test(safety, sweep_spares_what_another_finishes);
    tcase_add_test(safety, files_without_exchange);
    tcase_add_test(safety, a_foreign_marker_is_told);
    tcase_add_test(safety, lock_holds_and_says_for_whom);
    tcase_add_test(safety, lock_outlives_the_exchange);
    tcase_add_test(safety, lock_file_comes_and_goes);
    suite_add_tcase(suite, safety);
    return suite;
}
