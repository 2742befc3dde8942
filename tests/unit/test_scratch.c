/* The sweep of scratch folders against what must outlive it: what is linked, foreign, unmarked or still at work */
#include "base/files.h"
#include "filing/scratch.h"

#include <check.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

static struct arena arena;
static struct faults faults;
static struct scratch room; /* the OUT of the test, itself a scratch folder */

static void set_up(void)
{
    faults = (struct faults){0};
    const char *parent = getenv("TMPDIR");
    ck_assert_int_eq(scratch_make(parent != NULL ? parent : "/tmp", &arena, &room, &faults), OK);
}

static void tear_down(void)
{
    ck_assert_int_eq(scratch_remove(&room, &faults), OK);
    arena_release(&arena);
}

static char *inside(const char *folder, const char *name)
{
    char *path = arena_format(&arena, "%s/%s", folder, name);
    ck_assert_ptr_nonnull(path);
    return path;
}

static void put(const char *folder, const char *name)
{
    const char *path = inside(folder, name);
    ck_assert_int_eq(file_write(path, "x", 1, &faults), OK);
}

static bool is_there(const char *path)
{
    struct stat facts;
    return lstat(path, &facts) == 0;
}

/* A scratch folder whose maker has ended, under a name of the test's choice. */
static const char *forsaken(const char *name)
{
    const char *path = inside(room.path, name);
    pid_t maker = fork();
    ck_assert_int_ge(maker, 0);
    if (maker == 0) {
        struct scratch made;
        bool good = scratch_make(room.path, &arena, &made, &faults) == OK && rename(made.path, path) == 0;
        _exit(good ? 0 : 1);
    }
    int how = 1;
    ck_assert_int_eq(waitpid(maker, &how, 0), maker);
    ck_assert_int_eq(how, 0);
    return path;
}

START_TEST(takes_what_a_dead_run_left)
{
    const char *path = forsaken(".dutyproof-abcdef");
    put(path, "1.sheet.pdf");
    ck_assert_int_eq(mkdir(inside(path, "T-1"), 0777), 0);
    put(path, "T-1/sheet.txt");
    scratch_sweep(room.path, NULL, NULL);
    ck_assert_msg(!is_there(path), "%s is still there", path);
}
END_TEST

/* Its name holds the number of no process that this machine can have: as that of another host, or name space. */
START_TEST(spares_what_is_at_work)
{
    struct scratch made;
    ck_assert_int_eq(scratch_make(room.path, &arena, &made, &faults), OK);
    char *path = inside(room.path, ".dutyproof-99999999-abcdef");
    ck_assert_int_eq(rename(made.path, path), 0);
    put(path, "1.sheet.pdf");
    scratch_sweep(room.path, NULL, NULL);
    ck_assert(is_there(inside(path, "1.sheet.pdf")));
    made.path = path;
    ck_assert_int_eq(scratch_remove(&made, &faults), OK);
    ck_assert(!is_there(path));
}
END_TEST

START_TEST(follows_no_link)
{
    const char *foreign = inside(room.path, "foreign"), *dead = forsaken(".dutyproof-target");
    ck_assert_int_eq(mkdir(foreign, 0777), 0);
    put(foreign, "kept.txt");
    put(dead, "kept.txt");
    ck_assert_int_eq(symlink("foreign", inside(room.path, ".dutyproof-link-1")), 0);
    ck_assert_int_eq(rename(dead, inside(room.path, "marked")), 0);
    ck_assert_int_eq(symlink("marked", inside(room.path, ".dutyproof-link-2")), 0);
    scratch_sweep(room.path, NULL, NULL);
    ck_assert(is_there(inside(foreign, "kept.txt")));
    ck_assert(is_there(inside(room.path, "marked/kept.txt")));
    ck_assert(is_there(inside(room.path, ".dutyproof-link-1")));
}
END_TEST

START_TEST(follows_no_link_within)
{
    const char *foreign = inside(room.path, "foreign"), *dead = forsaken(".dutyproof-abcdef");
    ck_assert_int_eq(mkdir(foreign, 0777), 0);
    put(foreign, "kept.txt");
    ck_assert_int_eq(symlink("../foreign", inside(dead, "out")), 0);
    scratch_sweep(room.path, NULL, NULL);
    ck_assert(!is_there(dead));
    ck_assert(is_there(inside(foreign, "kept.txt")));
}
END_TEST

/* A mark that is itself a link, another text, or not a file at all, is none. */
START_TEST(takes_marked_folders_only)
{
    const char *folders[] = {"none", "begun", "linked", "pipe"}, *dead = forsaken(".dutyproof-abcdef");
    for (int i = 0; i < 4; i++) {
        folders[i] = arena_format(&arena, "%s/.dutyproof-%s", room.path, folders[i]);
        ck_assert_int_eq(mkdir(folders[i], 0777), 0);
        put(folders[i], "kept.txt");
    }
    ck_assert_int_eq(file_write(inside(folders[1], ".mark"), "A scratch", 9, &faults), OK);
    ck_assert_int_eq(rename(dead, inside(room.path, "marked")), 0);
    ck_assert_int_eq(symlink("../marked/.mark", inside(folders[2], ".mark")), 0);
    ck_assert_int_eq(mkfifo(inside(folders[3], ".mark"), 0666), 0);
    scratch_sweep(room.path, NULL, NULL);
    for (int i = 0; i < 4; i++) {
        ck_assert_msg(is_there(inside(folders[i], "kept.txt")), "%s was taken", folders[i]);
    }
}
END_TEST

/* A maker was killed before it had written the mark, or all of it. */
START_TEST(takes_what_was_hardly_begun)
{
    static const char *const marks[] = {NULL, "", "A scratch folder of duty"};
    const char *path = inside(room.path, ".dutyproof-abcdef");
    ck_assert_int_eq(mkdir(path, 0700), 0);
    if (marks[_i] != NULL) {
        ck_assert_int_eq(file_write(inside(path, ".mark"), marks[_i], strlen(marks[_i]), &faults), OK);
    }
    scratch_sweep(room.path, NULL, NULL);
    ck_assert(!is_there(path));
}
END_TEST

START_TEST(spares_other_users)
{
    const char *dead = forsaken(".dutyproof-abcdef");
    if (geteuid() != 0) {
        return; /* only root can give a folder away */
    }
    ck_assert_int_eq(chown(dead, 65534, (gid_t)-1), 0);
    scratch_sweep(room.path, NULL, NULL);
    ck_assert(is_there(inside(dead, ".mark")));
}
END_TEST

START_TEST(removing_what_is_gone_is_fine)
{
    struct scratch made;
    ck_assert_int_eq(scratch_make(inside(room.path, "out"), &arena, &made, &faults), OK);
    ck_assert_int_eq(unlink(inside(made.path, ".mark")) | rmdir(made.path) | rmdir(inside(room.path, "out")), 0);
    ck_assert_int_eq(scratch_remove(&made, &faults), OK);
    ck_assert_int_eq(scratch_remove(&made, &faults), OK);
}
END_TEST

/* Many make and sweep in one folder at once: nobody loses the folder that it works in. */
START_TEST(makers_and_sweepers_at_once)
{
    enum { PROCESSES = 6, TURNS = 300 };
    for (int i = 0; i < PROCESSES; i++) {
        pid_t child = fork();
        ck_assert_int_ge(child, 0);
        for (int turn = 0; child == 0 && turn < TURNS; turn++) {
            struct scratch made;
            bool good = scratch_make(room.path, &arena, &made, &faults) == OK;
            scratch_sweep(room.path, NULL, NULL);
            good = good && is_there(inside(made.path, ".mark")) && scratch_remove(&made, &faults) == OK;
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
}
END_TEST

Suite *scratch_suite(void);
Suite *scratch_suite(void)
{
    Suite *suite = suite_create("scratch");
    TCase *core = tcase_create("core");
    tcase_add_checked_fixture(core, set_up, tear_down);
    tcase_set_timeout(core, 60); /* a loaded machine; nothing here is measured */
    tcase_add_test(core, takes_what_a_dead_run_left);
    tcase_add_test(core, spares_what_is_at_work);
    tcase_add_test(core, follows_no_link);
    tcase_add_test(core, follows_no_link_within);
    tcase_add_test(core, takes_marked_folders_only);
    tcase_add_loop_test(core, takes_what_was_hardly_begun, 0, 3);
    tcase_add_test(core, spares_other_users);
    tcase_add_test(core, removing_what_is_gone_is_fine);
    tcase_add_test(core, makers_and_sweepers_at_once);
    suite_add_tcase(suite, core);
    return suite;
}
