/* The rows that a result used, against edits of the tables by hand: an edit of what was used shows as the cell that it
 * is, any other leaves the digest as it was. */
#include "run/inputs.h"

#include "base/files.h"
#include "register/changes.h"
#include "run/unit.h"

#include <check.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define COUNT(array) ((int)(sizeof(array) / sizeof *(array)))

static const char *const names[] = {"rig.csv",    "models.csv",  "instruments.csv", "motors.csv",
                                    "grades.csv", "routine.csv", "log.csv"};
enum { RIG, MODELS, INSTRUMENTS, MOTORS, GRADES, ROUTINE, LOG, FILES };

#define MODELS_HEADING                                                                                                 \
    "model,rated frequency [Hz],rated speed [rpm],guaranteed flow [m3/h],guaranteed head [m],grade,motor\n"
#define MODELS_OTHERS "Other,50,2880,20,30,2B,\n"
static const char *const plain[FILES] = {
    [RIG] = "item,value,unit,note\nbay,Bench,,\nflow method,meter,,ours\nwater level,0,m,\ngauge height,1,m,\n"
            "delivery bore,100,mm,\nspeed basis,frequency,,\n",
    [MODELS] = MODELS_HEADING MODELS_OTHERS "KV-6,50,2880,10,40.0,own,m-1\nKV-6,,,12,36,2B,\n",
    [INSTRUMENTS] = "channel,serial,accuracy [%]\nflow,F-1,0.5\nspeed,S-1,0.1\n",
    [MOTORS] = "motor,input power [kW],shaft power [kW]\nM-1,2,1.5\nM-1,4,3.2\nM-2,1,0.7\nM-2,3,2.2\n",
    [GRADES] = "grade,geometry,flow minus [%],head minus [%],source\nown,minimum,4,4,ours\nspare,minimum,9,9,ours\n",
    [ROUTINE] = "serial,tested,insulation [Mohm]\nT-1,2026-01-02,200\nT-2,2026-01-02,100\n",
    [LOG] = "# serial: T-1\n# model: KV-6\n# tested: 2026-01-02\n"
            "point,flow [m3/h],gauge pressure [bar],input power [kW],frequency [Hz]\n"
            "1,0,4.9,1.5,50\n2,5,4.6,1.9,50\n3,9,4.1,2.2,50\n4,12,3.4,2.4,50\n5,15,2.5,2.5,50\n",
};

static struct arena arena;
static char *folder;

static const char *in_folder(const char *name)
{
    char *path = arena_format(&arena, "%s/%s", folder, name);
    ck_assert_ptr_nonnull(path);
    return path;
}

static void write_text(const char *name, const char *text)
{
    struct faults faults = {0};
    ck_assert_int_eq(file_write(in_folder(name), text, strlen(text), &faults), OK);
}

static void set_up(void)
{
    const char *parent = getenv("TMPDIR");
    folder = arena_format(&arena, "%s/inputs-XXXXXX", parent != NULL ? parent : "/tmp");
    ck_assert_ptr_nonnull(folder);
    ck_assert_ptr_nonnull(mkdtemp(folder));
    for (int i = 0; i < FILES; i++) {
        write_text(names[i], plain[i]);
    }
}

static void tear_down(void)
{
    for (int i = 0; i < FILES; i++) {
        ck_assert_int_eq(unlink(in_folder(names[i])), 0);
    }
    ck_assert_int_eq(rmdir(folder), 0);
    arena_release(&arena);
}

static struct inputs used(void)
{
    static struct bay bay;
    static struct result result;
    struct faults faults = {0};
    ck_assert_msg(bay_read(folder, &arena, &bay, &faults) == OK, "%s", faults.text[0]);
    struct unit_request request = {.log_path = in_folder("log.csv")};
    ck_assert_msg(unit_reduce(&bay, &request, &arena, &result, &faults) == OK, "%s", faults.text[0]);
    return result.inputs;
}

static const struct input *input_of(const struct inputs *inputs, const char *name)
{
    for (size_t i = 0; i < inputs->count; i++) {
        if (strcmp(inputs->items[i].name, name) == 0) {
            return &inputs->items[i];
        }
    }
    return NULL;
}

static const char *const expected[FILES] = {
    [RIG] =
        "bay\titem\tbay\nbay\tvalue\tBench\ndelivery bore\titem\tdelivery bore\ndelivery bore\tunit\tmm\ndelivery bore\tvalue\t100\n"
        "flow method\titem\tflow method\nflow method\tvalue\tmeter\n"
        "gauge height\titem\tgauge height\ngauge height\tunit\tm\ngauge height\tvalue\t1\n"
        "speed basis\titem\tspeed basis\nspeed basis\tvalue\tfrequency\n"
        "water level\titem\twater level\nwater level\tunit\tm\nwater level\tvalue\t0\n",
    [MODELS] =
        "KV-6\tgrade\town\nKV-6\tguaranteed flow [m3/h]\t10\nKV-6\tguaranteed head [m]\t40.0\nKV-6\tmodel\tKV-6\nKV-6\tmotor\tm-1\n"
        "KV-6\trated frequency [Hz]\t50\nKV-6\trated speed [rpm]\t2880\nKV-6 (2)\tgrade\t2B\nKV-6 (2)\tguaranteed flow [m3/h]\t12\n"
        "KV-6 (2)\tguaranteed head [m]\t36\nKV-6 (2)\tmodel\tKV-6\n",
    [INSTRUMENTS] = "flow\taccuracy [%]\t0.5\nflow\tchannel\tflow\nflow\tserial\tF-1\n",
    [MOTORS] =
        "M-1, 2\tinput power [kW]\t2\nM-1, 2\tmotor\tM-1\nM-1, 2\tshaft power [kW]\t1.5\nM-1, 4\tinput power [kW]\t4\nM-1, 4\tmotor\tM-1\nM-1, 4\tshaft power [kW]\t3.2\n",
    [GRADES] =
        "own\tflow minus [%]\t4\nown\tgeometry\tminimum\nown\tgrade\town\nown\thead minus [%]\t4\nown\tsource\tours\n",
    [ROUTINE] = "T-1\tinsulation [Mohm]\t200\nT-1\tserial\tT-1\nT-1\ttested\t2026-01-02\n",
};

START_TEST(lists_the_rows_that_were_used)
{
    struct inputs inputs = used();
    for (int i = 0; i < LOG; i++) {
        const struct input *input = input_of(&inputs, names[i]);
        char hex[65];
        ck_assert_msg(input != NULL, "%s is missing", names[i]);
        ck_assert_str_eq(input->rows, expected[i]);
        sha256_hex(expected[i], strlen(expected[i]), hex);
        ck_assert_str_eq(input->sha256, hex);
        ck_assert_uint_eq(input->length, strlen(plain[i]));
        ck_assert_mem_eq(input->text, plain[i], input->length);
    }
    const struct input *builtin = input_of(&inputs, "built-in");
    ck_assert_ptr_nonnull(builtin);
    ck_assert_ptr_null(builtin->text);
    ck_assert_ptr_nonnull(strstr(builtin->rows, "grades\tsha256\t"));
    ck_assert_uint_eq(inputs.count, LOG + 1);
}
END_TEST

static const struct {
    int file;
    const char *text, *changes; /* "": what was used is the same */
} edits[] = {
    {RIG,
     "item;value;unit;note\n\n# a comment\nflow method;meter;;theirs\nspeed basis;frequency;;\nwater level;0;m;\ngauge height;1;m;\n"
     "delivery bore;100;mm;\nbay;Bench;;\n",
     ""},
    {RIG,
     "item,value,unit,note\nbay,Bench,,\nflow method,meter,,ours\nwater level,0,m,\ngauge height,1.5,m,\ndelivery bore,100,mm,\n"
     "speed basis,frequency,,\n",
     "rig.csv, gauge height: value from '1' to '1.5'\n"},
    {MODELS,
     MODELS_HEADING
     "KV-6,50,2880,10,40.0,own,m-1\nKV-6,,,12,36,2B,\nOther,50,2880,20,99,2B,\nThird,50,2880,20,99,2B,\n",
     ""},
    {MODELS, MODELS_HEADING MODELS_OTHERS "KV-6,50,2880,10,39.0,own,m-1\nKV-6,,,12,36,2B,\n",
     "models.csv, KV-6: guaranteed head [m] from '40.0' to '39.0'\n"},
    {MODELS, MODELS_HEADING MODELS_OTHERS "KV-6,50,2880,10,40.0,own,m-1\nKV-6,,,12,35,2B,\n",
     "models.csv, KV-6 (2): guaranteed head [m] from '36' to '35'\n"},
    {MODELS,
     "model,rated frequency [Hz],rated speed [rpm],guaranteed flow [m3/h],guaranteed head [m],grade,motor,label\n"
     "KV-6,50,2880,10,40.0,own,m-1,\nKV-6,,,12,36,2B,,\n",
     ""},                                                                            /* a column that is blank */
    {INSTRUMENTS, "serial,channel,accuracy [%]\nF-1,flow,0.5\nS-2,speed,0.7\n", ""}, /* no speed is logged */
    {INSTRUMENTS, "channel,serial,accuracy [%]\nflow,F-2,0.5\nspeed,S-1,0.1\n",
     "instruments.csv, flow: serial from 'F-1' to 'F-2'\n"},
    {MOTORS, "motor,input power [kW],shaft power [kW]\nM-2,1,0.6\nM-2,3,2.2\nM-1,4,3.2\nM-1,2,1.5\n", ""},
    {MOTORS, "motor,input power [kW],shaft power [kW]\nM-1,2,1.5\nM-1,4,3.3\n",
     "motors.csv, M-1, 4: shaft power [kW] from '3.2' to '3.3'\n"},
    {GRADES, "grade,geometry,flow minus [%],head minus [%],source\nspare,minimum,8,9,ours\nown,minimum,4,4,ours\n", ""},
    {GRADES, "grade,geometry,flow minus [%],head minus [%],source\nown,minimum,4,9,ours\n",
     "grades.csv, own: head minus [%] from '4' to '9'\n"},
    {ROUTINE, "serial,tested,insulation [Mohm]\nT-1,2026-01-02,200\nT-2,2026-01-02,1\nT-3,2026-01-02,1\n", ""},
    {ROUTINE, "serial,tested,insulation [Mohm]\nT-1,2026-01-02,20\n",
     "routine.csv, T-1: insulation [Mohm] from '200' to '20'\n"},
};

START_TEST(an_edit_shows_where_it_was_used)
{
    const char *name = names[edits[_i].file];
    struct inputs before = used();
    const char *rows = input_of(&before, name)->rows;
    write_text(name, edits[_i].text);
    struct inputs after = used();
    const struct input *input = input_of(&after, name);
    ck_assert_str_eq(changes_between(rows, input->rows, name, &arena), edits[_i].changes);
    ck_assert_int_eq(strcmp(rows, input->rows) == 0, edits[_i].changes[0] == '\0');
    for (size_t i = 0; i < after.count; i++) {
        if (strcmp(after.items[i].name, name) != 0) {
            ck_assert_str_eq(after.items[i].sha256, before.items[i].sha256);
        }
    }
}
END_TEST

Suite *inputs_suite(void);
Suite *inputs_suite(void)
{
    Suite *suite = suite_create("inputs");
    TCase *core = tcase_create("core");
    tcase_add_checked_fixture(core, set_up, tear_down);
    tcase_add_test(core, lists_the_rows_that_were_used);
    tcase_add_loop_test(core, an_edit_shows_where_it_was_used, 0, COUNT(edits));
    suite_add_tcase(suite, core);
    return suite;
}
