/* bay.c and the readers of its tables: every item and column of a full bay, the least that a bay needs, and every fault
 * of tests/bad/ with its exact message. Runs from the top of the source tree. */
#include "base/files.h"
#include "filing/scratch.h"
#include "near.h"
#include "tables/bay.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define COUNT(array) ((int)(sizeof(array) / sizeof *(array)))

/* Conversions are one or two multiplications: a few last bits. */
static const double last_bits = 1e-14;

static struct arena arena;
static struct faults faults;
static struct bay bay;

static void setup(void)
{
    arena = (struct arena){0};
    faults = (struct faults){0};
    bay = (struct bay){0};
}

static void teardown(void)
{
    arena_release(&arena);
}

static void check(struct quantity got, double want)
{
    ck_assert(got.known);
    near_rel(got.value, want, last_bits);
}

static void read_full(void)
{
    setup();
    enum status status = bay_read("tests/bays/full", &arena, &bay, &faults);
    ck_assert_msg(status == OK, "%s", faults.text[0]);
}

/* --- a full bay --- */

START_TEST(rig_items)
{
    const struct rig *rig = &bay.rig;
    ck_assert_str_eq(rig->name, "Bay 3");
    check(rig->latitude_rad, 23.5 * acos(-1.0) / 180);
    check(rig->altitude_m, 500);
    check(rig->gravity_m_s2, 9.787);
    check(rig->air_pressure_pa, 95500);
    check(rig->water_density_kg_m3, 996.5);
    ck_assert_int_eq(rig->flow_method, FLOW_VENTURI);
    check(rig->flow_pipe_bore_m, 0.1);
    check(rig->throat_bore_m, 2.5 * 0.0254);
    ck_assert_int_eq(rig->tappings, TAPPINGS_D_D2);
    ck_assert_int_eq(rig->venturi_kind, VENTURI_MACHINED);
    check(rig->notch_angle_rad, acos(-1.0) / 2);
    check(rig->notch_width_m, 0.3);
    check(rig->notch_crest_height_m, 0.2);
    check(rig->approach_width_m, 1.2);
    check(rig->discharge_coefficient, 0.985);
    check(rig->meter_constant_per_j, 1200 / 3.6e6);
    check(rig->delivery_bore_m, 0.08);
    check(rig->delivery_length_m, 4.5);
    check(rig->delivery_roughness_m, 5e-5);
    check(rig->delivery_loss_coefficient, 0.35);
    check(rig->gauge_height_m, 6.4);
    check(rig->water_level_m, 3.1);
    check(rig->suction_bore_m, 0.1016);
    check(rig->suction_gauge_height_m, 0.3048);
    ck_assert(rig->current_ratio == 40);
    ck_assert(rig->voltage_ratio == 1);
    ck_assert_int_eq(rig->speed_basis, SPEED_FREQUENCY);
    ck_assert_uint_eq(rig->log_header_row, 4);
    ck_assert_str_eq(rig->columns[CH_FLOW].heading, "Q main");
    ck_assert_str_eq(rig->columns[CH_FLOW].unit, "L/s");
    ck_assert_str_eq(rig->columns[CH_GAUGE_PRESSURE].heading, "P2 [bar]");
    ck_assert_str_eq(rig->columns[CH_GAUGE_PRESSURE].unit, "");
    ck_assert_ptr_null(rig->columns[CH_SPEED].heading);
}
END_TEST

START_TEST(instrument_rows)
{
    ck_assert_uint_eq(bay.instrument_count, 5);
    const struct instrument *flow = bay_instrument(&bay, CH_FLOW);
    ck_assert_str_eq(flow->serial, "FM-1");
    ck_assert_str_eq(flow->certificate, "C-1");
    check(flow->accuracy, 0.005);
    ck_assert_int_eq(flow->basis, ACCURACY_OF_READING);
    ck_assert_int_eq(flow->distribution, DISTRIBUTION_RECTANGULAR);
    check(flow->range_high_si, 0.025);
    near_abs(flow->range_low_si.value, 0, 0);
    near_rel(flow->gain, 1.002, 0);
    near_rel(flow->zero_si, 5e-5, last_bits);
    ck_assert_int_eq(flow->due.year, 2026);
    ck_assert(flow->calibrated.known);
    const struct instrument *gauge = bay_instrument(&bay, CH_GAUGE_PRESSURE);
    ck_assert_int_eq(gauge->basis, ACCURACY_OF_RANGE);
    ck_assert_int_eq(gauge->distribution, DISTRIBUTION_NORMAL);
    check(gauge->range_low_si, -1e5);
    check(gauge->range_high_si, 1.6e6);
    ck_assert(gauge->gain == 1);
    near_rel(gauge->zero_si, 5000.0, last_bits);
    ck_assert(!gauge->due.known);
}
END_TEST

/* corrected = gain x (reading - zero) holds in the row's unit, also where the unit has an offset: 50 degF with gain 0.5
 * and zero 2 degF is 24 degF, which is -40/9 degC. */
START_TEST(correction_in_a_unit_with_offset)
{
    const struct instrument *thermometer = bay_instrument(&bay, CH_WATER_TEMPERATURE);
    near_rel(thermometer->gain * (10.0 - thermometer->zero_si), -40.0 / 9, last_bits);
    check(thermometer->range_high_si, 100);
    near_abs(thermometer->range_low_si.value, 0, 1e-12); /* 32 degF: a difference of numbers near 18 */
}
END_TEST

START_TEST(one_instrument_stands_for_the_phases)
{
    ck_assert_str_eq(bay_instrument(&bay, CH_VOLTAGE_RY)->serial, "VM-1");
    ck_assert_str_eq(bay_instrument(&bay, CH_VOLTAGE_YB)->serial, "VM-2");
    ck_assert_ptr_null(bay_instrument(&bay, CH_CURRENT_R));
    ck_assert_ptr_null(bay_instrument(&bay, CH_SPEED));
}
END_TEST

START_TEST(motor_curves)
{
    static const double hp_w = 550 * 0.3048 * 0.45359237 * 9.80665; /* 550 ft lbf/s */
    ck_assert_uint_eq(bay.motor_count, 2);
    const struct motor *motor = &bay.motors[0];
    ck_assert_str_eq(motor->name, "M-1");
    ck_assert_uint_eq(motor->count, 3);
    for (size_t i = 0; i < 3; i++) {
        near_rel(motor->input_power_w[i], 2000.0 * (double)(i + 1), last_bits);
    }
    near_rel(motor->shaft_power_w[0], hp_w, last_bits);
    near_rel(motor->shaft_power_w[2], 6 * hp_w, last_bits);
    check(motor->speed_rpm[0], 2950);
    check(motor->current_a[2], 12);
    ck_assert_uint_eq(bay.motors[1].count, 2);
    ck_assert(!bay.motors[1].speed_rpm[0].known);
}
END_TEST

START_TEST(model_rows)
{
    const struct model *model = bay_model(&bay, "b 8");
    ck_assert_ptr_nonnull(model);
    check(model->stages, 8);
    check(model->nominal_bore_m, 0.1524);
    check(model->poles, 2);
    check(model->phases, 3);
    check(model->rated_power_w, 5500);
    check(model->rated_voltage_v, 415);
    check(model->rated_current_a, 12);
    ck_assert_str_eq(model->rated_current_text, "12.0");
    check(model->rated_frequency_hz, 50);
    check(model->rated_speed_rpm, 2870);
    check(model->head_low_m, 45);
    check(model->head_high_m, 75);
    ck_assert_str_eq(model->label_scheme, "schedule 7");
    check(model->label_minimum_efficiency, 0.45);
    ck_assert_str_eq(model->label_minimum_source, "our sheet");
    ck_assert_ptr_eq(model->motor, &bay.motors[0]);
    check(model->motor_efficiency, 0.84);
    check(model->insulation_min_ohm, 5e6);
    check(model->winding_imbalance_max, 0.03);
    check(model->temperature_rise_max_k, 35); /* 63 degF of rise: the factor, without the offset */
    ck_assert(!model->proof_pressure_min_pa.known);
    ck_assert_uint_eq(model->duty_count, 2);
    ck_assert_ptr_null(bay_model(&bay, "B-9"));
}
END_TEST

START_TEST(model_duties)
{
    const struct duty *duties = bay_model(&bay, "B-8")->duties;
    check(duties[0].flow_m3s, 0.01);
    check(duties[0].head_m, 200 * 0.3048);
    check(duties[0].efficiency, 0.625);
    ck_assert(duties[0].efficiency_of_pump);
    check(duties[0].input_power_w, 10 * 550 * 0.3048 * 0.45359237 * 9.80665);
    ck_assert_str_eq(duties[0].flow_text, "36.0");
    ck_assert_str_eq(duties[0].efficiency_text, "62.50");
    ck_assert_str_eq(duties[0].flow_unit, "m³/h");
    ck_assert_str_eq(duties[0].grade->name, "2B");
    check(duties[1].flow_m3s, 0.005);
    ck_assert(!duties[1].efficiency.known);
    ck_assert_ptr_null(duties[1].grade); /* a blank grade is not taken from the row before */
    ck_assert_str_eq(duties[1].grade_name, "");
    const struct duty *zeta = bay_model(&bay, "zeta")->duties;
    ck_assert_ptr_null(zeta->grade);
    ck_assert_str_eq(zeta->grade_name, "platinum");
    ck_assert(!zeta->efficiency_of_pump && !zeta->efficiency_of_stated);
}
END_TEST

START_TEST(notes_of_a_bay)
{
    ck_assert_uint_eq(bay.notes.count, 1);
    ck_assert_str_eq(bay.notes.items[0].text, "instruments.csv: columns that are not used: 'colour'");
}
END_TEST

START_TEST(least_bay)
{
    ck_assert_int_eq(bay_read("tests/bays/least", &arena, &bay, &faults), OK);
    ck_assert_int_eq(bay.rig.flow_method, FLOW_METER);
    ck_assert_int_eq(bay.rig.speed_basis, SPEED_UNSTATED);
    ck_assert(bay.rig.current_ratio == 1 && bay.rig.voltage_ratio == 1);
    ck_assert(!bay.rig.gravity_m_s2.known && !bay.rig.latitude_rad.known);
    ck_assert_uint_eq(bay.model_count, 1);
    ck_assert_uint_eq(bay.models[0].duty_count, 1);
    ck_assert(!bay.models[0].duties[0].flow_m3s.known);
    ck_assert_str_eq(bay.models[0].motor_name, "");
    ck_assert_ptr_null(bay.labels_path);
    ck_assert_uint_gt(bay.grades.grade_count, 0);
}
END_TEST

/* --- faults --- */

typedef enum status table_reader(const char *path, struct arena *arena, struct bay *bay, struct faults *faults);

static enum status grades_read(const char *path, struct arena *a, struct bay *b, struct faults *f)
{
    return grade_book_read(path, a, &b->grades, f);
}

static const struct {
    const char *name;
    table_reader *read;
} bad[] = {
    {"rig", rig_read},
    {"rig-orifice", rig_read},
    {"rig-notch", rig_read},
    {"instruments", instruments_read},
    {"models", models_read},
    {"motors", motors_read},
    {"motors-curve", motors_read},
    {"grades", grades_read},
    {"routine", routines_read},
};

START_TEST(exact_messages)
{
    char *expected;
    size_t length;
    const char *csv = arena_format(&arena, "tests/bad/%s.csv", bad[_i].name);
    const char *err = arena_format(&arena, "tests/bad/%s.err", bad[_i].name);
    ck_assert_int_eq(file_read(err, 1 << 20, &arena, &expected, &length, &faults), OK);
    ck_assert_int_eq(bad[_i].read(csv, &arena, &bay, &faults), E_INPUT);
    ck_assert_uint_le(faults.count, FAULTS_KEPT);
    const char *rest = expected;
    for (size_t i = 0; i < faults.count; i++) {
        size_t line = strcspn(rest, "\n");
        ck_assert_msg(strlen(faults.text[i]) == line && strncmp(faults.text[i], rest, line) == 0, "got  %s\nwant %.*s",
                      faults.text[i], (int)line, rest);
        rest += line + (rest[line] == '\n');
    }
    ck_assert_msg(*rest == '\0', "no message for %s", rest);
}
END_TEST

/* A bay with a fault in each table tells them all in one run. */
START_TEST(collects_over_all_tables)
{
    ck_assert_int_eq(bay_read("tests/bays/faulty", &arena, &bay, &faults), E_INPUT);
    static const char *const tables[] = {"rig", "instruments", "motors", "grades", "models"};
    ck_assert_uint_eq(faults.count, COUNT(tables));
    for (int i = 0; i < COUNT(tables); i++) {
        const char *start = arena_format(&arena, "tests/bays/faulty/%s.csv:2:", tables[i]);
        ck_assert_msg(strncmp(faults.text[i], start, strlen(start)) == 0, "%s", faults.text[i]);
    }
}
END_TEST

START_TEST(missing_tables_are_file_faults)
{
    ck_assert_int_eq(bay_read("tests/bays/no-such-bay", &arena, &bay, &faults), E_FILE);
    ck_assert_uint_eq(faults.count, 2);
    ck_assert_ptr_nonnull(strstr(faults.text[0], "tests/bays/no-such-bay/rig.csv"));
    ck_assert_ptr_nonnull(strstr(faults.text[1], "tests/bays/no-such-bay/models.csv"));
}
END_TEST

/* --- finding a bay --- */

static void check_found(const char *log, const char *folder)
{
    char *real = folder == NULL ? NULL : arena_format(&arena, "%s", folder);
    const char *found = bay_find(log, &arena);
    if (real == NULL) {
        ck_assert_msg(found == NULL, "found %s", found);
        return;
    }
    ck_assert_ptr_nonnull(found);
    size_t length = strlen(found), wanted = strlen(real);
    ck_assert_msg(found[0] == '/' && length > wanted && strcmp(found + length - wanted, real) == 0, "found %s", found);
}

START_TEST(finds_bay_above_log)
{
    check_found("tests/bays/full/a.csv", "/tests/bays/full");
    check_found("tests/bays/full/logs/week-12/a.csv", "/tests/bays/full");
    check_found("./tests/bays/full/logs/../logs/week-12/a.csv", "/tests/bays/full");
    check_found("tests/bays/full/logs/week-12/not-there.csv", "/tests/bays/full");
    check_found("tests/bays/a.csv", NULL);
    check_found("no/such/folder/a.csv", NULL);
    check_found("/a.csv", NULL);
    check_found("", NULL);
    ck_assert_int_eq(chdir("tests/bays/full/logs/week-12"), 0);
    const char *found = bay_find("a.csv", &arena);
    int back = chdir("../../../../..");
    ck_assert_int_eq(back, 0);
    ck_assert_ptr_nonnull(found);
    ck_assert_ptr_nonnull(strstr(found, "/tests/bays/full"));
}
END_TEST

START_TEST(finds_bay_of_a_linked_log)
{
    const char *parent = getenv("TMPDIR");
    struct scratch made;
    char *top = getcwd(NULL, 0);
    ck_assert_ptr_nonnull(top);
    ck_assert_int_eq(scratch_make(parent != NULL ? parent : "/tmp", &arena, &made, &faults), OK);
    const char *target = arena_format(&arena, "%s/tests/bays/full/logs/week-12/a.csv", top);
    const char *link = arena_format(&arena, "%s/today.csv", made.path);
    free(top);
    ck_assert_int_eq(symlink(target, link), 0);
    check_found(link, "/tests/bays/full");
    ck_assert_int_eq(scratch_remove(&made, &faults), OK);
}
END_TEST

Suite *bay_suite(void);
Suite *bay_suite(void)
{
    Suite *suite = suite_create("bay");
    TCase *core = tcase_create("core");
    tcase_add_checked_fixture(core, read_full, teardown);
    tcase_add_test(core, rig_items);
    tcase_add_test(core, instrument_rows);
    tcase_add_test(core, correction_in_a_unit_with_offset);
    tcase_add_test(core, one_instrument_stands_for_the_phases);
    tcase_add_test(core, motor_curves);
    tcase_add_test(core, model_rows);
    tcase_add_test(core, model_duties);
    tcase_add_test(core, notes_of_a_bay);
    suite_add_tcase(suite, core);
    TCase *limits = tcase_create("limits");
    tcase_add_checked_fixture(limits, setup, teardown);
    tcase_add_test(limits, least_bay);
    tcase_add_test(limits, finds_bay_above_log);
    tcase_add_test(limits, finds_bay_of_a_linked_log);
    suite_add_tcase(suite, limits);
    TCase *errors = tcase_create("errors");
    tcase_add_checked_fixture(errors, setup, teardown);
    tcase_add_loop_test(errors, exact_messages, 0, COUNT(bad));
    tcase_add_test(errors, collects_over_all_tables);
    tcase_add_test(errors, missing_tables_are_file_faults);
    suite_add_tcase(suite, errors);
    return suite;
}
