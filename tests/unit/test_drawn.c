/* What is handed to be drawn, against the result: points, curves, bands, tolerance marks, histograms, control charts,
 * labels and records, each read back into SI by drawn.h. */
#include "batch/batch.h"
#include "batch/batch_stats.h"
#include "drawn.h"
#include "fixture_result.h"
#include "near.h"
#include "papers/certificate.h"
#include "papers/render.h"
#include "papers/render_batch.h"
#include "papers/render_inspect.h"
#include "papers/render_label.h"

#include <stdlib.h>
#include <string.h>

#define COUNT(array) ((int)(sizeof(array) / sizeof *(array)))

static struct arena arena;
static struct fixture fixture;
static char *script, *data;

static void setup(void)
{
    arena = (struct arena){0};
    script = data = NULL;
}

static void teardown(void)
{
    free(script);
    free(data);
    arena_release(&arena);
}

/* --- comparing: a place is right where it lies within its step --- */

static bool is_at(const struct drawn *drawn, size_t i, double x, double y)
{
    return fabs(drawn->at[i].x - x) <= drawn->x_step && fabs(drawn->at[i].y - y) <= drawn->y_step;
}

static void expect_at(const struct drawn *drawn, double x, double y)
{
    double nearest = INFINITY;
    for (size_t i = 0; i < drawn->count; i++) {
        if (is_at(drawn, i, x, y)) {
            return;
        }
        double apart = hypot((drawn->at[i].x - x) / drawn->x_step, (drawn->at[i].y - y) / drawn->y_step);
        nearest = fmin(nearest, apart);
    }
    ck_abort_msg("of %zu marks none lies at (%g, %g): the nearest is %.1f steps off", drawn->count, x, y, nearest);
}

/* Exactly these places, in any order. */
static void expect_places(const struct drawn *drawn, const double (*places)[2], size_t count)
{
    for (size_t i = 0; i < count; i++) {
        expect_at(drawn, places[i][0], places[i][1]);
    }
    ck_assert_uint_eq(drawn->count, count);
}

/* --- the papers with curves --- */

enum item { HEAD, EFFICIENCY, POWER, ITEMS };

/* The sheet, whose plot has these very data, curves.gp with curves.dat, and the plot for a terminal, which shows the
 * head only. */
struct paper {
    void (*script)(const struct result *, FILE *), (*data)(const struct result *, FILE *);
    const char *names[ITEMS];
};

static const char *const units[][ITEMS + 1] = {{"m", "%", "kW", "m³/h"}, {"ft", "%", "hp", "L/s"}};

static void sheet_script(const struct result *result, FILE *to)
{
    ck_assert_int_eq(render_curves_data(result, to), OK);
}

static void files_script(const struct result *result, FILE *to)
{
    ck_assert_int_eq(render_curves_script(result, to), OK);
}

static void sheet_text(const struct result *result, FILE *to)
{
    ck_assert_int_eq(render_sheet_text(result, false, to), OK);
}

static void terminal_script(const struct result *result, FILE *to)
{
    render_plot_script(result, 90, 28, to);
}

static const struct paper papers[] = {
    {sheet_script, NULL, {"Head H", "Efficiency η", "Input power P₁"}},
    {files_script, sheet_script, {"Head H", "Efficiency η", "Input power P₁"}},
    {terminal_script, NULL, {"Head H", NULL, NULL}},
};
enum { SHEET, FILES, TERMINAL, PAPERS, CASES = 6 }; /* in each set of units */

static char *text_of(void (*render)(const struct result *, FILE *))
{
    char *text = NULL;
    size_t length = 0;
    FILE *to = open_memstream(&text, &length);
    ck_assert_ptr_nonnull(to);
    render(&fixture.result, to);
    ck_assert_int_eq(fclose(to), 0);
    return text;
}

/* A result on one of the papers, number `of`: nine points of which one is not fitted, with readings that scatter. */
static const struct paper *draw(int of, struct fixture_shape shape)
{
    const struct paper *paper = &papers[of % PAPERS];
    shape.points = 9;
    shape.pump = true;
    fixture_init(&fixture, &shape);
    fixture.duties[0].head_unit = units[of / PAPERS][HEAD];
    fixture.duties[0].power_unit = units[of / PAPERS][POWER];
    fixture.duties[0].flow_unit = units[of / PAPERS][ITEMS];
    script = text_of(paper->script);
    data = paper->data == NULL ? NULL : text_of(paper->data);
    return paper;
}

static struct drawn marks(int of, enum item item, enum drawn_kind kind)
{
    const char *const *in = units[of / PAPERS];
    struct drawn_chart chart = {arena_format(&arena, "%s, %s", papers[of % PAPERS].names[item], in[item]), in[ITEMS],
                                in[item]};
    return drawn_read(script, data, &chart, kind, &arena);
}

static struct quantity read_at(const struct rated_point *rated, size_t offset)
{
    struct quantity value;
    memcpy(&value, (const char *)rated + offset, sizeof value);
    return value;
}

/* One quantity of the points that are, or are not, fitted: each has its mark. Returns: how many there are. */
static size_t expect_points(const struct drawn *drawn, bool fitted, size_t offset)
{
    size_t count = 0;
    for (size_t i = 0; i < fixture.result.point_count; i++) {
        const struct point *point = &fixture.result.points[i];
        if (point->fitted == fitted) {
            expect_at(drawn, point->at_rated.flow_m3s.value, read_at(&point->at_rated, offset).value);
            count++;
        }
    }
    return count;
}

static const size_t offsets[ITEMS] = {offsetof(struct rated_point, head_m),
                                      offsetof(struct rated_point, set_efficiency),
                                      offsetof(struct rated_point, input_power_w)};

START_TEST(each_point_is_marked_where_it_was_measured)
{
    const struct paper *paper = draw(_i, (struct fixture_shape){.duties = 1});
    for (enum item item = HEAD; item < ITEMS; item++) {
        if (paper->names[item] != NULL) {
            struct drawn drawn = marks(_i, item, DRAWN_POINT);
            ck_assert_uint_eq(expect_points(&drawn, true, offsets[item]), 8);
            ck_assert_uint_eq(drawn.count, 8);
        }
    }
    fixture_release(&fixture);
}
END_TEST

START_TEST(points_of_the_pump_are_the_pumps)
{
    const struct paper *paper = draw(_i, (struct fixture_shape){.duties = 1});
    if (paper->names[EFFICIENCY] != NULL) {
        struct drawn drawn = marks(_i, EFFICIENCY, DRAWN_PUMP_POINT);
        ck_assert_uint_eq(expect_points(&drawn, true, offsetof(struct rated_point, pump_efficiency)), drawn.count);
        ck_assert_uint_eq(drawn.count, 8);
    }
    fixture_release(&fixture);
}
END_TEST

/* The sheet shows them in all charts; the other papers with the head. */
START_TEST(points_that_were_not_fitted_are_marked_apart)
{
    draw(_i, (struct fixture_shape){.duties = 1});
    struct drawn drawn = marks(_i, HEAD, DRAWN_UNFITTED_POINT);
    ck_assert_uint_eq(expect_points(&drawn, false, offsets[HEAD]), 1);
    ck_assert_uint_eq(drawn.count, 1);
    if (_i % PAPERS == SHEET) {
        drawn = marks(_i, EFFICIENCY, DRAWN_UNFITTED_POINT);
        (void)expect_points(&drawn, false, offsets[EFFICIENCY]);
        (void)expect_points(&drawn, false, offsetof(struct rated_point, pump_efficiency));
        ck_assert_uint_eq(drawn.count, 2);
        drawn = marks(_i, POWER, DRAWN_UNFITTED_POINT);
        ck_assert_uint_eq(expect_points(&drawn, false, offsets[POWER]), drawn.count);
    }
    fixture_release(&fixture);
}
END_TEST

/* --- curves --- */

/* What a curve and its band are at a flow, from the fit itself; efficiency from head, power and rho g (P_u = rho g Q H,
 * ISO 9906:2012, from memory). */
static double curve_is(enum item item, bool pump, double flow_m3s)
{
    const struct curves *curves = &fixture.result.curves;
    const struct curve *power = pump ? &curves->of[CURVE_SHAFT_POWER] : &curves->of[CURVE_INPUT_POWER];
    double head_m = curve_at(&curves->of[CURVE_HEAD], flow_m3s), power_w = curve_at(power, flow_m3s);
    return item == HEAD    ? head_m
           : item == POWER ? power_w
                           : curves_specific_weight(curves, flow_m3s) * flow_m3s * head_m / power_w;
}

/* How far a value may be off: its own step, and that of the flow along the steepness of the curve there. */
static double slack(const struct drawn *drawn, enum item item, bool pump, double flow_m3s)
{
    double before = curve_is(item, pump, flow_m3s - drawn->x_step);
    double after = curve_is(item, pump, flow_m3s + drawn->x_step);
    return drawn->y_step + fabs(after - before);
}

static void expect_curve(const struct drawn *drawn, enum item item, bool pump)
{
    enum { SMOOTH = 13 }; /* at least so many places: with fewer a curve looks broken (common practice, no source) */
    const struct curve *head = &fixture.result.curves.of[CURVE_HEAD];
    ck_assert_uint_ge(drawn->count, SMOOTH);
    near_abs(drawn->at[0].x, head->flow_low_m3s, drawn->x_step);
    near_abs(drawn->at[drawn->count - 1].x, head->flow_high_m3s, drawn->x_step);
    for (size_t i = 0; i < drawn->count; i++) {
        double flow_m3s = drawn->at[i].x;
        near_abs(drawn->at[i].y, curve_is(item, pump, flow_m3s), slack(drawn, item, pump, flow_m3s));
        ck_assert(drawn->at[i].start == (i == 0));
        ck_assert(i == 0 || flow_m3s > drawn->at[i - 1].x);
    }
}

START_TEST(curves_are_those_that_were_fitted)
{
    const struct paper *paper = draw(_i, (struct fixture_shape){.duties = 1});
    for (enum item item = HEAD; item < ITEMS; item++) {
        if (paper->names[item] != NULL) {
            struct drawn drawn = marks(_i, item, DRAWN_CURVE);
            expect_curve(&drawn, item, false);
        }
    }
    if (paper->names[EFFICIENCY] != NULL) {
        struct drawn drawn = marks(_i, EFFICIENCY, DRAWN_PUMP_CURVE);
        expect_curve(&drawn, EFFICIENCY, true);
    }
    fixture_release(&fixture);
}
END_TEST

/* Each place of the band lies on its upper or its lower edge; both edges reach from end to end. */
static void expect_band(const struct drawn *drawn, enum item item, const struct curve *curve)
{
    size_t sides[2] = {0};
    double low[2] = {INFINITY, INFINITY}, high[2] = {-INFINITY, -INFINITY};
    for (size_t i = 0; i < drawn->count; i++) {
        double flow_m3s = drawn->at[i].x, off = drawn->at[i].y - curve_is(item, false, flow_m3s);
        double within = slack(drawn, item, false, flow_m3s), band = curve_band(curve, flow_m3s);
        int side = off > 0.0;
        near_abs(fabs(off), band, within + fabs(curve_band(curve, flow_m3s + drawn->x_step) - band));
        ck_assert_double_gt(band, 3.0 * within); /* or one edge could not be told from the other */
        sides[side]++;
        low[side] = fmin(low[side], flow_m3s);
        high[side] = fmax(high[side], flow_m3s);
    }
    ck_assert_uint_ge(sides[0], 5);
    ck_assert_uint_eq(sides[0], sides[1]);
    for (int side = 0; side < 2; side++) {
        near_abs(low[side], curve->flow_low_m3s, drawn->x_step);
        near_abs(high[side], curve->flow_high_m3s, drawn->x_step);
    }
}

START_TEST(bands_are_as_wide_as_the_fit_is_unsure)
{
    draw(_i, (struct fixture_shape){.duties = 1});
    if (_i % PAPERS != TERMINAL) {
        struct drawn drawn = marks(_i, HEAD, DRAWN_BAND);
        expect_band(&drawn, HEAD, &fixture.result.curves.of[CURVE_HEAD]);
    }
    if (_i % PAPERS == SHEET) {
        struct drawn drawn = marks(_i, POWER, DRAWN_BAND);
        expect_band(&drawn, POWER, &fixture.result.curves.of[CURVE_INPUT_POWER]);
    }
    fixture_release(&fixture);
}
END_TEST

START_TEST(the_data_hold_the_band_of_power)
{
    draw(FILES, (struct fixture_shape){.duties = 1});
    struct drawn drawn = marks(FILES, POWER, DRAWN_BAND);
    expect_band(&drawn, POWER, &fixture.result.curves.of[CURVE_INPUT_POWER]);
    fixture_release(&fixture);
}
END_TEST

/* --- tolerance marks: the arms of the fixture's grade, 8 % of flow and 5 % of head (ISO 9906:2012, grade 2, from
 * memory) and for half arms 16 % and 10 % --- */

static const struct {
    enum grade_geometry geometry;
    double left, right, low, high; /* shares of guaranteed flow and head */
} crosses[] = {
    {GEOMETRY_BILATERAL, 0.92, 1.08, 0.95, 1.05},
    {GEOMETRY_UNILATERAL, 1.0, 1.16, 1.0, 1.10},
    {GEOMETRY_MINIMUM, 0.92, 1.0, 0.95, 1.0},
};
enum { CROSSES = sizeof crosses / sizeof crosses[0] };

START_TEST(the_cross_is_that_of_the_grade)
{
    int of = _i / CROSSES, which = _i % CROSSES;
    draw(of, (struct fixture_shape){.duties = 1, .geometry = crosses[which].geometry});
    double flow = fixture.duties[0].flow_m3s.value, head = fixture.duties[0].head_m.value;
    const double places[][2] = {{flow * crosses[which].left, head},
                                {flow * crosses[which].right, head},
                                {flow, head * crosses[which].low},
                                {flow, head * crosses[which].high}};
    struct drawn drawn = marks(of, HEAD, DRAWN_GUARANTEE);
    expect_places(&drawn, places, 4);
    fixture_release(&fixture);
}
END_TEST

/* (X_Q / 0.08 Q_G)^2 + (X_H / 0.05 H_G)^2 = 1 about the guaranteed point, which a small cross marks. */
START_TEST(the_ellipse_is_that_of_the_grade)
{
    draw(_i, (struct fixture_shape){.duties = 1, .geometry = GEOMETRY_ELLIPSE});
    double flow = fixture.duties[0].flow_m3s.value, head = fixture.duties[0].head_m.value;
    struct drawn drawn = marks(_i, HEAD, DRAWN_GUARANTEE);
    size_t around = 0;
    for (size_t i = 0; i < drawn.count; i++) {
        double x = (drawn.at[i].x - flow) / (0.08 * flow), y = (drawn.at[i].y - head) / (0.05 * head);
        double within = drawn.x_step / (0.08 * flow) + drawn.y_step / (0.05 * head), radius = hypot(x, y);
        bool cross = radius < 0.5 && (fabs(x) <= within || fabs(y) <= within);
        ck_assert_msg(cross || fabs(radius - 1.0) <= within, "a vertex lies at %.4f of the ellipse", radius);
        around += !cross;
    }
    ck_assert_uint_ge(around, 12);
    expect_at(&drawn, 1.08 * flow, head);
    expect_at(&drawn, 0.92 * flow, head);
    expect_at(&drawn, flow, 1.05 * head);
    expect_at(&drawn, flow, 0.95 * head);
    fixture_release(&fixture);
}
END_TEST

/* Guaranteed efficiency and input power on the duty line, each with its limit: 5 % less and 8 % more. */
START_TEST(guarantees_stand_with_their_limits)
{
    int of = _i * PAPERS + SHEET;
    draw(of, (struct fixture_shape){.duties = 1});
    const struct duty *duty = &fixture.duties[0];
    double flow = fixture.duty_results[0].on_duty_line.flow_m3s.value;
    ck_assert_double_gt(fabs(flow / duty->flow_m3s.value - 1.0), 1e-3); /* or it would not show where it is read */
    struct drawn drawn = marks(of, EFFICIENCY, DRAWN_GUARANTEE);
    expect_at(&drawn, flow, duty->efficiency.value);
    expect_at(&drawn, flow, 0.95 * duty->efficiency.value);
    ck_assert_uint_eq(drawn.count, 4); /* with the bar across the guarantee */
    drawn = marks(of, POWER, DRAWN_GUARANTEE);
    expect_at(&drawn, flow, duty->input_power_w.value);
    expect_at(&drawn, flow, 1.08 * duty->input_power_w.value);
    ck_assert_uint_eq(drawn.count, 4);
    fixture_release(&fixture);
}
END_TEST

/* --- words --- */

static const struct {
    enum flow_method method;
    const char *words;
} methods[] = {
    {FLOW_METER, "flow meter"},
    {FLOW_ORIFICE, "orifice plate"},
    {FLOW_VENTURI, "venturi tube"},
    {FLOW_VENTURI_NOZZLE, "venturi nozzle"},
    {FLOW_NOZZLE, "nozzle"},
    {FLOW_V_NOTCH, "V-notch weir"},
    {FLOW_RECTANGULAR_NOTCH, "rectangular notch"},
    {FLOW_TANK_VOLUME, "volumetric tank"},
    {FLOW_TANK_MASS, "weighing tank"},
};

START_TEST(the_sheet_names_the_way_of_measuring_flow)
{
    fixture_init(&fixture, &(struct fixture_shape){.points = 9, .duties = 1});
    fixture.bay.rig.flow_method = methods[_i].method;
    script = text_of(sheet_text);
    const char *stated = strstr(script, "flow by");
    ck_assert_ptr_nonnull(stated);
    stated += strspn(stated + 7, " ") + 7;
    ck_assert_int_eq(strncmp(stated, methods[_i].words, strlen(methods[_i].words)), 0);
    ck_assert_int_eq(stated[strlen(methods[_i].words)], '\n');
    fixture_release(&fixture);
}
END_TEST

/* --- the certificate --- */

enum { TESTS = 12, FAILED_ONE = 3, NOT_JUDGED_ONE = 5, SUPERSEDED_ONE = 7 };

/* Margins of head, m, and of efficiency: the ninth that counts steps out of line. */
static const double head_margins_m[TESTS] = {1.31, 1.17, 1.42, -0.23, 1.28, 1.36, 1.12, 9.99, 1.25, 5.37, 1.33, 1.21},
                    efficiency_margins[TESTS] = {0.0131, 0.0117, 0.0142, 0.0123, 0.0128, 0.0136,
                                                 0.0112, 0.0999, 0.0125, 0.0087, 0.0133, 0.0121};

static struct made_batch {
    struct batch batch;
    struct batch_list list;
    struct bay bay;
    struct model model;
    struct duty duty;
    struct batch_row rows[TESTS];
    struct batch_test tests[TESTS];
    struct batch_duty duties[TESTS];
    struct batch_summary summary;
} made;

/* Guaranteed 20 m3/h at 50 m, cross of 8 % and 5 %. Head curves fall from 70 m by 0.05 m for (m3/h)^2. */
static void make_test(size_t i)
{
    struct batch_test *test = &made.tests[i];
    made.duties[i] = (struct batch_duty){.duty = &made.duty,
                                         .tolerance = {.flow_m3s = made.duty.flow_m3s,
                                                       .head_m = made.duty.head_m,
                                                       .flow_low_m3s = quantity_of(18.4 / 3600.0),
                                                       .flow_high_m3s = quantity_of(21.6 / 3600.0),
                                                       .head_low_m = quantity_of(47.5),
                                                       .head_high_m = quantity_of(52.5)},
                                         .head_margin_m = quantity_of(head_margins_m[i]),
                                         .head_room_m = quantity_of(5.0),
                                         .efficiency_margin = quantity_of(efficiency_margins[i])};
    *test = (struct batch_test){.row = &made.rows[i],
                                .serial = arena_format(&arena, "C-%02zu", i + 1),
                                .model_name = "M-1",
                                .tester = "",
                                .remarks = "",
                                .folder = "",
                                .model = &made.model,
                                .tests = 1,
                                .attempt = 1,
                                .duty_count = 1,
                                .duties = &made.duties[i],
                                .superseded = i == SUPERSEDED_ONE,
                                .verdict = i == FAILED_ONE       ? VERDICT_FAIL
                                           : i == NOT_JUDGED_ONE ? VERDICT_NOT_JUDGED
                                                                 : VERDICT_PASS,
                                .tested = {.known = true, .year = 2024, .month = 5, .day = 1 + (int)i},
                                .curve_known = true,
                                .flow_low_m3s = 0.0,
                                .flow_high_m3s = (28.0 + 0.1 * (double)i) / 3600.0};
    for (int k = 0; k < BATCH_CURVE; k++) {
        double flow_m3h = 3600.0 * test->flow_high_m3s * k / (BATCH_CURVE - 1);
        test->head_m[k] = 70.0 + head_margins_m[i] - 0.05 * flow_m3h * flow_m3h;
    }
}

static void draw_certificate(void)
{
    size_t length = 0;
    made = (struct made_batch){.list = {.file = "units.csv", .name = "spring"}, .bay = {.rig = {.name = "Bay"}}};
    made.duty = (struct duty){.flow_m3s = quantity_of(20.0 / 3600.0),
                              .head_m = quantity_of(50.0),
                              .flow_unit = "m³/h",
                              .head_unit = "m",
                              .power_unit = "kW"};
    made.model = (struct model){.name = "M-1", .duty_count = 1, .duties = &made.duty};
    made.batch = (struct batch){.list = &made.list, .bay = &made.bay, .count = TESTS, .tests = made.tests};
    for (size_t i = 0; i < TESTS; i++) {
        make_test(i);
    }
    ck_assert_int_eq(batch_sum_up(&made.batch, &arena, &made.summary), OK);
    FILE *to = open_memstream(&script, &length);
    ck_assert_ptr_nonnull(to);
    struct document document;
    ck_assert_int_eq(certificate_document(&made.batch, &made.summary, "", "", &arena, &document), OK);
    for (const struct node *node = document.first; node != NULL; node = node->next) {
        if (node->kind == NODE_PLOT) {
            plot_write_data(node->plot, to);
            (void)fputs("\n\n", to);
        }
    }
    ck_assert_int_eq(fclose(to), 0);
}

static struct drawn on_certificate(const char *name, const char *x_unit, const char *y_unit, enum drawn_kind kind)
{
    return drawn_read(script, NULL, &(struct drawn_chart){name, x_unit, y_unit}, kind, &arena);
}

/* The values that count, in order of testing: all but the superseded one. */
static size_t counted(const double all[TESTS], double values[TESTS])
{
    size_t count = 0;
    for (size_t i = 0; i < TESTS; i++) {
        if (i != SUPERSEDED_ONE) {
            values[count++] = all[i];
        }
    }
    return count;
}

START_TEST(head_curves_of_a_batch_lie_on_each_other)
{
    draw_certificate();
    struct drawn passed = on_certificate("Head H, m", "m³/h", "m", DRAWN_PASSED);
    struct drawn others = on_certificate("Head H, m", "m³/h", "m", DRAWN_NOT_PASSED);
    for (size_t i = 0; i < TESTS; i++) {
        for (int k = 0; k < BATCH_CURVE && i != SUPERSEDED_ONE; k++) {
            double flow_m3s = made.tests[i].flow_high_m3s * k / (BATCH_CURVE - 1);
            expect_at(i == FAILED_ONE || i == NOT_JUDGED_ONE ? &others : &passed, flow_m3s, made.tests[i].head_m[k]);
        }
    }
    ck_assert_uint_eq(passed.count, (TESTS - 3) * BATCH_CURVE);
    ck_assert_uint_eq(others.count, 2 * BATCH_CURVE);
    struct drawn mark = on_certificate("Head H, m", "m³/h", "m", DRAWN_GUARANTEE);
    const double arms[][2] = {
        {18.4 / 3600.0, 50.0}, {21.6 / 3600.0, 50.0}, {20.0 / 3600.0, 47.5}, {20.0 / 3600.0, 52.5}};
    expect_places(&mark, arms, 4);
}
END_TEST

/* Each bar is as high as the number of values between its sides, and all values have a bar. */
static void expect_bars(const struct drawn *drawn, const double *values, size_t count)
{
    double all = 0.0;
    ck_assert_uint_eq(drawn->count % 5, 0);
    for (size_t i = 0; i < drawn->count; i += 5) { /* corners, the first once more */
        const struct drawn_place *corner = &drawn->at[i];
        double left = fmin(corner[0].x, corner[1].x), right = fmax(corner[0].x, corner[1].x), inside = 0.0;
        double height = fmax(corner[0].y, corner[2].y);
        for (size_t k = 0; k < count; k++) {
            inside += values[k] > left && values[k] < right;
        }
        near_abs(height, inside, drawn->y_step);
        near_abs(fmin(corner[0].y, corner[2].y), 0.0, drawn->y_step);
        all += inside;
    }
    near_abs(all, (double)count, 0.0); /* whole numbers */
}

START_TEST(the_histogram_counts_the_margins)
{
    double values[TESTS];
    draw_certificate();
    struct drawn bars = on_certificate("Head margin, m", "m", NULL, DRAWN_BAR);
    expect_bars(&bars, values, counted(head_margins_m, values));
    struct drawn limits = on_certificate("Head margin, m", "m", NULL, DRAWN_GUARANTEE);
    ck_assert_uint_eq(limits.count, 4); /* upright lines at 0 and at the room that all tests have */
    for (size_t i = 0; i < limits.count; i++) {
        near_abs(limits.at[i].x, i < 2 ? 0.0 : 5.0, limits.x_step);
    }
    bars = on_certificate("Efficiency margin, %", "%", NULL, DRAWN_BAR);
    expect_bars(&bars, values, counted(efficiency_margins, values));
    limits = on_certificate("Efficiency margin, %", "%", NULL, DRAWN_GUARANTEE);
    ck_assert_uint_eq(limits.count, 2);
    near_abs(limits.at[0].x, 0.0, limits.x_step);
}
END_TEST

/* All of a level's places lie at one of these. */
static void expect_levels(const struct drawn *drawn, double one, double other, size_t count)
{
    ck_assert_uint_eq(drawn->count, count);
    for (size_t i = 0; i < drawn->count; i++) {
        double y = drawn->at[i].y, want = fabs(y - one) < fabs(y - other) ? one : other;
        near_abs(y, want, drawn->y_step);
    }
}

/* A control chart of individuals, and that of their ranges: limits mean -+ 2.66 and 3.267 times the mean moving range
 * (ISO 7870-2:2013). Rings where these are passed; there is no run of nine. */
static void expect_control_charts(const double *values, size_t count, const char *name, const char *unit, bool ranges)
{
    double mean = 0.0, range = 0.0;
    for (size_t i = 0; i < count; i++) {
        mean += values[i] / (double)count;
        range += i > 0 ? fabs(values[i] - values[i - 1]) / (double)(count - 1) : 0.0;
    }
    double low = ranges ? 3.267 * range : mean - 2.66 * range, high = ranges ? low : mean + 2.66 * range;
    struct drawn units_ = on_certificate(name, NULL, unit, DRAWN_UNIT);
    struct drawn rings = on_certificate(name, NULL, unit, DRAWN_RING);
    size_t out = 0;
    for (size_t i = ranges; i < count; i++) {
        double step = i > 0 ? fabs(values[i] - values[i - 1]) : 0.0, value = ranges ? step : values[i];
        expect_at(&units_, (double)i + 1.0, value);
        if (ranges ? step > high : value < low || value > high) {
            expect_at(&rings, (double)i + 1.0, value);
            out++;
        }
    }
    ck_assert_uint_eq(units_.count, count - ranges);
    ck_assert_uint_eq(rings.count, out);
    ck_assert_uint_gt(out, 0); /* or rings would not be tested */
    struct drawn limits = on_certificate(name, NULL, unit, DRAWN_CONTROL_LIMIT);
    expect_levels(&limits, low, high, ranges ? 2 : 4);
    struct drawn middle = on_certificate(name, NULL, unit, DRAWN_MEAN);
    expect_levels(&middle, ranges ? range : mean, ranges ? range : mean, 2);
}

START_TEST(the_control_charts_show_the_units_in_order)
{
    double values[TESTS];
    draw_certificate();
    size_t count = counted(head_margins_m, values);
    expect_control_charts(values, count, "Head margin, m", "m", false);
    expect_control_charts(values, count, "Moving range, m", "m", true);
}
END_TEST

START_TEST(efficiency_has_its_own_control_chart)
{
    double values[TESTS];
    draw_certificate();
    size_t count = counted(efficiency_margins, values);
    struct drawn dots = on_certificate("Efficiency margin, %", NULL, "%", DRAWN_UNIT);
    for (size_t i = 0; i < count; i++) {
        expect_at(&dots, (double)i + 1.0, values[i]);
    }
    ck_assert_uint_eq(dots.count, count);
}
END_TEST

/* --- labels --- */

enum { LABELLED = 7 };

static const double indices[LABELLED] = {1.22, 1.31, 1.31, 1.28, 1.35, 1.24, 1.33};
static const double changed_by = 0.05;

static void draw_label(bool changed)
{
    static struct model model = {.name = "M-1"};
    static struct label_unit labelled[LABELLED];
    static size_t numbers[LABELLED];
    static struct label_tally tallies[] = {{.class_name = "2 star", .edge = 1.10},
                                           {.class_name = "3 star", .edge = 1.20},
                                           {.class_name = "4 star", .edge = 1.30}};
    static struct label_result typical = {.known = true, .scheme = "schedule 7"};
    struct label_batch batch = {.unit_count = LABELLED, .units = labelled, .changed = changed};
    struct label_line line = {.model = &model,
                              .typical = &typical,
                              .count = LABELLED,
                              .units = numbers,
                              .tally_count = COUNT(tallies),
                              .tallies = tallies,
                              .mean = quantity_of(0.0)};
    for (size_t i = 0; i < LABELLED; i++) {
        numbers[i] = i;
        labelled[i] = (struct label_unit){.model = &model, .label = typical, .changed = typical};
        labelled[i].label.index = quantity_of(indices[i]);
        labelled[i].changed.index = quantity_of(indices[i] + changed_by);
        labelled[i].changed.known = changed;
        line.mean.value += indices[i] / LABELLED;
    }
    size_t length = 0;
    FILE *to = open_memstream(&script, &length);
    ck_assert_ptr_nonnull(to);
    render_label_plot(&batch, &line, 90, 24, to);
    ck_assert_int_eq(fclose(to), 0);
}

static int compare(const void *a, const void *b)
{
    double p = *(const double *)a, q = *(const double *)b;
    return (p > q) - (p < q);
}

/* A dot a unit, piled up: where dots share a place they stand on each other. A place is a sixtieth of the axis wide, so
 * that a dot lies at most so far from its index. */
static void expect_dots(enum drawn_kind kind, double more)
{
    struct drawn dots = drawn_read(script, NULL, &(struct drawn_chart){"Units", NULL, NULL}, kind, &arena);
    double places[LABELLED], sorted[LABELLED];
    ck_assert_uint_eq(dots.count, LABELLED);
    for (size_t i = 0; i < LABELLED; i++) {
        size_t below = 0;
        for (size_t k = 0; k < i; k++) {
            below += dots.at[k].x == dots.at[i].x;
        }
        near_abs(dots.at[i].y, (double)below + 1.0, 0.0); /* whole numbers */
        places[i] = dots.at[i].x;
        sorted[i] = indices[i] + more;
    }
    qsort(places, LABELLED, sizeof *places, compare);
    qsort(sorted, LABELLED, sizeof *sorted, compare);
    for (size_t i = 0; i < LABELLED; i++) {
        near_abs(places[i], sorted[i], 0.25 / 60.0); /* the axis is less than 0.25 long: 1.20 to 1.40 and its margins */
    }
}

START_TEST(a_label_plot_has_a_dot_a_unit)
{
    draw_label(_i == 1);
    expect_dots(DRAWN_UNIT, 0.0);
    if (_i == 1) {
        expect_dots(DRAWN_CHANGED_UNIT, changed_by);
    }
}
END_TEST

/* The edges to either side of the mean, 9.04 / 7 = 1.29143, and the mean itself. */
START_TEST(a_label_plot_has_its_edges)
{
    struct drawn_upright uprights[8];
    draw_label(false);
    ck_assert_uint_eq(drawn_uprights(script, uprights, 8), 3);
    static const struct drawn_upright want[] = {{1.20, "3 star"}, {1.30, "4 star"}, {9.04 / 7.0, "mean"}};
    for (int i = 0; i < COUNT(want); i++) {
        near_abs(uprights[i].x, want[i].x, 1e-6); /* six decimals are written */
        ck_assert_str_eq(uprights[i].text, want[i].text);
    }
}
END_TEST

/* --- the record --- */

enum { BINS = 40 };

/* 400 s of a record, a bin of 10 s each: flow climbs from 5 to 15 L/s, pressure falls. Steady from 100 to 200 s, held
 * but not steady from 300 to 360 s. */
static void draw_record(struct inspection *inspection)
{
    static struct trace_bin bins[BINS];
    static struct settled_stretch stretches[] = {{100.0, 200.0, 1, true}, {300.0, 360.0, 2, false}};
    static struct settled_point points[2];
    *inspection = (struct inspection){.settled = {.kind = LOG_CONTINUOUS_RECORD,
                                                  .count = 2,
                                                  .points = points,
                                                  .stretch_count = 2,
                                                  .stretches = stretches,
                                                  .trace_count = BINS,
                                                  .trace = bins,
                                                  .trace_channels = {CH_FLOW, CH_GAUGE_PRESSURE, CHANNEL_COUNT}}};
    inspection->log.units[CH_FLOW] = unit_find(DIM_FLOW, "m³/h");
    inspection->log.units[CH_GAUGE_PRESSURE] = unit_find(DIM_PRESSURE, "bar");
    for (int i = 0; i < BINS; i++) {
        double share = (double)i / (BINS - 1);
        bins[i] = (struct trace_bin){.from_s = 10.0 * i, .to_s = 10.0 * i + 10.0};
        bins[i].lines[TRACE_FLOW] = (struct trace_range){.mean = 0.005 + 0.010 * share, .known = true};
        bins[i].lines[TRACE_PRESSURE] = (struct trace_range){.mean = 6e5 - 2e5 * share, .known = i != 7};
    }
    for (int i = 0; i < 2; i++) {
        points[i] = (struct settled_point){.number = i + 1, .readings = 10, .steady = i == 0};
        points[i].channels[CH_FLOW] = (struct channel_stats){.n = 10, .mean = i == 0 ? 0.0088 : 0.0133};
        points[i].channels[CH_GAUGE_PRESSURE] = (struct channel_stats){.n = 10, .mean = i == 0 ? 5.2e5 : 4.3e5};
    }
    size_t length = 0;
    FILE *to = open_memstream(&script, &length);
    ck_assert_ptr_nonnull(to);
    render_record_script(inspection, 90, 20, to);
    ck_assert_int_eq(fclose(to), 0);
}

static const struct {
    const char *name, *unit;
    enum trace_line line;
    enum channel channel;
} panels[] = {{"flow, m³/h", "m³/h", TRACE_FLOW, CH_FLOW},
              {"gauge pressure, bar", "bar", TRACE_PRESSURE, CH_GAUGE_PRESSURE}};

START_TEST(a_record_is_drawn_bin_by_bin)
{
    struct inspection inspection;
    draw_record(&inspection);
    struct drawn_chart chart = {panels[_i].name, NULL, panels[_i].unit};
    struct drawn drawn = drawn_read(script, NULL, &chart, DRAWN_TRACE, &arena);
    size_t next = 0;
    for (size_t i = 0; i < BINS; i++) {
        const struct trace_range *range = &inspection.settled.trace[i].lines[panels[_i].line];
        double time_s = 10.0 * (double)i + 5.0;
        if (range->known) {
            ck_assert_uint_lt(next, drawn.count);
            ck_assert(is_at(&drawn, next, time_s, range->mean));
            ck_assert_str_eq(drawn.at[next].mark, time_s > 100.0 && time_s < 200.0   ? "="
                                                  : time_s > 300.0 && time_s < 360.0 ? "?"
                                                                                     : ".");
            next++;
        }
    }
    ck_assert_uint_eq(drawn.count, next);
}
END_TEST

/* Above the middle of its stretch, clear of the record and inside the frame. */
START_TEST(stretches_carry_the_numbers_of_their_points)
{
    struct inspection inspection;
    draw_record(&inspection);
    struct drawn_chart chart = {panels[_i].name, NULL, panels[_i].unit};
    struct drawn drawn = drawn_read(script, NULL, &chart, DRAWN_NUMBER, &arena);
    ck_assert_uint_eq(drawn.count, 2);
    for (size_t i = 0; i < 2; i++) {
        near_abs(drawn.at[i].x, i == 0 ? 150.0 : 330.0, drawn.x_step);
        ck_assert_double_gt(drawn.at[i].y, inspection.settled.points[i].channels[panels[_i].channel].mean);
        ck_assert_str_eq(drawn.at[i].mark, i == 0 ? "1" : "2");
    }
}
END_TEST

Suite *drawn_suite(void);

Suite *drawn_suite(void)
{
    Suite *suite = suite_create("drawn");
    TCase *core = tcase_create("core");
    tcase_add_checked_fixture(core, setup, teardown);
    tcase_add_loop_test(core, each_point_is_marked_where_it_was_measured, 0, CASES);
    tcase_add_loop_test(core, points_of_the_pump_are_the_pumps, 0, CASES);
    tcase_add_loop_test(core, points_that_were_not_fitted_are_marked_apart, 0, CASES);
    tcase_add_loop_test(core, curves_are_those_that_were_fitted, 0, CASES);
    tcase_add_loop_test(core, bands_are_as_wide_as_the_fit_is_unsure, 0, CASES);
    tcase_add_test(core, the_data_hold_the_band_of_power);
    tcase_add_loop_test(core, the_cross_is_that_of_the_grade, 0, CASES * CROSSES);
    tcase_add_loop_test(core, the_ellipse_is_that_of_the_grade, 0, CASES);
    tcase_add_loop_test(core, guarantees_stand_with_their_limits, 0, 2);
    tcase_add_loop_test(core, the_sheet_names_the_way_of_measuring_flow, 0, COUNT(methods));
    tcase_add_test(core, head_curves_of_a_batch_lie_on_each_other);
    tcase_add_test(core, the_histogram_counts_the_margins);
    tcase_add_test(core, the_control_charts_show_the_units_in_order);
    tcase_add_test(core, efficiency_has_its_own_control_chart);
    tcase_add_loop_test(core, a_label_plot_has_a_dot_a_unit, 0, 2);
    tcase_add_test(core, a_label_plot_has_its_edges);
    tcase_add_loop_test(core, a_record_is_drawn_bin_by_bin, 0, COUNT(panels));
    tcase_add_loop_test(core, stretches_carry_the_numbers_of_their_points, 0, COUNT(panels));
    suite_add_tcase(suite, core);
    return suite;
}
