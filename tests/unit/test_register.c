/* The register against what was put into it: nothing is lost between writers, whatever is changed behind its back
 * shows, and what is asked is found. Rows are altered by SQLite itself, past the program; the register of schema 1 was
 * made by another program (tests/registers/make_schema_1.py). */
#include "register/chain.h"
#include "register/changes.h"
#include "register/find.h"
#include "register/keeper.h"
#include "register/network.h"
#include "register/register.h"

#include "base/clock.h"
#include "base/files.h"

#include <check.h>
#include <dirent.h>
#include <sqlite3.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#define COUNT(array) ((int)(sizeof(array) / sizeof *(array)))

static struct arena arena;
static struct faults faults;
static char *bay;
static struct bay_register *book;

static void set_up(void)
{
    faults = (struct faults){0};
    const char *parent = getenv("TMPDIR");
    bay = arena_format(&arena, "%s/register-XXXXXX", parent != NULL ? parent : "/tmp");
    ck_assert_ptr_nonnull(bay);
    ck_assert_ptr_nonnull(mkdtemp(bay));
    ck_assert_int_eq(chmod(bay, 0755), 0);
}

static void remove_bay(void)
{
    DIR *folder = opendir(bay);
    ck_assert_ptr_nonnull(folder);
    for (struct dirent *entry; (entry = readdir(folder)) != NULL;) {
        if (entry->d_name[0] != '.') {
            ck_assert_int_eq(unlink(arena_format(&arena, "%s/%s", bay, entry->d_name)), 0);
        }
    }
    ck_assert_int_eq(closedir(folder), 0);
    ck_assert_int_eq(rmdir(bay), 0);
}

static void tear_down(void)
{
    register_close(book);
    book = NULL;
    remove_bay();
    arena_release(&arena);
}

static void open_book(void)
{
    enum status status =
        register_open(&(struct register_request){.bay = bay, .write = true, .wait_s = 20}, &book, &faults);
    ck_assert_msg(status == OK, "%s", faults.text[0]);
}

static void close_book(void)
{
    register_close(book);
    book = NULL;
}

static void expect_fault(const char *what)
{
    ck_assert_uint_eq(faults.count, 1);
    ck_assert_msg(strstr(faults.text[0], what) != NULL, "'%s' says: %s", faults.text[0], what);
}

/* A digest that stands for the log of a name. */
static const char *digest_of(const char *name)
{
    char *hex = arena_alloc(&arena, 65, 1);
    ck_assert_ptr_nonnull(hex);
    sha256_hex(name, strlen(name), hex);
    return hex;
}

/* Adds one judgement. */
static long long judge(const char *serial, const char *log, const char *tested, const char *verdict)
{
    long long id = 0;
    struct judgement_order order = {.judgement = {.serial = serial,
                                                  .model = "KV-6",
                                                  .order = "A-77",
                                                  .tested = tested,
                                                  .log = log,
                                                  .log_sha256 = digest_of(log),
                                                  .verdict = verdict,
                                                  .revision = 1},
                                    .document = serial,
                                    .document_length = strlen(serial)};
    ck_assert_int_eq(register_begin(book, &faults), OK);
    ck_assert_int_eq(register_add(book, &order, &id, &faults), OK);
    ck_assert_int_eq(register_commit(book, &faults), OK);
    return id;
}

static struct register_break check_book(long long rows)
{
    struct register_break found;
    long long walked = 0;
    ck_assert_int_eq(register_check(book, &found, &walked, &faults), OK);
    if (rows >= 0) {
        ck_assert_msg(!found.broken, "%s", found.text);
        ck_assert_int_eq(walked, rows);
    }
    return found;
}

/* Past the program, by SQLite itself. */
static void meddle(const char *statements)
{
    sqlite3 *database = NULL;
    char *message = NULL;
    ck_assert_int_eq(sqlite3_open(register_path(bay, &arena), &database), SQLITE_OK);
    int code = sqlite3_exec(database, statements, NULL, NULL, &message);
    ck_assert_msg(code == SQLITE_OK, "%s", message);
    ck_assert_int_eq(sqlite3_close(database), SQLITE_OK);
}

static void take_guards_away(void)
{
    meddle("DROP TRIGGER judgement_stays; DROP TRIGGER judgement_kept; DROP TRIGGER papers_stay; "
           "DROP TRIGGER papers_kept");
}

/* --- adding and reading --- */

static const struct register_table tables[] = {
    {.name = "rig.csv", .rows = "bay\tvalue\tOne\n", .text = "item\n", .length = 5},
    {.name = "models.csv", .text = "model\n", .length = 6},
    {.name = "built-in", .rows = "grades\tsha256\tabc\n"},
};
static const struct judgement everything = {.at = "2026-03-12T10:04:05Z",
                                            .who = "kari@bench",
                                            .origin = REBUILT,
                                            .serial = "TW/26-\"101\"\n'; DROP TABLE judgement; --\xff",
                                            .model = "KV-6",
                                            .order = "A-77",
                                            .tested = "2026-03-11",
                                            .log = "logs/a.csv",
                                            .log_sha256 = "aa",
                                            .program = "0.1.0",
                                            .libraries = "gsl 2.7",
                                            .verdict = "pass",
                                            .figures = "{}",
                                            .revision = 3,
                                            .changes = "models.csv: head 40 -> 41"};

START_TEST(gives_back_what_it_took)
{
    long long id = 0;
    struct judgement row;
    bool found = false;
    open_book();
    ck_assert(register_created(book));
    struct judgement_order order = {
        .judgement = everything, .tables = tables, .table_count = 3, .document = "{\"a\": 1}\n", .document_length = 9};
    ck_assert_int_eq(register_begin(book, &faults), OK);
    ck_assert_int_eq(register_add(book, &order, &id, &faults), OK);
    ck_assert_int_eq(register_commit(book, &faults), OK);
    close_book();
    open_book();
    ck_assert(!register_created(book));
    ck_assert_int_eq(id, 1);
    ck_assert_int_eq(register_read(book, 1, &arena, &row, &found, &faults), OK);
    ck_assert(found);
    const char *const pairs[][2] = {{row.at, everything.at},
                                    {row.who, everything.who},
                                    {row.origin, everything.origin},
                                    {row.serial, everything.serial},
                                    {row.model, everything.model},
                                    {row.order, everything.order},
                                    {row.tested, everything.tested},
                                    {row.log, everything.log},
                                    {row.log_sha256, everything.log_sha256},
                                    {row.program, everything.program},
                                    {row.libraries, everything.libraries},
                                    {row.verdict, everything.verdict},
                                    {row.figures, everything.figures},
                                    {row.changes, everything.changes},
                                    {row.previous, ""}};
    for (int i = 0; i < COUNT(pairs); i++) {
        ck_assert_str_eq(pairs[i][0], pairs[i][1]);
    }
    ck_assert_int_eq(row.revision, 3);
    ck_assert_uint_eq(strlen(row.digest), 64);
    (void)check_book(1);
}
END_TEST

START_TEST(keeps_each_text_once_by_its_digest)
{
    long long id = 0;
    char rows[65], text[65], *bytes = NULL;
    size_t length = 0;
    bool found = false;
    struct judgement row;
    open_book();
    struct judgement_order order = {
        .judgement = everything, .tables = tables, .table_count = 3, .document = "x", .document_length = 1};
    ck_assert_int_eq(register_begin(book, &faults), OK);
    for (int i = 0; i < 3; i++) {
        ck_assert_int_eq(register_add(book, &order, &id, &faults), OK);
    }
    ck_assert_int_eq(register_commit(book, &faults), OK);
    meddle("CREATE TABLE seen (n INTEGER CHECK (n = 5)); INSERT INTO seen SELECT count(*) FROM content");
    ck_assert_int_eq(register_read(book, 2, &arena, &row, &found, &faults), OK);
    ck_assert(register_table_of(&row, "rig.csv", rows, text));
    ck_assert_str_eq(rows, digest_of(tables[0].rows));
    ck_assert_int_eq(register_text(book, text, &arena, &bytes, &length, &found, &faults), OK);
    ck_assert(found);
    ck_assert_uint_eq(length, 5);
    ck_assert_str_eq(bytes, "item\n");
    ck_assert(register_table_of(&row, "models.csv", rows, text));
    ck_assert_str_eq(rows, "");
    ck_assert_str_eq(text, digest_of("model\n"));
    ck_assert(register_table_of(&row, "built-in", rows, text));
    ck_assert_str_eq(rows, digest_of(tables[2].rows));
    ck_assert_str_eq(text, "");
    ck_assert(!register_table_of(&row, "models", rows, text));
    ck_assert(!register_table_of(&row, "", rows, text));
    ck_assert_int_eq(register_text(book, row.result_sha256, &arena, &bytes, &length, &found, &faults), OK);
    ck_assert_str_eq(bytes, "x");
    ck_assert_int_eq(register_text(book, digest_of("other"), &arena, &bytes, &length, &found, &faults), OK);
    ck_assert(!found);
}
END_TEST

/* Around the sizes at which texts are kept in another window, of bytes that do not shrink. */
START_TEST(keeps_texts_of_every_length)
{
    static const size_t lengths[] = {0, 1, 511, 512, 513, 1024, 4097, 32768, 32769, 300000};
    char *bytes = arena_alloc(&arena, 300000, 1), *back = NULL;
    uint32_t noise = 2463534242;
    for (size_t i = 0; i < 300000; i++) { /* xorshift, Marsaglia 2003 */
        noise ^= noise << 13;
        noise ^= noise >> 17;
        noise ^= noise << 5;
        bytes[i] = (char)noise;
    }
    open_book();
    for (int i = 0; i < COUNT(lengths); i++) {
        long long id = 0;
        size_t length = 0;
        bool found = false;
        struct judgement row;
        struct judgement_order order = {.document = bytes, .document_length = lengths[i]};
        ck_assert_int_eq(register_begin(book, &faults), OK);
        ck_assert_int_eq(register_add(book, &order, &id, &faults), OK);
        ck_assert_int_eq(register_commit(book, &faults), OK);
        ck_assert_int_eq(register_read(book, id, &arena, &row, &found, &faults), OK);
        ck_assert_int_eq(register_text(book, row.result_sha256, &arena, &back, &length, &found, &faults), OK);
        ck_assert(found);
        ck_assert_uint_eq(length, lengths[i]);
        ck_assert_mem_eq(back, bytes, length);
    }
    (void)check_book(COUNT(lengths));
}
END_TEST

START_TEST(says_when_and_who)
{
    char now[32];
    bool found = false;
    struct judgement row;
    ck_assert_int_eq(setenv("SOURCE_DATE_EPOCH", "1700000000", 1), 0);
    ck_assert_str_eq(clock_text(now), "2023-11-14T22:13:20Z"); /* date -u -d @1700000000 */
    open_book();
    (void)judge("S-1", "a", "2026-01-01", "pass");
    ck_assert_int_eq(unsetenv("SOURCE_DATE_EPOCH"), 0);
    ck_assert_str_gt(clock_text(now), "2024");
    ck_assert_int_eq(register_read(book, 1, &arena, &row, &found, &faults), OK);
    ck_assert_str_eq(row.at, "2023-11-14T22:13:20Z");
    ck_assert_str_eq(row.who, keeper_name(&arena));
    ck_assert_ptr_nonnull(strchr(row.who, '@'));
    ck_assert_str_eq(row.origin, JUDGED);
}
END_TEST

START_TEST(papers_are_added_once_they_stand)
{
    struct judgement_papers papers = {0};
    bool found = true;
    open_book();
    long long id = judge("S-1", "a", "2026-01-01", "pass");
    ck_assert_int_eq(register_papers(book, id, &arena, &papers, &found, &faults), OK);
    ck_assert(!found);
    for (int i = 0; i < 2; i++) {
        struct judgement_papers add = {
            .judgement = id, .folder = i == 0 ? "reports/S-1" : "/elsewhere/S-1", .files = "00  sheet.txt\n"};
        ck_assert_int_eq(register_begin(book, &faults), OK);
        ck_assert_int_eq(register_add_papers(book, &add, &faults), OK);
        ck_assert_int_eq(register_commit(book, &faults), OK);
    }
    ck_assert_int_eq(register_papers(book, id, &arena, &papers, &found, &faults), OK);
    ck_assert(found);
    ck_assert_str_eq(papers.folder, "/elsewhere/S-1");
    ck_assert_str_eq(papers.files, "00  sheet.txt\n");
    (void)check_book(1);
}
END_TEST

START_TEST(finds_the_row_of_a_log_and_of_a_result)
{
    struct judgement row;
    bool found = false;
    open_book();
    (void)judge("S-1", "a", "2026-01-01", "pass");
    (void)judge("S-2", "a", "2026-01-01", "pass");
    (void)judge("s-1", "b", "2026-01-01", "fail");
    (void)judge("S-1", "a", "2026-01-01", "fail");
    ck_assert_int_eq(register_latest(book, "S-1", digest_of("a"), &arena, &row, &found, &faults), OK);
    ck_assert(found);
    ck_assert_int_eq(row.id, 4);
    ck_assert_int_eq(register_latest(book, "S-1", digest_of("b"), &arena, &row, &found, &faults), OK);
    ck_assert_msg(!found, "serials that differ by case are two");
    ck_assert_int_eq(register_of_log(book, digest_of("b"), &arena, &row, &found, &faults), OK);
    ck_assert_str_eq(row.serial, "s-1");
    ck_assert_int_eq(register_of_result(book, digest_of("S-1"), &arena, &row, &found, &faults), OK);
    ck_assert_int_eq(row.id, 4);
}
END_TEST

START_TEST(a_group_stands_as_one_or_not_at_all)
{
    long long id = 0;
    bool found = true;
    struct judgement row;
    struct judgement_order order = {.judgement = everything};
    open_book();
    for (int end = 0; end < 2; end++) { /* given back; and cut short */
        ck_assert_int_eq(register_begin(book, &faults), OK);
        ck_assert_int_eq(register_add(book, &order, &id, &faults), OK);
        ck_assert_int_eq(id, 1);
        if (end == 0) {
            register_abandon(book);
        } else {
            close_book();
            open_book();
        }
        ck_assert_int_eq(register_read(book, 1, &arena, &row, &found, &faults), OK);
        ck_assert(!found);
    }
    (void)check_book(0);
}
END_TEST

/* --- other writers, other programs --- */

enum { WRITERS = 8, GROUPS = 20, ROWS = 3 };

static void write_groups(int writer)
{
    open_book();
    for (int group = 0; group < GROUPS; group++) {
        ck_assert_int_eq(register_begin(book, &faults), OK);
        for (int i = 0; i < ROWS; i++) {
            long long id = 0;
            char *serial = arena_format(&arena, "W%d-%d-%d", writer, group, i);
            struct judgement_order order = {
                .judgement = {.serial = serial}, .document = serial, .document_length = strlen(serial)};
            enum status status = register_add(book, &order, &id, &faults);
            ck_assert_msg(status == OK, "%s", faults.text[0]);
        }
        ck_assert_int_eq(register_commit(book, &faults), OK);
    }
    close_book();
}

START_TEST(loses_nothing_between_eight_writers)
{
    pid_t children[WRITERS];
    for (int i = 0; i < WRITERS; i++) { /* all of them find no register, and make it */
        children[i] = fork();
        ck_assert_int_ge(children[i], 0);
        if (children[i] == 0) {
            write_groups(i);
            _exit(0);
        }
    }
    for (int i = 0; i < WRITERS; i++) {
        int status = 0;
        ck_assert_int_eq(waitpid(children[i], &status, 0), children[i]);
        ck_assert_msg(WIFEXITED(status) && WEXITSTATUS(status) == 0, "writer %d failed", i);
    }
    open_book();
    (void)check_book(WRITERS * GROUPS * ROWS);
}
END_TEST

START_TEST(waits_for_another_writer_and_then_says_so)
{
    struct bay_register *other = NULL;
    open_book();
    ck_assert_int_eq(register_begin(book, &faults), OK);
    ck_assert_int_eq(register_open(&(struct register_request){.bay = bay, .write = true, .wait_s = 1}, &other, &faults),
                     OK);
    ck_assert_int_eq(register_begin(other, &faults), E_FILE);
    expect_fault("register.db: another program has been writing to it for 1 s");
    ck_assert_int_eq(register_commit(book, &faults), OK);
    faults = (struct faults){0};
    ck_assert_int_eq(register_begin(other, &faults), OK);
    register_close(other);
}
END_TEST

/* Runs in a child that may not write into the bay; root may, so it becomes nobody. */
static int open_without_rights(void)
{
    if (getuid() == 0 && setuid(65534) != 0) {
        return 2;
    }
    enum status status = register_open(&(struct register_request){.bay = bay, .write = true}, &book, &faults);
    bool told = status == E_FILE && strstr(faults.text[0], "cannot be written: Permission denied") != NULL;
    return told ? 0 : 1;
}

START_TEST(refuses_a_bay_that_cannot_be_written)
{
    open_book();
    (void)judge("S-1", "a", "2026-01-01", "pass");
    close_book();
    for (int i = 0; i < 3; i++) { /* the folder; the file; both, without a register in it */
        int status = 0;
        const char *path = register_path(bay, &arena);
        if (i == 2) {
            ck_assert_int_eq(unlink(path), 0);
        } else {
            ck_assert_int_eq(chmod(path, i == 1 ? 0444 : 0666), 0);
        }
        ck_assert_int_eq(chmod(bay, i == 1 ? 0777 : 0555), 0);
        pid_t child = fork();
        ck_assert_int_ge(child, 0);
        if (child == 0) {
            _exit(open_without_rights());
        }
        ck_assert_int_eq(waitpid(child, &status, 0), child);
        ck_assert_int_eq(chmod(bay, 0755), 0);
        ck_assert_int_eq(WIFEXITED(status) ? WEXITSTATUS(status) : 9, 0);
    }
}
END_TEST

START_TEST(reads_what_is_there_and_makes_nothing)
{
    struct register_request request = {.bay = bay};
    ck_assert_int_eq(register_open(&request, &book, &faults), E_FILE);
    expect_fault("there is no register");
    ck_assert_msg(access(register_path(bay, &arena), F_OK) != 0, "reading made a register");
    open_book();
    (void)judge("S-1", "a", "2026-01-01", "pass");
    close_book();
    faults = (struct faults){0};
    ck_assert_int_eq(register_open(&request, &book, &faults), OK);
    ck_assert_int_eq(register_begin(book, &faults), E_FILE);
    expect_fault("was opened to be read");
}
END_TEST

START_TEST(knows_network_file_systems)
{
    /* statfs(2), the manual page's list of types */
    static const struct {
        unsigned long type;
        const char *name;
    } known[] = {{0x6969, "NFS"},    {0xff534d42, "CIFS"},         {0xfe534d42, "SMB"}, {0x65735546, "FUSE"},
                 {0x01021997, "9P"}, {0xffffffffff534d42, "CIFS"}, {0x73757245, "Coda"}};
    static const unsigned long local[] = {0xef53 /* ext4 */,      0x58465342 /* xfs */, 0x9123683e /* btrfs */,
                                          0x01021994 /* tmpfs */, 0x4d44 /* FAT */,     0x794c7630 /* overlay */};
    for (int i = 0; i < COUNT(known); i++) {
        ck_assert_str_eq(network_name(known[i].type), known[i].name);
    }
    for (int i = 0; i < COUNT(local); i++) {
        ck_assert_ptr_null(network_name(local[i]));
    }
}
END_TEST

/* --- older and newer registers, and files that are none --- */

static void place_schema_1(void)
{
    char *bytes = NULL;
    size_t length = 0;
    ck_assert_int_eq(file_read("tests/registers/schema-1.db", 1000000, &arena, &bytes, &length, &faults), OK);
    ck_assert_int_eq(file_write(register_path(bay, &arena), bytes, length, &faults), OK);
}

START_TEST(brings_a_register_of_schema_1_up_to_date)
{
    struct judgement row;
    bool found = false;
    place_schema_1();
    open_book();
    ck_assert(!register_created(book));
    (void)check_book(3); /* its digests still hold */
    ck_assert_int_eq(register_read(book, 3, &arena, &row, &found, &faults), OK);
    ck_assert(found);
    ck_assert_str_eq(row.serial, "ÖLD 3");
    ck_assert_str_eq(row.verdict, "not judged");
    ck_assert_str_eq(row.origin, JUDGED);
    ck_assert_int_eq(judge("S-1", "a", "2026-01-01", "pass"), 4);
    (void)check_book(4);
    close_book();
    meddle(
        "CREATE TABLE seen (n INTEGER CHECK (n = 2)); INSERT INTO seen SELECT user_version FROM pragma_user_version");
    open_book();
    (void)check_book(4);
}
END_TEST

START_TEST(does_not_change_an_older_register_by_reading)
{
    place_schema_1();
    ck_assert_int_eq(register_open(&(struct register_request){.bay = bay}, &book, &faults), E_FILE);
    expect_fault("has schema 1, this program reads schema 2");
}
END_TEST

START_TEST(refuses_a_newer_schema_and_names_both)
{
    open_book();
    close_book();
    meddle("PRAGMA user_version = 41");
    for (int write = 0; write < 2; write++) {
        faults = (struct faults){0};
        ck_assert_int_eq(register_open(&(struct register_request){.bay = bay, .write = write == 1}, &book, &faults),
                         E_FILE);
        expect_fault("has schema 41, this program knows schemas up to 2");
    }
}
END_TEST

START_TEST(leaves_what_is_no_register_alone)
{
    static const char text[] = "These are not the rows you are looking for, but a text of more than a hundred bytes, "
                               "which SQLite takes for a damaged database.\n";
    const char *path = register_path(bay, &arena);
    ck_assert_int_eq(file_write(path, text, sizeof text - 1, &faults), OK);
    ck_assert_int_eq(register_open(&(struct register_request){.bay = bay, .write = true}, &book, &faults), E_FILE);
    expect_fault("is damaged, or no register");
    ck_assert_int_eq(unlink(path), 0);
    meddle("CREATE TABLE birds (name TEXT)");
    faults = (struct faults){0};
    ck_assert_int_eq(register_open(&(struct register_request){.bay = bay, .write = true}, &book, &faults), E_FILE);
    expect_fault("is a database, but no register of this program");
}
END_TEST

/* --- whatever is changed behind its back --- */

static void fill_three(void)
{
    static const char *const serials[] = {"S-1", "S-2", "S-3"};
    ck_assert_int_eq(setenv("SOURCE_DATE_EPOCH", "1700000000", 1), 0);
    open_book();
    for (int i = 0; i < 3; i++) {
        long long id = 0;
        struct judgement_order order = {
            .judgement = everything, .tables = tables, .table_count = 3, .document = serials[i], .document_length = 3};
        order.judgement.serial = serials[i];
        order.judgement.at = "";
        ck_assert_int_eq(register_begin(book, &faults), OK);
        ck_assert_int_eq(register_add(book, &order, &id, &faults), OK);
        struct judgement_papers papers = {.judgement = id, .folder = serials[i], .files = "00  sheet.txt\n"};
        ck_assert_int_eq(register_add_papers(book, &papers, &faults), OK);
        ck_assert_int_eq(register_commit(book, &faults), OK);
    }
    (void)check_book(3);
    ck_assert_int_eq(unsetenv("SOURCE_DATE_EPOCH"), 0);
}

START_TEST(guards_its_rows)
{
    static const char *const attempts[] = {"UPDATE judgement SET verdict = 'pass'", "DELETE FROM judgement",
                                           "UPDATE papers SET folder = ''", "DELETE FROM papers"};
    sqlite3 *database = NULL;
    fill_three();
    ck_assert_int_eq(sqlite3_open(register_path(bay, &arena), &database), SQLITE_OK);
    for (int i = 0; i < COUNT(attempts); i++) {
        ck_assert_int_eq(sqlite3_exec(database, attempts[i], NULL, NULL, NULL), SQLITE_CONSTRAINT);
        ck_assert_str_eq(sqlite3_errmsg(database), "rows are only added");
    }
    ck_assert_int_eq(sqlite3_close(database), SQLITE_OK);
}
END_TEST

static const struct {
    const char *statement, *text;
    long long id;
} meddlings[] = {
    {"DELETE FROM judgement WHERE id = 1", "judgement 1 is missing: it was taken out", 1},
    {"DELETE FROM judgement WHERE id = 2", "judgement 2 is missing: it was taken out", 2},
    {"DELETE FROM judgement WHERE id = 3", "judgement 3 is missing: it was taken out (3 were written)", 3},
    {"DELETE FROM judgement WHERE id = 3; UPDATE head SET rows = 2", "judgement 2 is not the last that was written", 2},
    {"DELETE FROM head", "judgement 3 is not the last that was written", 3},
    {"UPDATE judgement SET id = 7 WHERE id = 3", "judgement 3 is missing", 3},
    {"UPDATE judgement SET verdict = 'fail' WHERE id = 3", "judgement 3 is not as it was written: it was altered", 3},
    {"UPDATE judgement SET at = '2020-01-01T00:00:00Z' WHERE id = 2", "judgement 2 is not as it was written", 2},
    {"UPDATE judgement SET who = NULL WHERE id = 2", "judgement 2 is not as it was written", 2},
    {"UPDATE judgement SET origin = NULL WHERE id = 2", "judgement 2 is not as it was written", 2},
    {"UPDATE judgement SET serial = 's-2' WHERE id = 2", "judgement 2 is not as it was written", 2},
    {"UPDATE judgement SET model = 'KV-7' WHERE id = 2", "judgement 2 is not as it was written", 2},
    {"UPDATE judgement SET ordered = 'A-7' WHERE id = 2", "judgement 2 is not as it was written", 2},
    {"UPDATE judgement SET tested = '2026-03-12' WHERE id = 2", "judgement 2 is not as it was written", 2},
    {"UPDATE judgement SET log = 'logs/b.csv' WHERE id = 2", "judgement 2 is not as it was written", 2},
    {"UPDATE judgement SET log_sha256 = 'ab' WHERE id = 2", "judgement 2 is not as it was written", 2},
    {"UPDATE judgement SET tables = '' WHERE id = 2", "judgement 2 is not as it was written", 2},
    {"UPDATE judgement SET program = '0.2.0' WHERE id = 2", "judgement 2 is not as it was written", 2},
    {"UPDATE judgement SET libraries = '' WHERE id = 2", "judgement 2 is not as it was written", 2},
    {"UPDATE judgement SET figures = '{} ' WHERE id = 2", "judgement 2 is not as it was written", 2},
    {"UPDATE judgement SET result_sha256 = '' WHERE id = 2", "judgement 2 is not as it was written", 2},
    {"UPDATE judgement SET revision = 4 WHERE id = 2", "judgement 2 is not as it was written", 2},
    {"UPDATE judgement SET changes = '' WHERE id = 2", "judgement 2 is not as it was written", 2},
    {"UPDATE judgement SET previous = digest WHERE id = 2", "judgement 2 is not as it was written", 2},
    {"UPDATE judgement SET digest = previous WHERE id = 2", "judgement 2 is not as it was written", 2},
    {"DELETE FROM papers WHERE id = 2", "the papers' row 2 is missing: it was taken out", 2},
    {"DELETE FROM papers WHERE id = 3", "the papers' row 3 is missing: it was taken out (3 were written)", 3},
    {"UPDATE papers SET files = '00  sheet.pdf' WHERE id = 2", "the papers' row 2 is not as it was written", 2},
    {"UPDATE papers SET judgement = 1 WHERE id = 2", "the papers' row 2 is not as it was written", 2},
    {"UPDATE papers SET folder = 'S-1' WHERE id = 3", "the papers' row 3 is not as it was written", 3},
    {"DELETE FROM content WHERE size = 5", "judgement 1 names a text of rig.csv (", 1},
    {"DELETE FROM content WHERE size = 18", "judgement 1 names a text of built-in (", 1},
    {"DELETE FROM content WHERE size = 3", "judgement 1 names a text of its result (", 1},
    {"UPDATE content SET deflated = (SELECT deflated FROM content WHERE size = 5) WHERE size = 6",
     "is not as it was stored: it was altered", 0},
    {"UPDATE content SET deflated = (SELECT max(deflated) FROM content WHERE size = 3) WHERE size = 3",
     "is not as it was stored: it was altered", 0},
    {"UPDATE content SET size = -1 WHERE size = 6", "is not as it was stored: it was altered", 0},
};

START_TEST(shows_what_was_changed)
{
    fill_three();
    take_guards_away();
    (void)check_book(3);
    meddle(meddlings[_i].statement);
    struct register_break found = check_book(-1);
    ck_assert_msg(found.broken, "%s: not seen", meddlings[_i].statement);
    ck_assert_msg(strstr(found.text, meddlings[_i].text) != NULL, "%s: %s", meddlings[_i].statement, found.text);
    ck_assert_int_eq(found.id, meddlings[_i].id);
    if (found.id > 1) {
        ck_assert_str_eq(found.since, "2023-11-14T22:13:20Z");
    }
}
END_TEST

/* Who rewrites a row with its digest, by the program's own rule, breaks the next one. */
START_TEST(shows_a_row_that_was_written_anew)
{
    fill_three();
    take_guards_away();
    meddle("UPDATE judgement SET digest = (SELECT digest FROM judgement WHERE id = 3) WHERE id = 1");
    ck_assert_str_eq(check_book(-1).text, "judgement 1 is not as it was written: it was altered");
    close_book();
    ck_assert_int_eq(unlink(register_path(bay, &arena)), 0);
    open_book(); /* a whole register whose first two rows are by another hand ... */
    (void)judge("S-1", "forged", "2026-01-01", "pass");
    (void)judge("S-2", "b", "2026-01-01", "pass");
    take_guards_away();
    char *path = register_path(bay, &arena), *kept = arena_format(&arena, "%s/other.db", bay);
    close_book();
    ck_assert_int_eq(rename(path, kept), 0);
    fill_three(); /* ... takes the place of the first row of ours */
    take_guards_away();
    meddle(arena_format(&arena,
                        "ATTACH '%s' AS other; DELETE FROM judgement WHERE id = 1;"
                        "INSERT INTO judgement SELECT * FROM other.judgement WHERE id = 1;"
                        "INSERT OR IGNORE INTO content SELECT * FROM other.content",
                        kept));
    ck_assert_str_eq(check_book(-1).text,
                     "judgement 2 does not follow from the row before it: one of them was written anew");
}
END_TEST

/* --- what changed --- */

static const struct {
    const char *before, *after, *changes;
} edits[] = {
    {"KV-6\thead [m]\t40.0\n", "KV-6\thead [m]\t40.0\n", ""},
    {"KV-6\thead [m]\t40.0\n", "KV-6\thead [m]\t41.0\n", "t.csv, KV-6: head [m] from '40.0' to '41.0'\n"},
    {"KV-6\tflow\t1\nKV-6\thead\t2\nKV-6\tstages\t3\n", "KV-6\tflow\t1\nKV-6\tstages\t3\n",
     "t.csv, KV-6: head is gone, was '2'\n"},
    {"KV-6\tflow\t1\n", "KV-6\tflow\t1\nKV-6\thead\t\xce\xb7 = 2\n", "t.csv, KV-6: head is new: '\xce\xb7 = 2'\n"},
    {"a\tx\t1\nb\tx\t1\n", "b\tx\t2\nc\tx\t1\n",
     "t.csv, a: x is gone, was '1'\nt.csv, b: x from '1' to '2'\nt.csv, c: x is new: '1'\n"},
    {"", "a\tx\t1\n", "t.csv, a: x is new: '1'\n"},
    {"a\tx\t1\n", "", "t.csv, a: x is gone, was '1'\n"},
    {"a\tx\t1\n", "a\txy\t1\n", "t.csv, a: x is gone, was '1'\nt.csv, a: xy is new: '1'\n"},
    {"a\tx\t1\na b\tx\t1\n", "a\tx\t1\na b\tx\t2\n", "t.csv, a b: x from '1' to '2'\n"},
    {"no tabs", "a\tb", "t.csv, a: b is new: ''\nt.csv, no tabs:  is gone, was ''\n"},
};

START_TEST(tells_which_cell_changed)
{
    ck_assert_str_eq(changes_between(edits[_i].before, edits[_i].after, "t.csv", &arena), edits[_i].changes);
}
END_TEST

/* --- which test stands in front --- */

static const struct {
    const char *name;
    struct {
        const char *log, *tested, *verdict;
    } rows[4];
    long long front;
} fronts[] = {
    {"the later test, judged later", {{"a", "2026-01-01", "pass"}, {"b", "2026-01-02", "fail"}}, 2},
    {"the later test, judged first", {{"b", "2026-01-02", "fail"}, {"a", "2026-01-01", "pass"}}, 1},
    {"a revision of the earlier test",
     {{"a", "2026-01-01", "pass"}, {"b", "2026-01-02", "fail"}, {"a", "2026-01-01", "fail"}},
     2},
    {"a revision of the later test",
     {{"a", "2026-01-01", "pass"}, {"b", "2026-01-02", "fail"}, {"b", "2026-01-02", "pass"}},
     3},
    {"by the time of day", {{"a", "2026-01-01T10:00", "pass"}, {"b", "2026-01-01T09:59", "fail"}}, 1},
    {"by the moment, not the digits",
     {{"a", "2026-01-01T10:00+05:30", "pass"}, {"b", "2026-01-01T09:00+00:00", "fail"}},
     2},
    {"equal times", {{"a", "2026-01-01T10:00", "pass"}, {"b", "2026-01-01T10:00", "fail"}}, 2},
    {"one day, one without a time", {{"a", "2026-01-01T10:00", "pass"}, {"b", "2026-01-01", "fail"}}, 2},
    {"no date", {{"a", "", "pass"}, {"b", "", "fail"}}, 2},
    {"a log that was withdrawn",
     {{"a", "2026-01-01", "pass"}, {"b", "2026-01-02", "fail"}, {"b", "2026-01-02", "void"}},
     1},
    {"withdrawn, and judged again",
     {{"b", "2026-01-02", "void"}, {"a", "2026-01-01", "pass"}, {"b", "2026-01-02", "fail"}},
     3},
    {"all withdrawn", {{"a", "2026-01-01", "void"}}, 0},
    {"a date that was corrected",
     {{"a", "2026-01-09", "pass"}, {"b", "2026-01-02", "fail"}, {"a", "2026-01-01", "pass"}},
     2},
};

START_TEST(the_latest_test_stands_in_front)
{
    long long id = -1;
    open_book();
    for (int i = 0; i < 4 && fronts[_i].rows[i].log != NULL; i++) {
        (void)judge("S-1", fronts[_i].rows[i].log, fronts[_i].rows[i].tested, fronts[_i].rows[i].verdict);
    }
    (void)judge("s-1", "other", "2027-01-01", "pass"); /* another serial */
    ck_assert_int_eq(register_current(book, "S-1", &id, &faults), OK);
    ck_assert_msg(id == fronts[_i].front, "%s: %lld, not %lld", fronts[_i].name, id, fronts[_i].front);
}
END_TEST

/* --- find --- */

struct heard {
    char ids[200];
};

static enum status hear(void *context, const struct found_judgement *found)
{
    struct heard *heard = context;
    size_t length = strlen(heard->ids);
    (void)snprintf(heard->ids + length, sizeof heard->ids - length, "%s%lld%s%s", length > 0 ? " " : "",
                   found->judgement.id, found->current ? "*" : "", found->has_papers ? found->papers.folder : "");
    return OK;
}

static void fill_many(void)
{
    static const struct {
        const char *serial, *model, *order, *tested, *verdict;
    } rows[] = {
        {"TW-101", "KV-6", "A-77", "2026-01-05", "pass"},     {"TW-102", "KV-6", "A-77", "2026-01-06", "fail"},
        {"TW-103", "KV-6/12", "A-78", "2026-02-01", "pass"},  {"TW-102", "KV-6", "A-77", "2026-02-02", "pass"},
        {"QX-9", "KV-6/12", "", "2025-12-31", "not judged"},  {"A-78", "TW-101", "B-1", "", "fail"},
        {"2026", "KV-6", "B-10", "2024-07-01T08:00", "pass"}, {"TW-10%", "KV-6", "B-1", "2024-07-02", "void"},
    };
    open_book();
    ck_assert_int_eq(register_begin(book, &faults), OK);
    for (int i = 0; i < COUNT(rows); i++) {
        long long id = 0;
        struct judgement_order order = {.judgement = {.serial = rows[i].serial,
                                                      .model = rows[i].model,
                                                      .order = rows[i].order,
                                                      .tested = rows[i].tested,
                                                      .verdict = rows[i].verdict,
                                                      .log_sha256 = digest_of(arena_format(&arena, "%d", i))}};
        ck_assert_int_eq(register_add(book, &order, &id, &faults), OK);
    }
    ck_assert_int_eq(
        register_add_papers(book, &(struct judgement_papers){.judgement = 3, .folder = "reports/TW-103"}, &faults), OK);
    ck_assert_int_eq(register_commit(book, &faults), OK);
}

static const struct {
    const char *words[4];
    const char *ids; /* the latest test first; '*': in front of its serial */
} questions[] = {
    {{"TW-101"}, "1*"},
    {{"tw-102"}, "4* 2"},
    {{"A-77"}, "4* 2 1*"},
    {{"kv-6/12"}, "3*reports/TW-103 5*"},
    {{"A-78"}, "6*"}, /* a serial before an order */
    {{"2026-01-06"}, "2"},
    {{"2026-01"}, "2 1*"},
    {{"2026"}, "7*"}, /* a serial before a year */
    {{"2025"}, "5*"},
    {{"2024-07-01"}, "7*"},
    {{"fail"}, "2 6*"},
    {{"Not Judged"}, "5*"},
    {{"not", "judged"}, "5*"},
    {{"void"}, "8"},
    {{"KV-6", "fail"}, "2"},
    {{"fail", "KV-6", "2026-01"}, "2"},
    {{"A-77", "2026-02"}, "4*"},
    {{"TW-101", "TW-103"}, "3*reports/TW-103 1*"}, /* alternatives */
    {{"TW-101", "A-77", "TW-102", "pass"}, "4* 1*"},
    {{"fail", "pass", "2026-02"}, "4* 3*reports/TW-103"},
    {{"TW"}, "3*reports/TW-103 4* 2 1* 8"},
    {{"TW", "QX-9"}, "3*reports/TW-103 4* 2 1* 8 5*"},
    {{"B"}, "7* 8 6*"},
    {{"TW-10", "fail"}, "2"},
    {{NULL}, "4* 3*reports/TW-103 2 1* 5* 8 7* 6*"},
    {{"TW-101", "2026-02"}, ""},
};

static void ask(const char *const *words, size_t count, size_t most, struct heard *heard,
                struct register_answer *answer)
{
    struct register_question question = {.words = words, .count = count, .most = most};
    *heard = (struct heard){0};
    enum status status = register_find(book, &question, (struct register_listener){heard, hear}, answer, &faults);
    ck_assert_msg(status == OK, "%s", faults.text[0]);
}

START_TEST(finds_what_is_asked)
{
    struct heard heard;
    struct register_answer answer;
    size_t count = 0;
    while (count < 4 && questions[_i].words[count] != NULL) {
        count++;
    }
    fill_many();
    ask(questions[_i].words, count, 0, &heard, &answer);
    ck_assert_ptr_null(answer.unknown);
    ck_assert_str_eq(heard.ids, questions[_i].ids);
}
END_TEST

START_TEST(says_how_many_more_there_are_and_what_it_does_not_know)
{
    struct heard heard;
    struct register_answer answer;
    const char *const model[] = {"KV-6"}, *const none[] = {"KV-6", "TX", "nobody"},
                      *const quoted[] = {"TW-101' OR 1=1 --"};
    fill_many();
    ask(model, 1, 2, &heard, &answer);
    ck_assert_str_eq(heard.ids, "4* 2");
    ck_assert_uint_eq(answer.given, 2);
    ck_assert_uint_eq(answer.all, 5);
    ask(model, 1, 5, &heard, &answer);
    ck_assert_uint_eq(answer.all, 5);
    ask(none, 3, 0, &heard, &answer);
    ck_assert_str_eq(answer.unknown, "TX");
    ck_assert_str_eq(heard.ids, "");
    ask(quoted, 1, 0, &heard, &answer);
    ck_assert_ptr_eq(answer.unknown, quoted[0]);
}
END_TEST

static enum status stop(void *context, const struct found_judgement *found)
{
    (void)found;
    ++*(int *)context;
    return E_FILE;
}

START_TEST(ends_when_the_listener_does)
{
    int heard = 0;
    struct register_answer answer;
    fill_many();
    ck_assert_int_eq(
        register_find(book, &(struct register_question){0}, (struct register_listener){&heard, stop}, &answer, &faults),
        E_FILE);
    ck_assert_int_eq(heard, 1);
}
END_TEST

Suite *register_suite(void);
Suite *register_suite(void)
{
    Suite *suite = suite_create("register");
    TCase *core = tcase_create("core");
    tcase_add_checked_fixture(core, set_up, tear_down);
    tcase_set_timeout(core, 120);
    tcase_add_test(core, gives_back_what_it_took);
    tcase_add_test(core, keeps_each_text_once_by_its_digest);
    tcase_add_test(core, keeps_texts_of_every_length);
    tcase_add_test(core, says_when_and_who);
    tcase_add_test(core, papers_are_added_once_they_stand);
    tcase_add_test(core, finds_the_row_of_a_log_and_of_a_result);
    tcase_add_test(core, a_group_stands_as_one_or_not_at_all);
    tcase_add_loop_test(core, tells_which_cell_changed, 0, COUNT(edits));
    tcase_add_loop_test(core, the_latest_test_stands_in_front, 0, COUNT(fronts));
    tcase_add_loop_test(core, finds_what_is_asked, 0, COUNT(questions));
    tcase_add_test(core, says_how_many_more_there_are_and_what_it_does_not_know);
    tcase_add_test(core, ends_when_the_listener_does);
    suite_add_tcase(suite, core);

    TCase *others = tcase_create("others");
    tcase_add_checked_fixture(others, set_up, tear_down);
    tcase_set_timeout(others, 300); /* eight writers on a busy machine */
    tcase_add_test(others, loses_nothing_between_eight_writers);
    tcase_add_test(others, waits_for_another_writer_and_then_says_so);
    tcase_add_test(others, refuses_a_bay_that_cannot_be_written);
    tcase_add_test(others, reads_what_is_there_and_makes_nothing);
    tcase_add_test(others, knows_network_file_systems);
    tcase_add_test(others, brings_a_register_of_schema_1_up_to_date);
    tcase_add_test(others, does_not_change_an_older_register_by_reading);
    tcase_add_test(others, refuses_a_newer_schema_and_names_both);
    tcase_add_test(others, leaves_what_is_no_register_alone);
    suite_add_tcase(suite, others);

    TCase *trust = tcase_create("trust");
    tcase_add_checked_fixture(trust, set_up, tear_down);
    tcase_add_test(trust, guards_its_rows);
    tcase_add_loop_test(trust, shows_what_was_changed, 0, COUNT(meddlings));
    tcase_add_test(trust, shows_a_row_that_was_written_anew);
    suite_add_tcase(suite, trust);
    return suite;
}
