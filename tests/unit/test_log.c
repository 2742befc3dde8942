#include "base/files.h"
#include "base/text.h"
#include "log/log.h"
#include "near.h"

#include <check.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>
#include <zlib.h>

/* What came of reading one log. */
struct read_log {
    struct arena arena;
    struct log log;
    struct notes notes;
    struct faults faults;
    size_t count;
    struct reading *rows;
    enum status status;
};

static enum status keep_row(void *context, const struct reading *reading)
{
    struct read_log *r = context;
    struct reading *copy = arena_push(&r->arena, &r->rows, &r->count, sizeof *copy);
    if (copy == NULL) {
        return E_MEMORY;
    }
    *copy = *reading;
    return OK;
}

/* A new file's path. */
static const char *temporary_path(const char *ending)
{
    static char path[300];
    const char *parent = getenv("TMPDIR");
    char made[256];
    (void)snprintf(made, sizeof made, "%s/log-XXXXXX", parent != NULL ? parent : "/tmp");
    int fd = mkstemp(made);
    ck_assert_int_ge(fd, 0);
    ck_assert_int_eq(close(fd), 0);
    (void)snprintf(path, sizeof path, "%s%s", made, ending);
    ck_assert_int_eq(rename(made, path), 0);
    return path;
}

static void read_path(struct read_log *r, const char *path, const struct bay *bay)
{
    *r = (struct read_log){0};
    r->status = log_read(path, bay, (struct log_sink){r, keep_row}, &r->arena, &r->log, &r->notes, &r->faults);
}

static void read_bytes(struct read_log *r, const char *bytes, size_t length, const struct bay *bay)
{
    const char *path = temporary_path(".csv");
    FILE *file = fopen(path, "wb");
    ck_assert_ptr_nonnull(file);
    ck_assert_uint_eq(fwrite(bytes, 1, length, file), length);
    ck_assert_int_eq(fclose(file), 0);
    read_path(r, path, bay);
    unlink(path);
}

static void read_text(struct read_log *r, const char *text, const struct bay *bay)
{
    read_bytes(r, text, strlen(text), bay);
}

/* --- forms of a file --- */

/* Every form says the same two rows: 3.6 m3/h and 250 kPa, 7.2 m3/h and 200 kPa. */
static const char *const forms[] = {
    "flow [m3/h],gauge pressure [kPa]\n3.6,250\n7.2,200\n",
    "flow [m3/h],gauge pressure [kPa]\r\n3.6,250\r\n7.2,200\r\n",
    "\357\273\277flow [m3/h],gauge pressure [kPa]\n3.6,250\n7.2,200\n",
    "flow (m3/h);gauge pressure (kPa)\n3,6;250\n7,2;200\n",
    "flow (m3/h)\tgauge pressure (kPa)\n3,6\t250\n7.2\t200\n",
    "Gauge-Pressure [bar],FLOW [L/s]\n2.5,1\n2.0,2\n",
    "gauge_pressure [kPa],remark,flow [m3/h]\n250,first,3.6\n200,\"second, and last\",7.2\n",
    "\"flow [m3/h]\",\"gauge pressure [kPa]\"\n\"3.6\",\"250\"\n\"7.2\",200\n",
    "# serial: A1\n\nflow [m3/h],gauge pressure [kPa]\n3.6,250\n# a remark\n,\n7.2,200\n\n",
    "flow [m3/h],gauge pressure [kPa]\n 3.6 , 250\t\n+7.20e0,2e2\n",
    "flow [m3/h],gauge pressure [kPa]\n\t3.6,\t \t250\n\t# a remark\n7.2,200\n",
    "flow [m3/h],gauge pressure [kPa],\n3.6,250,\n7.2,200,,\n",
    "flow [m3/h],gauge pressure [kPa]\n3.6,250\n7.2,200",
    "flow [m3/h],gauge pressure [kPa]\r3.6,250\r7.2,200\r",
};

START_TEST(test_form)
{
    struct read_log r;
    read_text(&r, forms[_i], NULL);
    ck_assert_msg(r.status == OK, "%s", r.faults.text[0]);
    ck_assert_uint_eq(r.count, 2);
    ck_assert_uint_eq(r.log.rows, 2);
    near_rel(r.rows[0].value[CH_FLOW], 0.001, 1e-15); /* one rounding of the factor, one of the product */
    near_rel(r.rows[1].value[CH_FLOW], 0.002, 1e-15);
    near_rel(r.rows[0].value[CH_GAUGE_PRESSURE], 250e3, 1e-15);
    near_rel(r.rows[1].value[CH_GAUGE_PRESSURE], 200e3, 1e-15);
    arena_release(&r.arena);
}
END_TEST

START_TEST(test_identity)
{
    struct read_log r;
    read_text(&r,
              "# serial: DN-7\n# Model: QB 100\nflow [L/s]\n1\n#tested: 2024-05-31\n# tester:  A. Rao \n2\n# serial:\n",
              NULL);
    ck_assert_int_eq(r.status, OK);
    ck_assert_str_eq(r.log.serial, "DN-7"); /* a blank statement takes nothing back */
    ck_assert_str_eq(r.log.model, "QB 100");
    ck_assert_str_eq(r.log.tester, "A. Rao");
    ck_assert(r.log.tested.known && r.log.tested.year == 2024 && r.log.tested.month == 5 && r.log.tested.day == 31);
    ck_assert_str_eq(r.log.headings[CH_FLOW], "flow [L/s]");
    ck_assert_uint_eq(r.rows[1].line, 7);
    arena_release(&r.arena);
}
END_TEST

START_TEST(test_blank_cells_are_absent)
{
    struct read_log r;
    read_text(&r, "flow [L/s],speed [rpm],frequency [Hz]\n1,,50\n,2900,\n", NULL);
    ck_assert_int_eq(r.status, OK);
    ck_assert(reading_has(&r.rows[0], CH_FLOW) && !reading_has(&r.rows[0], CH_SPEED) &&
              reading_has(&r.rows[0], CH_FREQUENCY));
    ck_assert(!reading_has(&r.rows[1], CH_FLOW) && reading_has(&r.rows[1], CH_SPEED) &&
              !reading_has(&r.rows[1], CH_FREQUENCY));
    arena_release(&r.arena);
}
END_TEST

START_TEST(test_time)
{
    struct read_log r;
    read_text(&r, "time,flow [L/s]\n2024-05-31T10:20:30.5,1\n2024-05-31 10:20:32,2\n", NULL);
    ck_assert_int_eq(r.status, OK);
    near_abs(r.rows[0].value[CH_TIME], 0.0, 0.0);
    near_abs(r.rows[1].value[CH_TIME], 1.5, 1e-6); /* stamps of 2e9 s hold 2e-7 s */
    near_abs(r.log.last_time_s - r.log.first_time_s, 1.5, 1e-6);
    arena_release(&r.arena);
    read_text(&r, "time [min],flow [L/s]\n1,1\n1.5,2\n", NULL);
    near_abs(r.rows[1].value[CH_TIME], 30.0, 1e-12);
    near_abs(r.log.first_time_s, 60.0, 1e-12);
    arena_release(&r.arena);
}
END_TEST

/* --- a bay: mapping, corrections, ranges --- */

START_TEST(test_corrections)
{
    /* corrected = ratio x gain x (reading - zero): worked by hand below */
    struct instrument instruments[] = {
        {.channel = CH_GAUGE_PRESSURE,
         .gain = 1.02,
         .zero_si = 3e3,
         .range_low_si = {0, true},
         .range_high_si = {1e6, true}},
        {.channel = CH_CURRENT_R, .gain = 0.99, .zero_si = 0.1},
    };
    struct bay bay = {.rig = {.current_ratio = 20, .voltage_ratio = 2, .log_header_row = 3},
                      .instruments = instruments,
                      .instrument_count = 2};
    bay.rig.columns[CH_GAUGE_PRESSURE] = (struct rig_column){"PT-01", "bar"};
    bay.rig.columns[CH_FLOW] = (struct rig_column){"FT 02", ""};
    struct read_log r;
    read_text(&r,
              "LOGGER UNIT 7,,\nstarted,10:00,\nPT 01,ft-02 [L/min],current r [A],voltage [V],input power [W],"
              "flow [L/s],nois\n2.5,120,4.1,207,50,77,1\n-0.5,60,0,0,0,0,0\n10.5,60,0,0,0,0,0\n",
              &bay);
    ck_assert_msg(r.status == OK, "%s", r.faults.text[0]);
    near_rel(r.rows[0].value[CH_GAUGE_PRESSURE], 1.02 * (250e3 - 3e3), 1e-14);
    near_rel(r.rows[0].value[CH_FLOW], 0.002, 1e-14);
    near_rel(r.rows[0].value[CH_CURRENT_R], 20 * 0.99 * (4.1 - 0.1), 1e-14);
    near_rel(r.rows[0].value[CH_VOLTAGE], 414.0, 1e-14);
    near_rel(r.rows[0].value[CH_INPUT_POWER], 2000.0, 1e-14);
    ck_assert_uint_eq(r.log.below_range[CH_GAUGE_PRESSURE], 1);
    ck_assert_uint_eq(r.log.above_range[CH_GAUGE_PRESSURE], 1);
    ck_assert_uint_eq(r.notes.count, 1);
    ck_assert_str_eq(r.notes.items[0].text, "columns of the log that are not used: 'flow [L/s]', 'nois'");
    arena_release(&r.arena);
}
END_TEST

/* The rig's heading may be a column's whole heading or its name without the unit: two columns can answer to it. */
START_TEST(test_one_column_a_channel)
{
    struct bay bay = {.rig = {.current_ratio = 1, .voltage_ratio = 1}};
    bay.rig.columns[CH_FLOW] = (struct rig_column){"FT (1)", "L/s"};
    struct read_log r;
    read_text(&r, "FT (1),FT (1) [m3/h]\n1,2\n", &bay);
    ck_assert_int_eq(r.status, E_INPUT);
    ck_assert_uint_eq(r.faults.count, 1);
    ck_assert_str_eq(r.faults.text[0] + strlen(r.log.file),
                     ":1:2: column 'FT (1) [m3/h]' is 'flow' again, expected one column for it");
    arena_release(&r.arena);
}
END_TEST

/* --- defects --- */

static const struct defect_case {
    const char *rows;
    enum log_defect defect;
    size_t count, kept;
    double last_s;
} defect_cases[] = {
    {"0,1\n1,1\n2,1\n3,1\n4,1\n5,1\n6,1\n7,1\n8,1\n9,1\n13,1\n", DEFECT_DROPPED_SAMPLE, 3, 11, 13},
    {"0,1\n1,1\n1,9\n2,1\n", DEFECT_REPEATED_TIME, 1, 3, 2},
    {"0,1\n1,1\n2,1\n1,9\n1.5,9\n3,1\n", DEFECT_CLOCK_BACK, 2, 4, 3}, /* a correction: wait until it has caught up */
    {"100,1\n101,1\n102,1\n2,1\n3,1\n", DEFECT_CLOCK_BACK, 1, 5, 4},  /* set anew: one usual step on */
    {"50,1\n51,1\ntime [s],flow [L/s]\n0,1\n1,1\n", DEFECT_REPEATED_HEADER, 1, 4, 3},
    {"50,1\n51,1\ntime [s],flow [L/s]\n,1\n0,1\n1,1\n", DEFECT_REPEATED_HEADER, 1, 5, 3}, /* its first row untimed */
    {"0,1\n1,1\n2,1\n3,1\n4,1\n5,1\n6,1\n7,1\n8,1\n9,1\ntime [s],flow [L/s]\n15,1\n16,1\n", DEFECT_REPEATED_HEADER, 1,
     12, 16}, /* no sample is missing while the logger was off */
    {"0,1\n1,1\n2,1\n3", DEFECT_CUT_LAST_LINE, 1, 3, 2},
    {"0,1\n1,1\n2,1\n3,-", DEFECT_CUT_LAST_LINE, 1, 3, 2},
    {"0,1\n1,1\n2,1\n3,\"1", DEFECT_CUT_LAST_LINE, 1, 3, 2},
};

START_TEST(test_defect)
{
    const struct defect_case *c = &defect_cases[_i];
    char text[512];
    (void)snprintf(text, sizeof text, "time [s],flow [L/s]\n%s", c->rows);
    struct read_log r;
    read_text(&r, text, NULL);
    ck_assert_msg(r.status == OK, "%s", r.faults.text[0]);
    for (int defect = 0; defect < DEFECT_COUNT; defect++) {
        ck_assert_uint_eq(r.log.defects[defect], defect == (int)c->defect ? c->count : 0);
    }
    ck_assert_uint_eq(r.count, c->kept);
    near_abs(r.rows[r.count - 1].value[CH_TIME], c->last_s, 1e-9);
    for (size_t i = 0; i < r.count; i++) {
        near_rel(r.rows[i].value[CH_FLOW], 0.001, 1e-15); /* the rows that are left out read 9 */
    }
    arena_release(&r.arena);
}
END_TEST

/* The header's line holds a lone CR and a comment, which is not of the header and may hold any quote. */
START_TEST(test_header_again_with_a_quote)
{
    struct read_log r;
    read_text(&r, "flow [L/s]\r# 6\" pipe\n1\nflow [L/s]\r# 6\" pipe\n2\n", NULL);
    ck_assert_msg(r.status == OK, "%s", r.faults.text[0]);
    ck_assert_uint_eq(r.log.defects[DEFECT_REPEATED_HEADER], 1);
    ck_assert_uint_eq(r.count, 2);
    near_rel(r.rows[1].value[CH_FLOW], 0.002, 1e-15);
    arena_release(&r.arena);
}
END_TEST

/* A stamp without seconds is shared by several rows. */
static const char *const rough_stamps[][2] = {{"2024-05-31T10:20", "2024-05-31T10:21"}, {"2024-05-31", "2024-06-01"}};

START_TEST(test_rough_stamps_may_repeat)
{
    const char *const *stamps = rough_stamps[_i];
    char text[128];
    (void)snprintf(text, sizeof text, "time,flow [L/s]\n%s,1\n%s,2\n%s,3\n", stamps[0], stamps[0], stamps[1]);
    struct read_log r;
    read_text(&r, text, NULL);
    ck_assert_msg(r.status == OK, "%s", r.faults.text[0]);
    ck_assert_uint_eq(r.count, 3);
    ck_assert_uint_eq(r.log.defects[DEFECT_REPEATED_TIME], 0);
    arena_release(&r.arena);
}
END_TEST

/* --- stamps coarser than the samples --- */

/* Writes at at, in a buffer that ends at end. Returns: where the text ends. */
PRINTF_LIKE(3, 4) static char *append(char *at, const char *end, const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    int length = vsnprintf(at, (size_t)(end - at), format, arguments);
    va_end(arguments);
    ck_assert(length >= 0 && length < end - at);
    return at + length;
}

/* A log of samples at rate_hz, the first at begin_s, stamped with the whole step that each falls in; those from gap to
 * gap + lost are missing. Flow holds the true time, as m3/s. */
static char *coarse_log(double rate_hz, double begin_s, double step_s, size_t samples, size_t gap, size_t lost)
{
    size_t room = samples * 40 + 64;
    char *text = malloc(room), *at = text, *end = text + room;
    ck_assert_ptr_nonnull(text);
    at = append(at, end, "time [s],flow [m3/s]\n");
    for (size_t i = 0; i < samples; i++) {
        double time_s = begin_s + (double)i / rate_hz;
        if (i < gap || i >= gap + lost) {
            at = append(at, end, "%g,%.6f\n", step_s * floor(time_s / step_s + 1e-9), time_s * 1e-3);
        }
    }
    return text;
}

static const struct coarse_case {
    double rate_hz, begin_s, step_s;
    size_t samples, gap, lost;
    double error_s; /* the largest: where in its step a sample lies is not known better */
} coarse_cases[] = {
    {10, 0, 1, 300, 0, 0, 1e-9},         {10, 0.6, 1, 300, 0, 0, 1e-9}, /* started within a second */
    {50, 0.3, 1, 1000, 0, 0, 1e-9},                                     /* ends within a second too */
    {2, 0, 1, 60, 0, 0, 1e-9},                                          /* two samples a stamp */
    {4, 0, 60, 2000, 0, 0, 1e-9},                                       /* stamps to the minute; 240 samples each */
    {10, 0, 1, 300, 124, 3, 0.3 + 1e-9}, /* three lost within a second: nobody knows which */
    {10, 0, 1, 300, 120, 20, 1e-9},      /* two whole seconds lost */
    {9.7, 0, 1, 300, 0, 0, 0.15},        /* 9 or 10 samples a stamp: within one and a half of a sample's spacing */
};

START_TEST(test_coarse_stamps_are_spread)
{
    const struct coarse_case *c = &coarse_cases[_i];
    char *text = coarse_log(c->rate_hz, c->begin_s, c->step_s, c->samples, c->gap, c->lost);
    struct read_log r;
    read_text(&r, text, NULL);
    ck_assert_int_eq(r.status, OK);
    ck_assert_uint_eq(r.count, c->samples - c->lost);
    for (size_t i = 0; i < r.count; i++) {
        double true_s = r.rows[i].value[CH_FLOW] * 1e3 - c->begin_s;
        ck_assert(i == 0 || r.rows[i].value[CH_TIME] > r.rows[i - 1].value[CH_TIME]);
        near_abs(r.rows[i].value[CH_TIME], true_s, c->error_s + 1e-3); /* flow is written to 1e-6 */
    }
    for (int defect = 0; defect < DEFECT_COUNT; defect++) {
        ck_assert_uint_eq(r.log.defects[defect], defect == DEFECT_DROPPED_SAMPLE ? c->lost : 0);
    }
    ck_assert_uint_eq(r.notes.count, 1);
    ck_assert_int_eq(r.notes.items[0].kind, NOTE_INPUT);
    ck_assert_ptr_nonnull(strstr(r.notes.items[0].text, "spread evenly"));
    arena_release(&r.arena);
    free(text);
}
END_TEST

/* Stamps that repeat without being coarser than the samples throughout are left as they are. */
static const struct uneven_case {
    const char *rows;
    size_t repeated, kept;
} uneven_cases[] = {
    {"0,1\n1,1\n2,1\n2,9\n4,1\n5,1\n6,1\n7,1\n7,9\n9,1\n10,1\n11,1\n", 2, 10},  /* a jittering clock of 1 Hz */
    {"0,1\n0,9\n0,9\n1,1\n2,1\n3,1\n4,1\n5,1\n6,1\n7,1\n8,1\n9,1\n", 2, 10},    /* repeats once */
    {"0,1\n0,9\n300,1\n300,9\n600,1\n600,9\n900,1\n900,9\n1200,1\n", 4, 5},     /* a reading sheet */
    {"0,1\n0,9\n0,9\n7,1\n7,9\n7,9\n9,1\n9,9\n14,1\n14,9\n20,1\n20,9\n", 7, 5}, /* uneven steps */
};

START_TEST(test_odd_repetitions_stay)
{
    char text[512];
    (void)snprintf(text, sizeof text, "time [s],flow [L/s]\n%s", uneven_cases[_i].rows);
    struct read_log r;
    read_text(&r, text, NULL);
    ck_assert_int_eq(r.status, OK);
    ck_assert_uint_eq(r.log.defects[DEFECT_REPEATED_TIME], uneven_cases[_i].repeated);
    ck_assert_uint_eq(r.count, uneven_cases[_i].kept);
    ck_assert_uint_eq(r.notes.count, 0);
    for (size_t i = 0; i < r.count; i++) {
        near_rel(r.rows[i].value[CH_FLOW], 0.001, 1e-15);
    }
    arena_release(&r.arena);
}
END_TEST

/* A frozen clock, longer than what is held: no row is handed out twice, and all are counted. */
START_TEST(test_a_frozen_clock)
{
    enum { ROWS = 3000 };
    size_t room = ROWS * 8 + 32;
    char *text = malloc(room), *at = text, *end = text + room;
    at = append(at, end, "time [s],flow [L/s]\n");
    for (int i = 0; i < ROWS; i++) {
        at = append(at, end, "5,1\n");
    }
    struct read_log r;
    read_text(&r, text, NULL);
    ck_assert_uint_eq(r.log.rows, ROWS);
    ck_assert_uint_eq(r.count + r.log.defects[DEFECT_REPEATED_TIME], ROWS);
    ck_assert_uint_eq(r.count, 1);
    arena_release(&r.arena);
    free(text);
}
END_TEST

/* The same with coarse stamps: rows beyond what is held share the second that was spread already. */
START_TEST(test_coarse_stamps_freeze)
{
    enum { MOVING = 100, ROWS = 3000 };
    size_t room = ROWS * 8 + 32;
    char *text = malloc(room), *at = text, *end = text + room;
    ck_assert_ptr_nonnull(text);
    at = append(at, end, "time [s],flow [L/s]\n");
    for (int i = 0; i < ROWS; i++) {
        at = append(at, end, "%d,1\n", i < MOVING ? i / 10 : MOVING / 10);
    }
    struct read_log r;
    read_text(&r, text, NULL);
    ck_assert_int_eq(r.status, OK);
    ck_assert_uint_eq(r.log.rows, ROWS);
    ck_assert_uint_eq(r.count + r.log.defects[DEFECT_REPEATED_TIME] + r.log.defects[DEFECT_CLOCK_BACK], ROWS);
    ck_assert_uint_gt(r.count, MOVING);
    ck_assert_uint_gt(r.log.defects[DEFECT_CLOCK_BACK], 0); /* not all of them are held */
    for (size_t i = 1; i < r.count; i++) {
        ck_assert(r.rows[i].value[CH_TIME] > r.rows[i - 1].value[CH_TIME]);
    }
    near_abs(r.rows[MOVING - 1].value[CH_TIME], 9.9, 1e-9);
    ck_assert(r.rows[r.count - 1].value[CH_TIME] < 11.0); /* the clock stood at 10 s: within that second */
    arena_release(&r.arena);
    free(text);
}
END_TEST

/* Rows without a time among coarse stamps stay where they stand, and take no share of the second. */
START_TEST(test_untimed_rows_among_coarse_stamps)
{
    enum { TIMED = 200, EVERY = 7 };
    size_t room = 2 * TIMED * 16 + 32;
    char *text = malloc(room), *at = text, *end = text + room;
    ck_assert_ptr_nonnull(text);
    at = append(at, end, "time [s],flow [L/s]\n");
    size_t rows = 0;
    for (int i = 0; i < TIMED; i++, rows++) {
        at = append(at, end, "%d,%d\n", i / 10, i);
        if (i % EVERY == 0) {
            at = append(at, end, ",%d\n", i);
            rows++;
        }
    }
    struct read_log r;
    read_text(&r, text, NULL);
    ck_assert_int_eq(r.status, OK);
    ck_assert_uint_eq(r.count, rows);
    size_t row = 0;
    for (int i = 0; i < TIMED; i++) {
        near_abs(r.rows[row].value[CH_FLOW], i * 1e-3, 1e-12);
        ck_assert(reading_has(&r.rows[row], CH_TIME));
        near_abs(r.rows[row++].value[CH_TIME], i * 0.1, 1e-9);
        if (i % EVERY == 0) {
            near_abs(r.rows[row].value[CH_FLOW], i * 1e-3, 1e-12);
            ck_assert(!reading_has(&r.rows[row++], CH_TIME));
        }
    }
    arena_release(&r.arena);
    free(text);
}
END_TEST

/* --- a restart with the preamble --- */

static const struct restart_case {
    const char *text;
    size_t headers, kept;
    const char *fault; /* after the file name; NULL: none */
} restart_cases[] = {
    {"UNIT 7,,\nstarted,10:00,\ntime [s],flow [L/s]\n0,1\n1,1\nUNIT 7,,\nstarted,10:20,\ntime [s],"
     "flow [L/s]\n0,1\n1,1\n",
     1, 4, NULL},
    {"Started: 10:00\n\ntime [s],flow [L/s]\n0,1\n1,1\nStarted: 11:30\n\n\n# remark\ntime [s],flow [L/s]\n0,1\n", 1, 3,
     NULL},
    {"\n7 samples,x\ntime [s],flow [L/s]\n0,1\n1,1\n\n7 samples,x\ntime [s],flow [L/s]\n0,1\n", 1, 3, NULL},
    {"UNIT 7,,\nstarted,10:00,\ntime [s],flow [L/s]\n0,1\nUNIT 7,,\nstarted,10:20,\n", 0, 1, NULL}, /* cut there */
    {"UNIT 7,,\nstarted,10:00,\ntime [s],flow [L/s]\n0,1\nUNIT 7,,\nstarted,10:20,\n5,1\n", 0, 1,
     ":7:1: '5,1' after the lines that the logger writes above its header row, expected the row of line 3 again"},
    {"UNIT 7,,\nstarted,10:00,\ntime [s],flow [L/s]\n0,1\nUNIT 70,,\n", 0, 1, ":5:1: time is 'UNIT 70'"},
    {"UNIT 7,,\nstarted,10:00,\ntime [s],flow [L/s]\n0,1\nUNIX 7,,\n", 0, 1, ":5:1: time is 'UNIX 7'"},
    {"zero=10:00\n\ntime [s],flow [L/s]\n0,1\n1,1\nzero=11:30\n\ntime [s],flow [L/s]\n0,1\n", 1, 3, NULL},
    /* no letter at the start: the whole line must be the same */
    {"[run]: 7\n\ntime [s],flow [L/s]\n0,1\n1,1\n[run]: 7\n\ntime [s],flow [L/s]\n0,1\n", 1, 3, NULL},
    {"[run]: 7\n\ntime [s],flow [L/s]\n0,1\n1,1\n[run]: 8\n", 0, 2, ":6:1: time is '[run]: 8'"},
    {"{run}: 7\n\ntime [s],flow [L/s]\n0,1\n1,1\n{run}: 8\n", 0, 2, ":6:1: time is '{run}: 8'"},
};

START_TEST(test_restart_with_preamble)
{
    const struct restart_case *c = &restart_cases[_i];
    struct bay bay = {.rig = {.current_ratio = 1, .voltage_ratio = 1, .log_header_row = 3}};
    struct read_log r;
    read_text(&r, c->text, &bay);
    ck_assert_uint_eq(r.log.defects[DEFECT_REPEATED_HEADER], c->headers);
    ck_assert_uint_eq(r.count, c->kept);
    ck_assert_int_eq(r.status, c->fault == NULL ? OK : E_INPUT);
    ck_assert_uint_eq(r.log.defects[DEFECT_CLOCK_BACK], 0);
    if (c->fault != NULL) {
        const char *message = r.faults.text[0] + strlen(r.log.file);
        ck_assert_msg(strncmp(message, c->fault, strlen(c->fault)) == 0, "got '%s'", message);
    }
    for (size_t i = 1; i < r.count; i++) {
        near_abs(r.rows[i].value[CH_TIME], (double)i, 1e-9); /* the record goes on */
    }
    arena_release(&r.arena);
}
END_TEST

/* --- faults --- */

static const struct fault_case {
    const char *text, *message; /* after the file name */
} fault_cases[] = {
    {"flow [L/s]\n1\n2,5\n", ":3:2: a row of more than 1 cells, expected at most as many as in the header row"},
    {"flow [L/s],speed [rpm]\n1,12x\n",
     ":2:2: speed is '12x', expected a number such as 12.5, without unit or thousands separator"},
    {"flow [L/s];speed [rpm]\n1;0x10\n",
     ":2:2: speed is '0x10', expected a number such as 12.5, without unit or thousands separator"},
    {"flow [L/s],speed [rpm]\nnan,1\n",
     ":2:1: flow is 'nan', expected a number such as 12.5, without unit or thousands separator"},
    {"speed [rpm],flow [L/s]\n1,\"2,5\"\n",
     ":2:2: flow is '2,5', expected a decimal point (a decimal comma needs semicolons or tabs between the cells)"},
    {"flow [L/s],water temperature [C]\n1,250\n",
     ":2:2: water temperature is '250', expected a reading between -1 and 100 in its unit"},
    {"point,flow [L/s]\n1.5,1\n", ":2:1: point is '1.5', expected a whole number"},
    {"point,flow [L/s]\n-1,1\n", ":2:1: point is '-1', expected a reading between 0 and 1e+06 in its unit"},
    {"time,flow [L/s]\nten,1\n", ":2:1: time is 'ten', expected seconds or a stamp such as 2024-05-31T10:20:30.5"},
    {"flow,speed [rpm]\n1,1\n", ":1:1: column 'flow' has no unit, expected 'flow [unit]' with"},
    {"speed [rpm],flow [kPa]\n1,1\n", ":1:2: column 'flow' has the unit 'kPa', expected a unit of flow:"},
    {"flow [L/s],Flow [m3/h]\n1,1\n", ":1:2: column 'flow' is there twice"},
    {"flow [L/s]\n\"\n1\n", ":2:1: a quote that does not belong there"},
    {"flow [L/s]\n1\"2\n", ":2:1: a quote that does not belong there"},
    {"a,b\n1,2\n", ":1: no column is a channel of a log"},
    {"flow [L/s]\n", ": no row below the header row, expected readings"},
    {"", ": no header row, expected a row that names the columns"},
    {"# tested: yesterday\nflow [L/s]\n1\n", ":1: tested is 'yesterday', expected a date such as 2024-05-31"},
};

START_TEST(test_fault)
{
    struct read_log r;
    read_text(&r, fault_cases[_i].text, NULL);
    ck_assert_int_eq(r.status, E_INPUT);
    ck_assert_uint_ge(r.faults.count, 1);
    const char *message = r.faults.text[0] + strlen(r.log.file);
    ck_assert_msg(strncmp(message, fault_cases[_i].message, strlen(fault_cases[_i].message)) == 0, "got '%s'", message);
    arena_release(&r.arena);
}
END_TEST

START_TEST(test_all_faults_are_counted)
{
    char text[4096] = "flow [L/s]\n";
    for (int i = 0; i < 50; i++) {
        memcpy(text + 11 + 4 * i, "bad\n", 5);
    }
    struct read_log r;
    read_text(&r, text, NULL);
    ck_assert_int_eq(r.status, E_INPUT);
    ck_assert_uint_eq(r.faults.count, 50);
    ck_assert_uint_eq(r.count, 0);
    arena_release(&r.arena);
}
END_TEST

START_TEST(test_files_that_cannot_be_read)
{
    struct read_log r;
    read_path(&r, "no-such-log.csv", NULL);
    ck_assert_int_eq(r.status, E_FILE);
    ck_assert_str_eq(r.faults.text[0], "no-such-log.csv: cannot be read: No such file or directory");
    arena_release(&r.arena);
    read_path(&r, ".", NULL);
    ck_assert_int_eq(r.status, E_FILE);
    arena_release(&r.arena);
    const char *folder = temporary_path(".gz");
    ck_assert_int_eq(unlink(folder), 0);
    ck_assert_int_eq(mkdir(folder, 0700), 0);
    read_path(&r, folder, NULL);
    ck_assert_int_eq(rmdir(folder), 0);
    ck_assert_int_eq(r.status, E_FILE);
    ck_assert_ptr_nonnull(strstr(r.faults.text[0], "cannot be read: Is a directory"));
    arena_release(&r.arena);
}
END_TEST

/* --- large files: buffer ends fall anywhere --- */

static uint64_t random_bits(uint64_t *state)
{
    *state = *state * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return *state >> 33;
}

/* Numbers of every form; each value is known by number_parse alone, which test_text.c holds against strtod. */
static void append_number(char *to, size_t size, uint64_t *state)
{
    static const char *const shapes[] = {"%d.%03d", "-%d.%d",   "%d",
                                         "+%d.%d",  "%d.%de-1", "0.%05d%07d123456789",
                                         "%d%015d", " %d.%d ",  "%d.%03d987654321098"};
    (void)snprintf(to, size, shapes[random_bits(state) % 9], (int)(random_bits(state) % 90),
                   (int)(random_bits(state) % 999));
}

enum { BIG_ROWS = 30000 };

/* A log of some 900 KB; with quotes round cells where quoted says so. */
static char *big_log(bool quoted, size_t *length, double *expected)
{
    size_t room = BIG_ROWS * 64;
    char *text = malloc(room), *at = text, *end = text + room, cell[40];
    uint64_t state = 7, quotes = 99;
    ck_assert_ptr_nonnull(text);
    at = append(at, end, "water level [m],note,flow [m3/s]\n");
    for (size_t i = 0; i < BIG_ROWS; i++) {
        append_number(cell, sizeof cell, &state);
        ck_assert(number_parse(cell, strlen(cell), '.', &expected[i]));
        if (fabs(expected[i]) > 1e4) {
            (void)snprintf(cell, sizeof cell, "%d", (int)i % 1000);
            expected[i] = (double)(i % 1000);
        }
        const char *quote = quoted && random_bits(&quotes) % 3 == 0 ? "\"" : "";
        at = append(at, end, "%s%s%s,%s,0.5\n", quote, cell, quote, *quote != '\0' ? "\"a, \"\"b\"\"\"" : "ab");
    }
    *length = (size_t)(at - text);
    return text;
}

static void check_big(const struct read_log *r, const double *expected)
{
    ck_assert_msg(r->status == OK, "%s", r->faults.text[0]);
    ck_assert_uint_eq(r->count, BIG_ROWS);
    for (size_t i = 0; i < BIG_ROWS; i++) {
        ck_assert_msg(r->rows[i].value[CH_WATER_LEVEL] == expected[i], "line %zu: %.17g, want %.17g", i + 2,
                      r->rows[i].value[CH_WATER_LEVEL], expected[i]);
        ck_assert_uint_eq(r->rows[i].line, i + 2);
    }
}

/* The splitter of lines without quotes and libcsv must read the same, bit for bit. */
START_TEST(test_both_splitters_read_the_same)
{
    double *expected = malloc(BIG_ROWS * sizeof *expected);
    size_t length;
    struct read_log r;
    for (int quoted = 0; quoted < 2; quoted++) {
        char *text = big_log(quoted == 1, &length, expected);
        read_bytes(&r, text, length, NULL);
        check_big(&r, expected);
        char digest[65];
        sha256_hex(text, length, digest);
        ck_assert_str_eq(r.log.sha256, digest);
        arena_release(&r.arena);
        free(text);
    }
    free(expected);
}
END_TEST

START_TEST(test_gzip)
{
    double *expected = malloc(BIG_ROWS * sizeof *expected);
    size_t length, packed_length;
    char *text = big_log(true, &length, expected), *packed;
    const char *path = temporary_path(".csv.gz");
    for (int member = 0; member < 2; member++) { /* two members, cut in the middle of the text */
        gzFile file = gzopen(path, member == 0 ? "wb" : "ab");
        ck_assert_ptr_nonnull(file);
        size_t from = member == 0 ? 0 : length / 2, to = member == 0 ? length / 2 : length;
        ck_assert_int_eq(gzwrite(file, text + from, (unsigned)(to - from)), (int)(to - from));
        ck_assert_int_eq(gzclose(file), Z_OK);
    }
    struct read_log r;
    read_path(&r, path, NULL);
    check_big(&r, expected);
    char digest[65];
    ck_assert_int_eq(file_read(path, 1 << 24, &r.arena, &packed, &packed_length, &r.faults), OK);
    sha256_hex(packed, packed_length, digest);
    ck_assert_str_eq(r.log.sha256, digest);
    arena_release(&r.arena);
    for (int eighths = 7; eighths > 0;
         eighths -= 5) { /* cut behind rows that were handed on; before the first of them */
        ck_assert_int_eq(truncate(path, (off_t)packed_length * eighths / 8), 0);
        read_path(&r, path, NULL);
        ck_assert_int_eq(r.status, E_INPUT);
        ck_assert_ptr_nonnull(strstr(r.faults.text[0], "the compressed data end early"));
        ck_assert_int_eq(r.count > 0, eighths == 7);
        arena_release(&r.arena);
    }
    FILE *plain = fopen(path, "wb"); /* no gzip file but for its name */
    ck_assert_ptr_nonnull(plain);
    ck_assert_uint_eq(fwrite(text, 1, length, plain), length);
    ck_assert_int_eq(fclose(plain), 0);
    read_path(&r, path, NULL);
    ck_assert_int_eq(r.status, E_INPUT);
    ck_assert_ptr_nonnull(strstr(r.faults.text[0], "the compressed data are damaged, expected a gzip file"));
    unlink(path);
    arena_release(&r.arena);
    free(text);
    free(expected);
}
END_TEST

START_TEST(test_a_line_without_end)
{
    size_t length = 600000;
    char *text = malloc(length);
    memset(text, '1', length);
    memcpy(text, "flow [L/s]\n", 11);
    struct read_log r;
    read_bytes(&r, text, length, NULL);
    ck_assert_int_eq(r.status, E_INPUT);
    ck_assert_ptr_nonnull(strstr(r.faults.text[0], ":2: a line of more than"));
    arena_release(&r.arena);
    free(text);
}
END_TEST

/* The sink may end the reading at any row: one that comes at once, or one that was held for its stamp. */
static const struct refusal {
    double step_s; /* of the stamps of 10 samples a second; 0: no time column */
    size_t samples, row;
    enum status status;
} refusals[] = {
    {0, 3, 2, E_USAGE},     {0.1, 3, 2, E_USAGE}, /* held until the end: too short to tell the stamps */
    {0.1, 3, 2, E_MEMORY},  {0.1, 30, 20, E_USAGE}, {1, 50, 3, E_USAGE}, /* coarse, told at the end */
    {1, 300, 3, E_USAGE},   {1, 300, 150, E_USAGE}, {1, 300, 150, E_MEMORY},
    {1, 300, 295, E_USAGE}, /* in the last stamp, held until the end */
};

struct refusing {
    size_t count;
    const struct refusal *at;
};

static enum status refuse(void *context, const struct reading *reading)
{
    (void)reading;
    struct refusing *r = context;
    return ++r->count == r->at->row ? r->at->status : OK;
}

START_TEST(test_sink_ends_the_reading)
{
    const struct refusal *c = &refusals[_i];
    struct refusing refusing = {.at = c};
    struct arena arena = {0};
    struct log log;
    struct notes notes = {0};
    struct faults faults = {0};
    const char *path = temporary_path(".csv");
    FILE *file = fopen(path, "w");
    ck_assert_ptr_nonnull(file);
    char *text = coarse_log(10, 0, c->step_s > 0 ? c->step_s : 1, c->samples, 0, 0);
    ck_assert_int_ge(fputs(c->step_s > 0 ? text : "flow [L/s]\n1\n2\n3\n", file), 0);
    ck_assert_int_eq(fclose(file), 0);
    free(text);
    ck_assert_int_eq(log_read(path, NULL, (struct log_sink){&refusing, refuse}, &arena, &log, &notes, &faults),
                     c->status);
    ck_assert_uint_eq(refusing.count, c->row); /* and it is not called again */
    ck_assert_uint_eq(faults.count, c->status == E_MEMORY ? 1 : 0);
    unlink(path);
    arena_release(&arena);
}
END_TEST

#define ROWS_OF(table) (int)(sizeof(table) / sizeof *(table))

Suite *log_suite(void);

Suite *log_suite(void)
{
    Suite *suite = suite_create("log");
    TCase *core = tcase_create("core");
    tcase_add_loop_test(core, test_form, 0, ROWS_OF(forms));
    tcase_add_test(core, test_identity);
    tcase_add_test(core, test_blank_cells_are_absent);
    tcase_add_test(core, test_time);
    tcase_add_test(core, test_corrections);
    tcase_add_test(core, test_both_splitters_read_the_same);
    tcase_add_test(core, test_gzip);
    tcase_add_test(core, test_one_column_a_channel);
    tcase_add_loop_test(core, test_sink_ends_the_reading, 0, ROWS_OF(refusals));
    suite_add_tcase(suite, core);
    TCase *defects = tcase_create("defects");
    tcase_add_loop_test(defects, test_defect, 0, ROWS_OF(defect_cases));
    tcase_add_test(defects, test_header_again_with_a_quote);
    tcase_add_loop_test(defects, test_rough_stamps_may_repeat, 0, ROWS_OF(rough_stamps));
    tcase_add_loop_test(defects, test_coarse_stamps_are_spread, 0, ROWS_OF(coarse_cases));
    tcase_add_loop_test(defects, test_odd_repetitions_stay, 0, ROWS_OF(uneven_cases));
    tcase_add_test(defects, test_a_frozen_clock);
    tcase_add_test(defects, test_coarse_stamps_freeze);
    tcase_add_test(defects, test_untimed_rows_among_coarse_stamps);
    tcase_add_loop_test(defects, test_restart_with_preamble, 0, ROWS_OF(restart_cases));
    suite_add_tcase(suite, defects);
    TCase *errors = tcase_create("errors");
    tcase_add_loop_test(errors, test_fault, 0, ROWS_OF(fault_cases));
    tcase_add_test(errors, test_all_faults_are_counted);
    tcase_add_test(errors, test_files_that_cannot_be_read);
    tcase_add_test(errors, test_a_line_without_end);
    suite_add_tcase(suite, errors);
    return suite;
}
