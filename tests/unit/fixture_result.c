#include "fixture_result.h"

#include "weight.h"

#include <check.h>
#include <string.h>

static const double flow_max_m3s = 36.0 / 3600.0, density_kg_m3 = 996.2, gravity_m_s2 = 9.7861;

/* Head, m, input and shaft power, W, at a share of the greatest flow. */
static double head_of(double share)
{
    return 84.0 - 4.0 * share - 46.0 * share * share;
}

static double shaft_of(double share)
{
    return 3050.0 + 4100.0 * share - 1450.0 * share * share;
}

static double input_of(double share)
{
    return shaft_of(share) / 0.83;
}

static const char *said(const struct fixture_shape *shape, const char *plain)
{
    return shape->text != NULL ? shape->text : plain;
}

static void make_points(struct fixture *fixture, const struct fixture_shape *shape)
{
    for (size_t i = 0; i < shape->points; i++) {
        double share = shape->points > 1 ? (double)i / (double)(shape->points - 1) : 0.5;
        double wobble = 1.0 + 0.004 * (double)((i * 7) % 5) - 0.008; /* readings scatter */
        struct point *point = &fixture->points[i];
        struct operating_point *tested = &point->as_tested;
        fixture->settled[i] = (struct settled_point){.number = (int)i + 1, .readings = 3, .steady = true};
        *point = (struct point){.settled = &fixture->settled[i], .fitted = i != 4 || shape->points < 8};
        tested->water_temperature_c = quantity_of(27.1 + 0.1 * (double)i);
        tested->density_kg_m3 = quantity_of(density_kg_m3 - 0.02 * (double)i);
        struct rated_point *rated = &point->at_rated;
        *rated = (struct rated_point){.translated = true, .ratio = 1.004};
        rated->flow_m3s = quantity_of(flow_max_m3s * share);
        rated->head_m = quantity_of(head_of(share) * wobble);
        rated->current_a = quantity_of(7.2 + 5.5 * share);
        if (!shape->no_power) {
            double hydraulic_w = density_kg_m3 * gravity_m_s2 * rated->flow_m3s.value * rated->head_m.value;
            rated->input_power_w = quantity_of(input_of(share) * (2.0 - wobble));
            rated->set_efficiency = quantity_of(hydraulic_w / rated->input_power_w.value);
            rated->shaft_power_w = shape->pump ? quantity_of(shaft_of(share)) : quantity_absent();
            rated->pump_efficiency = shape->pump ? quantity_of(hydraulic_w / shaft_of(share)) : quantity_absent();
        }
    }
}

/* Fits one quantity of the points that take part. */
static void fit(struct fixture *fixture, const struct fixture_shape *shape, size_t at, struct curve *curve)
{
    double flow_m3s[FIXTURE_POINTS_MAX], y[FIXTURE_POINTS_MAX];
    size_t count = 0;
    for (size_t i = 0; i < shape->points; i++) {
        struct quantity value;
        memcpy(&value, (const char *)&fixture->points[i].at_rated + at, sizeof value);
        if (fixture->points[i].fitted && value.known) {
            flow_m3s[count] = fixture->points[i].at_rated.flow_m3s.value;
            y[count++] = value.value;
        }
    }
    (void)fit_curve(flow_m3s, y, count, 0, curve);
}

static void make_duties(struct fixture *fixture, const struct fixture_shape *shape)
{
    fixture->grade = (struct grade){
        .name = "2B",
        .standard = "ISO 9906:2012",
        .geometry = shape->geometry,
        .flow_plus = quantity_of(shape->geometry == GEOMETRY_UNILATERAL ? 0.16 : 0.08),
        .flow_minus = quantity_of(shape->geometry == GEOMETRY_UNILATERAL ? 0.0 : 0.08),
        .head_plus = quantity_of(shape->geometry == GEOMETRY_UNILATERAL ? 0.10 : 0.05),
        .head_minus = quantity_of(shape->geometry == GEOMETRY_UNILATERAL ? 0.0 : 0.05),
        .power_plus = quantity_of(0.08),
        .current_plus = quantity_of(0.07),
        .efficiency_minus_set = quantity_of(0.05),
        .efficiency_minus_pump = quantity_of(0.05),
        .efficiency_at = READ_DUTY_LINE,
        .power_at = READ_DUTY_LINE,
        .source = "ISO 9906:2012, table 8, grade 2B (from memory, confirm)",
    };
    for (size_t i = 0; i < shape->duties; i++) {
        double share = shape->duties > 1 ? 0.25 + 0.6 * (double)i / (double)(shape->duties - 1) : 0.69;
        fixture->duties[i] = (struct duty){
            .flow_m3s = quantity_of(flow_max_m3s * share),
            .head_m = quantity_of(head_of(share) * (shape->falls_short ? 1.12 : 0.99)),
            .efficiency = quantity_of(0.52 - 0.3 * (share - 0.7) * (share - 0.7)),
            .input_power_w = shape->duties > 1 ? quantity_absent() : quantity_of(input_of(share) * 1.02),
            .grade_name = "2B",
            .grade = &fixture->grade,
            .flow_text = "25",
            .head_text = "60",
            .efficiency_text = "52",
            .input_power_text = "",
            .flow_unit = "m³/h",
            .head_unit = "m",
            .power_unit = "kW",
        };
    }
}

static void make_bay(struct fixture *fixture, const struct fixture_shape *shape)
{
    static const enum channel channels[FIXTURE_INSTRUMENTS] = {
        CH_FLOW,    CH_GAUGE_PRESSURE, CH_WATER_LEVEL, CH_INPUT_POWER,       CH_VOLTAGE,
        CH_CURRENT, CH_FREQUENCY,      CH_SPEED,       CH_WATER_TEMPERATURE,
    };
    fixture->bay = (struct bay){.folder = "bay", .instrument_count = FIXTURE_INSTRUMENTS};
    fixture->bay.rig.name = said(shape, "Bay 2, Lakeside works");
    fixture->bay.instruments = fixture->instruments;
    for (size_t i = 0; i < FIXTURE_INSTRUMENTS; i++) {
        char *serial = arena_format(&fixture->arena, "TB2-%03zu", 104 + 17 * i);
        fixture->instruments[i] = (struct instrument){
            .channel = channels[i],
            .serial = said(shape, serial),
            .certificate = "",
            .accuracy = quantity_of(i % 3 == 0 ? 0.005 : 0.0025),
            .basis = i % 4 == 1 ? ACCURACY_OF_RANGE : ACCURACY_OF_READING,
            .due = {.known = i != 8, .year = shape->overdue && i == 1 ? 2023 : 2025, .month = 3, .day = 31},
        };
    }
}

static void make_model(struct fixture *fixture, const struct fixture_shape *shape)
{
    fixture->model = (struct model){
        .name = said(shape, "BW6-25/12"),
        .stages = quantity_of(12),
        .nominal_bore_m = quantity_of(0.150),
        .poles = quantity_of(2),
        .phases = quantity_of(shape->single_phase ? 1 : 3),
        .rated_power_w = quantity_of(5500),
        .rated_voltage_v = quantity_of(shape->single_phase ? 230 : 415),
        .rated_current_a = quantity_of(12.6),
        .rated_frequency_hz = quantity_of(50),
        .rated_speed_rpm = quantity_of(2850),
        .head_low_m = quantity_of(40),
        .head_high_m = quantity_of(75),
        .rated_current_text = "12.6",
        .rated_power_text = "5.5",
        .label_scheme = "schedule 7",
        .label_minimum_source = "",
        .motor_name = said(shape, "M6-5.5"),
        .duty_count = shape->duties,
        .duties = fixture->duties,
    };
}

static void make_notes(struct fixture *fixture, const struct fixture_shape *shape)
{
    static const char *const texts[] = {
        "frequency was 49.3 Hz, 1.4 % below rated: results were brought to rated frequency by the affinity laws",
        ("head falls short over the whole range by about the same share: a stage may be missing, "
         "or impellers of a smaller trim fitted (rule of thumb)"),
        "the column 'remarks 2' of models.csv is not used",
    };
    for (size_t i = 0; i < shape->notes; i++) {
        enum status status = note_add(&fixture->result.notes, &fixture->arena, (enum note_kind)(i % 3), "%s%s%.0zu",
                                      said(shape, texts[i % 3]), i < 3 ? "" : ", again: ", i < 3 ? (size_t)0 : i);
        ck_assert_int_eq(status, OK);
    }
}

static void judge(struct fixture *fixture, const struct fixture_shape *shape)
{
    struct result *result = &fixture->result;
    result->verdict = shape->duties == 0 ? VERDICT_NOT_JUDGED : VERDICT_PASS;
    for (size_t i = 0; i < shape->duties; i++) {
        struct duty_result *duty = &fixture->duty_results[i];
        *duty = judge_duty(&fixture->model, &fixture->duties[i], &result->curves, NULL);
        if (duty->at_guaranteed_flow.head_m.known) {
            fixture->certainties[i].head_m = quantity_of(0.42);
            fixture->certainties[i].set_efficiency = quantity_of(0.0061);
        }
        for (size_t k = 0; k < duty->check_count; k++) {
            fixture->certainties[i].conformance_probability[k] = quantity_of(0.9731);
        }
        result->verdict = verdict_worse(result->verdict, duty->verdict);
    }
}

void fixture_init(struct fixture *fixture, const struct fixture_shape *shape)
{
    ck_assert_uint_le(shape->points, FIXTURE_POINTS_MAX);
    ck_assert_uint_le(shape->duties, FIXTURE_DUTIES_MAX);
    *fixture = (struct fixture){0};
    make_bay(fixture, shape);
    make_model(fixture, shape);
    make_duties(fixture, shape);
    make_points(fixture, shape);
    struct result *result = &fixture->result;
    *result = (struct result){
        .bay = &fixture->bay,
        .model = &fixture->model,
        .serial = said(shape, "24-07-0193"),
        .tester = said(shape, "A. Rao"),
        .remarks = said(shape, ""),
        .tested = {.known = true, .has_time = true, .year = 2024, .month = 7, .day = 18, .seconds = 52500},
        .kind = LOG_READING_SHEET,
        .site = {.gravity_m_s2 = gravity_m_s2, .air_pressure_pa = 95460.0},
        .basis = SPEED_FREQUENCY,
        .point_count = shape->points,
        .points = fixture->points,
        .duty_count = shape->duties,
        .duties = fixture->duty_results,
        .certainty = {.duties = fixture->certainties},
        .calibration = shape->overdue ? CALIBRATION_OVERDUE : CALIBRATION_VALID,
    };
    result->log.file = said(shape, "logs/24-07-0193.csv");
    memset(result->log.sha256, 'a', sizeof result->log.sha256 - 1);
    fit(fixture, shape, offsetof(struct rated_point, head_m), &result->curves.of[CURVE_HEAD]);
    fit(fixture, shape, offsetof(struct rated_point, input_power_w), &result->curves.of[CURVE_INPUT_POWER]);
    fit(fixture, shape, offsetof(struct rated_point, current_a), &result->curves.of[CURVE_CURRENT]);
    fit(fixture, shape, offsetof(struct rated_point, shaft_power_w), &result->curves.of[CURVE_SHAFT_POWER]);
    set_specific_weight(&result->curves, density_kg_m3 * gravity_m_s2);
    result->best_known = curves_best_efficiency(&result->curves, &result->best);
    judge(fixture, shape);
    result->label = (struct label_result){
        .known = result->best_known,
        .scheme = "schedule 7",
        .why = "the set efficiency is not known",
        .measured = quantity_of(0.531),
        .index = quantity_of(1.1067),
        .index_printed = quantity_of(1.10),
        .class_name = "2 star",
        .to_next = quantity_of(0.045),
    };
    make_notes(fixture, shape);
}

void fixture_release(struct fixture *fixture)
{
    arena_release(&fixture->arena);
}
