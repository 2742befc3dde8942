/* Files against what the file system then holds, and SHA-256 against FIPS 180-4. */
#include "base/files.h"
#include "filing/scratch.h"

#include <check.h>
#include <dirent.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define COUNT(array) ((int)(sizeof(array) / sizeof *(array)))

static struct arena arena;
static struct faults faults;
static struct scratch made;
static const char *room; /* a scratch folder of the test */

static void set_up(void)
{
    faults = (struct faults){0};
    const char *parent = getenv("TMPDIR");
    ck_assert_int_eq(scratch_make(parent != NULL ? parent : "/tmp", &arena, &made, &faults), OK);
    room = made.path;
}

static void tear_down(void)
{
    ck_assert_int_eq(scratch_remove(&made, &faults), OK);
    ck_assert_msg(access(room, F_OK) != 0, "the scratch folder is still there");
    arena_release(&arena);
}

static const char *inside(const char *name)
{
    char *path = arena_format(&arena, "%s/%s", room, name);
    ck_assert_ptr_nonnull(path);
    return path;
}

static int entries(const char *path)
{
    int count = -3; /* . and .. and the mark of the scratch folder */
    DIR *folder = opendir(path);
    ck_assert_ptr_nonnull(folder);
    while (readdir(folder) != NULL) {
        count++;
    }
    (void)closedir(folder);
    return count;
}

static void expect_content(const char *path, const char *want)
{
    char *bytes = NULL;
    size_t length = 0;
    ck_assert_int_eq(file_read(path, 1000, &arena, &bytes, &length, &faults), OK);
    ck_assert_uint_eq(length, strlen(want));
    ck_assert_str_eq(bytes, want);
}

START_TEST(writes_and_replaces)
{
    const char *path = inside("paper");
    ck_assert_int_eq(file_write(path, "first", 5, &faults), OK);
    expect_content(path, "first");
    ck_assert_int_eq(file_write(path, "2nd", 3, &faults), OK);
    expect_content(path, "2nd");
    ck_assert_int_eq(entries(room), 1); /* no temporary stays behind */
}
END_TEST

START_TEST(failed_write_leaves_nothing)
{
    const char *path = inside("folder");
    ck_assert_int_eq(mkdir(path, 0777), 0); /* a file cannot be renamed over a folder */
    ck_assert_int_eq(file_write(path, "x", 1, &faults), E_FILE);
    ck_assert_int_eq(entries(room), 1);
    ck_assert_msg(strstr(faults.text[0], path) != NULL, "the fault names the file: %s", faults.text[0]);
    ck_assert_int_eq(rmdir(path), 0);
}
END_TEST

START_TEST(write_without_folder_fails)
{
    ck_assert_int_eq(file_write(inside("absent/paper"), "x", 1, &faults), E_FILE);
    ck_assert_msg(strstr(faults.text[0], "No such file") != NULL, "%s", faults.text[0]);
}
END_TEST

START_TEST(read_is_bounded)
{
    char *bytes = NULL;
    size_t length = 0;
    const char *path = inside("paper");
    ck_assert_int_eq(file_write(path, "12345", 5, &faults), OK);
    ck_assert_int_eq(file_read(path, 5, &arena, &bytes, &length, &faults), OK);
    ck_assert_int_eq(file_read(path, 4, &arena, &bytes, &length, &faults), E_FILE);
}
END_TEST

START_TEST(publish_refuses_empty_and_absent)
{
    ck_assert_int_eq(file_publish(inside("drawn"), inside("sheet"), &faults), E_FILE);
    ck_assert_int_eq(file_write(inside("drawn"), "", 0, &faults), OK);
    ck_assert_int_eq(file_publish(inside("drawn"), inside("sheet"), &faults), E_FILE);
    ck_assert_int_eq(file_write(inside("drawn"), "%PDF", 4, &faults), OK);
    ck_assert_int_eq(file_publish(inside("drawn"), inside("sheet"), &faults), OK);
    expect_content(inside("sheet"), "%PDF");
    ck_assert_int_eq(entries(room), 1);
}
END_TEST

START_TEST(folders)
{
    ck_assert_int_eq(folder_make(inside("a/b//c/"), &faults), OK);
    ck_assert_int_eq(folder_make(inside("a/b/c"), &faults), OK);
    ck_assert_int_eq(file_write(inside("a/b/c/file"), "x", 1, &faults), OK);
    ck_assert_int_eq(folder_make(inside("a/b/c/file"), &faults), E_FILE);
    ck_assert_int_eq(folder_make(inside("a/b/c/file/d"), &faults), E_FILE);
    ck_assert_int_eq(folder_make("", &faults), E_FILE);
    ck_assert_int_eq(file_remove(inside("a/b/c/file"), &faults), OK);
    ck_assert_int_eq(file_remove(inside("a/b/c/file"), &faults), OK);
    ck_assert_int_eq(rmdir(inside("a/b/c")) | rmdir(inside("a/b")) | rmdir(inside("a")), 0);
}
END_TEST

/* Source: FIPS 180-4 example values, published by NIST with the standard ("abc", two blocks); the empty text from the
 * same examples. */
static const struct {
    const char *text, *hex;
} digests[] = {
    {"abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"},
    {"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
     "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1"},
    {"", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"},
};

START_TEST(sha256)
{
    char hex[65];
    sha256_hex(digests[_i].text, strlen(digests[_i].text), hex);
    ck_assert_str_eq(hex, digests[_i].hex);
}
END_TEST

START_TEST(digest_of_a_file)
{
    char hex[65];
    ck_assert_int_eq(file_write(inside("abc"), "abc", 3, &faults), OK);
    ck_assert(file_sha256(inside("abc"), hex)); /* FIPS 180-4, example of one block */
    ck_assert_str_eq(hex, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    ck_assert(!file_sha256(inside("none"), hex));
    ck_assert_str_eq(hex, "");
}
END_TEST

START_TEST(only_files_are_opened)
{
    int fd;
    ck_assert_int_eq(mkfifo(inside("pipe"), 0600), 0); /* no one writes it: to wait would be for ever */
    ck_assert_int_eq(file_open(inside("pipe"), &fd, &faults), E_FILE);
    ck_assert_ptr_nonnull(strstr(faults.text[0], "pipe: is a pipe or a device, expected a file"));
    ck_assert_int_eq(file_open("/dev/null", &fd, &faults), E_FILE);
    ck_assert_int_eq(file_open(room, &fd, &faults), E_FILE);
    ck_assert_int_eq(fd, -1);
}
END_TEST

static const struct {
    const char *name, *serial;
} log_names[] = {
    {"DN-15.04.csv", "DN-15.04"},
    {"DN-15.05.csv.gz", "DN-15.05"},
    {"A.CSV", "A"},
    {"A.txt", "A.txt"},
    {"A.gz", "A.gz"},
    {".csv", ".csv"},
    {"csv", "csv"},
    {"a.csv.csv", "a.csv"},
};

START_TEST(serials_of_log_names)
{
    size_t length = log_name_length(log_names[_i].name);
    ck_assert_uint_eq(length, strlen(log_names[_i].serial));
    ck_assert_int_eq(strncmp(log_names[_i].name, log_names[_i].serial, length), 0);
}
END_TEST

START_TEST(base_names)
{
    ck_assert_str_eq(file_base("a/b.csv"), "b.csv");
    ck_assert_str_eq(file_base("b.csv"), "b.csv");
    ck_assert_str_eq(file_base("a/"), "");
}
END_TEST

Suite *files_suite(void);
Suite *files_suite(void)
{
    Suite *suite = suite_create("files");
    TCase *files = tcase_create("files");
    tcase_add_checked_fixture(files, set_up, tear_down);
    tcase_add_test(files, writes_and_replaces);
    tcase_add_test(files, failed_write_leaves_nothing);
    tcase_add_test(files, write_without_folder_fails);
    tcase_add_test(files, read_is_bounded);
    tcase_add_test(files, publish_refuses_empty_and_absent);
    tcase_add_test(files, folders);
    tcase_add_test(files, digest_of_a_file);
    tcase_add_test(files, only_files_are_opened);
    suite_add_tcase(suite, files);
    TCase *digest = tcase_create("digest");
    tcase_add_loop_test(digest, sha256, 0, COUNT(digests));
    tcase_add_test(digest, base_names);
    tcase_add_loop_test(digest, serials_of_log_names, 0, COUNT(log_names));
    suite_add_tcase(suite, digest);
    return suite;
}
