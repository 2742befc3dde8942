/* made_result.h - a small finished result made by hand, for the tests of rendering
 *
 * Its numbers are chosen, not computed: what is tested is that they arrive where they belong.
 */
#ifndef MADE_RESULT_H
#define MADE_RESULT_H

#include "run/result.h"

#include <string.h>

struct made_result {
    struct result result;
    struct bay bay;
    struct model model;
    struct duty duty;
    struct grade grade;
    struct duty_result duty_result;
    struct settled_point settled[2];
    struct point points[2];
    struct instrument instrument;
    struct note notes[2];
};

/* Two points; the second has no power, so no efficiency, and is not fitted. */
static inline void make_points(struct made_result *made)
{
    made->settled[0] = (struct settled_point){.number = 1, .readings = 3, .steady = true};
    made->settled[1] =
        (struct settled_point){.number = 2, .readings = 1, .steady = false, .why_unsteady = "the valve moved"};
    made->points[0] = (struct point){.settled = &made->settled[0], .fitted = true};
    made->points[1] = (struct point){.settled = &made->settled[1], .why_not_fitted = "not steady"};
    struct operating_point *tested = &made->points[0].as_tested;
    tested->flow_m3s = quantity_of(0.005);
    tested->head_m = quantity_of(42.5);
    tested->input_power_w = quantity_of(4321.0);
    tested->set_efficiency = quantity_of(0.4812);
    made->points[1].as_tested.flow_m3s = quantity_of(0.006);
    made->points[0].at_rated = (struct rated_point){
        .translated = true, .ratio = 1.01, .flow_m3s = quantity_of(0.00505), .head_m = quantity_of(43.35)};
    made->points[1].at_rated.why = "the speed is not known";
}

static inline void make_duty(struct made_result *made)
{
    made->duty = (struct duty){.flow_m3s = quantity_of(0.005),
                               .head_m = quantity_of(41.0),
                               .grade_name = "2B",
                               .flow_unit = "L/s",
                               .head_unit = "m",
                               .power_unit = "kW"};
    struct check check = {.item = CHECK_FLOW_AND_HEAD,
                          .dimension = DIM_LENGTH,
                          .value = quantity_of(42.1),
                          .limit_low = quantity_of(38.95),
                          .limit_high = quantity_of(43.05),
                          .margin = quantity_of(0.95),
                          .verdict = VERDICT_PASS,
                          .place = PLACE_GUARANTEED_FLOW,
                          .source = {.grade = &made->grade}};
    made->grade = (struct grade){.source = "a made-up source"};
    made->duty_result = (struct duty_result){.duty = &made->duty,
                                             .check_count = 1,
                                             .verdict = VERDICT_PASS,
                                             .not_stated = NOT_STATED_EFFICIENCY | NOT_STATED_INPUT_POWER};
    made->duty_result.checks[0] = check;
    made->duty_result.at_guaranteed_flow.head_m = quantity_of(42.1);
}

static inline void make_result(struct made_result *made)
{
    *made = (struct made_result){0};
    make_points(made);
    make_duty(made);
    made->bay.rig.name = "Test bay";
    made->bay.instrument_count = 1;
    made->bay.instruments = &made->instrument;
    made->instrument = (struct instrument){
        .channel = CH_FLOW, .serial = "FM-7", .certificate = "C-1", .accuracy = quantity_of(0.005), .gain = 1};
    made->model =
        (struct model){.name = "M-10", .label_scheme = "", .motor_name = "", .duty_count = 1, .duties = &made->duty};
    made->notes[0] = (struct note){NOTE_CAUTION, "a caution"};
    made->notes[1] = (struct note){NOTE_CAUTION, "another caution"};
    made->result = (struct result){.bay = &made->bay,
                                   .model = &made->model,
                                   .serial = "SN-1",
                                   .tester = "",
                                   .remarks = "",
                                   .tested = {.known = true, .year = 2024, .month = 3, .day = 1},
                                   .site = {.gravity_m_s2 = 9.78, .air_pressure_pa = 97000},
                                   .basis = SPEED_MEASURED,
                                   .point_count = 2,
                                   .points = made->points,
                                   .duty_count = 1,
                                   .duties = &made->duty_result,
                                   .notes = {2, made->notes},
                                   .verdict = VERDICT_PASS,
                                   .calibration = CALIBRATION_VALID};
    made->result.log.file = "some/folder/SN-1.csv";
    memset(made->result.log.sha256, 'a', 64);
    made->result.log.rows = 4;
    made->result.log.channels = UINT32_C(1) << CH_FLOW;
}

#endif
