/* The table of every test of a model, paged, its headings repeated */
#include "papers/batch_words.h"
#include "papers/certificate.h"

#include <string.h>

enum {
    NUMBER,
    SERIAL,
    TESTED,
    HEAD,
    HEAD_MARGIN,
    FLOW,
    EFFICIENCY,
    EFFICIENCY_MARGIN,
    POWER,
    CONFORMS,
    VERDICT,
    REMARK
};
enum { COLUMNS = REMARK + 1 };

static const struct certificate_column places[COLUMNS] = {
    [NUMBER] = {"", NULL, ALIGN_RIGHT, 19.5, 0.0},
    [SERIAL] = {"serial", NULL, ALIGN_LEFT, 21.0, 23.5},
    [TESTED] = {"tested", NULL, ALIGN_LEFT, 45.0, 15.5},
    [HEAD] = {"H at Q", NULL, ALIGN_RIGHT, 71.0, 0.0},
    [HEAD_MARGIN] = {"margin", NULL, ALIGN_RIGHT, 81.5, 0.0},
    [FLOW] = {"Q at H", NULL, ALIGN_RIGHT, 92.5, 0.0},
    [EFFICIENCY] = {"η at Q", NULL, ALIGN_RIGHT, 102.5, 0.0},
    [EFFICIENCY_MARGIN] = {"margin", NULL, ALIGN_RIGHT, 112.5, 0.0},
    [POWER] = {"P₁ at Q", NULL, ALIGN_RIGHT, 124.0, 0.0},
    [CONFORMS] = {"conforms", NULL, ALIGN_RIGHT, 136.5, 0.0},
    [VERDICT] = {"verdict", NULL, ALIGN_LEFT, 138.5, 19.5},
    [REMARK] = {"remark", NULL, ALIGN_LEFT, 158.5, 37.5},
};

static bool of_pump(const struct model *model)
{
    for (size_t i = 0; i < model->duty_count; i++) {
        if (model->duties[i].efficiency.known) {
            return model->duties[i].efficiency_of_pump;
        }
    }
    return false;
}

static void begin_page(struct certificate *certificate, const struct batch_section *section)
{
    struct certificate_column columns[COLUMNS];
    struct figure_units units = figure_units_of(section->model);
    char over[200], title[200];
    (void)snprintf(over, sizeof over, "Batch %.150s: tests", certificate->batch->list->name);
    (void)snprintf(title, sizeof title, "Model %.180s", section->model->name);
    certificate_page(certificate, over, title);
    memcpy(columns, places, sizeof columns);
    columns[HEAD].unit = columns[HEAD_MARGIN].unit = units.head->name;
    columns[FLOW].unit = units.flow->name;
    columns[EFFICIENCY].unit = of_pump(section->model) ? "pump, %" : "set, %";
    columns[EFFICIENCY_MARGIN].unit = columns[CONFORMS].unit = "%";
    columns[POWER].unit = units.power->name;
    certificate_columns(certificate, columns, COLUMNS);
}

static void quantity_cell(struct certificate *certificate, int column, enum ink ink, enum figure figure,
                          const struct figure_units *units, struct quantity value)
{
    char text[FIGURE_TEXT];
    certificate_cell(certificate, &places[column], ink, figure_number(figure, units, value, text));
}

static void margin_cell(struct certificate *certificate, int column, enum ink ink, enum figure figure,
                        const struct figure_units *units, struct quantity value)
{
    char text[FIGURE_TEXT];
    certificate_cell(certificate, &places[column], ink, figure_margin(figure, units, value, text));
}

/* To the nearer side of the tolerance: a curve that lies too high is as far off as one too low. */
static struct quantity head_margin(const struct batch_duty *duty)
{
    struct quantity low_m = duty->head_margin_m, room_m = duty->head_room_m;
    bool high = low_m.known && room_m.known && room_m.value - low_m.value < low_m.value;
    return high && room_m.value - low_m.value < 0.0 ? quantity_of(room_m.value - low_m.value) : low_m;
}

static void duty_cells(struct certificate *certificate, const struct batch_test *test, size_t duty, enum ink ink)
{
    const struct batch_duty *read = &test->duties[duty];
    struct figure_units units = figure_units_of(test->model);
    quantity_cell(certificate, HEAD, ink, FIGURE_HEAD, &units, read->head_m);
    margin_cell(certificate, HEAD_MARGIN, ink, FIGURE_HEAD, &units, head_margin(read));
    quantity_cell(certificate, FLOW, ink, FIGURE_FLOW, &units, read->flow_m3s);
    quantity_cell(certificate, EFFICIENCY, ink, FIGURE_EFFICIENCY, &units,
                  read->efficiency.known ? read->efficiency
                  : of_pump(test->model) ? read->pump_efficiency
                                         : read->set_efficiency);
    margin_cell(certificate, EFFICIENCY_MARGIN, ink, FIGURE_EFFICIENCY, &units, read->efficiency_margin);
    quantity_cell(certificate, POWER, ink, FIGURE_POWER, &units, read->input_power_w);
    if (duty == 0) {
        quantity_cell(certificate, CONFORMS, ink, FIGURE_PROBABILITY, &units, test->conformance_probability);
    }
}

static void verdict_cell(struct certificate *certificate, const struct batch_test *test)
{
    bool pass = test->verdict == VERDICT_PASS, fail = test->verdict == VERDICT_FAIL;
    char text[64];
    (void)snprintf(text, sizeof text, "%s %s", pass ? "✔" : fail ? "✘" : "–", verdict_name(test->verdict));
    enum ink ink = test->superseded ? INK_GREY : pass ? INK_GREEN : fail ? INK_VERMILLION : INK_BLACK;
    certificate_cell(certificate, &places[VERDICT], ink, text);
}

static void remark_text(struct certificate *certificate, const struct batch_test *test, char *text, size_t size)
{
    struct arena arena = {0};
    const char *reason = batch_reason_text(test, &arena);
    certificate->failed = certificate->failed || reason == NULL;
    reason = reason == NULL ? "" : reason;
    const char *calibration = test->calibration == CALIBRATION_OVERDUE ? "calibration overdue" : "";
    const char *between = calibration[0] != '\0' && reason[0] != '\0' ? "; " : "";
    if (test->superseded) {
        (void)snprintf(text, size, "test %zu of %zu, superseded", test->attempt, test->tests);
    } else if (test->tests > 1) {
        (void)snprintf(text, size, "retest, counts%s%s%s%.300s", calibration[0] != '\0' ? "; " : "", calibration,
                       reason[0] != '\0' ? "; " : "", reason);
    } else {
        (void)snprintf(text, size, "%s%s%.300s", calibration, between, reason);
    }
    arena_release(&arena);
}

static void test_rows(struct certificate *certificate, const struct batch_section *section,
                      const struct batch_test *test, size_t number)
{
    char text[480], date[FIGURE_TEXT];
    size_t rows = test->unread || test->duty_count == 0 ? 1 : test->duty_count;
    enum ink ink = test->superseded ? INK_GREY : INK_BLACK;
    if (!certificate_fits(certificate, (double)rows * CERTIFICATE_ROW_MM)) {
        begin_page(certificate, section);
    }
    if (number % 5 == 0) { /* a pale rule after every fifth guides the eye */
        double rule_mm = certificate->y_mm + ((double)rows - 0.5) * CERTIFICATE_ROW_MM;
        page_rule(certificate->page, PEN_GRID, CERTIFICATE_LEFT_MM, rule_mm, CERTIFICATE_RIGHT_MM, rule_mm);
    }
    (void)snprintf(text, sizeof text, "%zu", number);
    certificate_cell(certificate, &places[NUMBER], INK_GREY, text);
    certificate_cell(certificate, &places[SERIAL], ink, test->serial);
    certificate_cell(certificate, &places[TESTED], ink, figure_date(&test->tested, date));
    verdict_cell(certificate, test);
    remark_text(certificate, test, text, sizeof text);
    certificate_cell(certificate, &places[REMARK], ink, text);
    for (size_t duty = 0; duty < rows; duty++) {
        if (!test->unread && duty < test->duty_count) {
            duty_cells(certificate, test, duty, ink);
        }
        certificate->y_mm += CERTIFICATE_ROW_MM;
    }
}

static void put_legend(struct certificate *certificate, const struct batch_section *section)
{
    char text[600];
    (void)snprintf(
        text, sizeof text,
        "Q and H: the guaranteed flow and head%s. Margin: "
        "how far the curve clears the lower side of its tolerance, as head at Q (where it lies too high: how far), "
        "and how far the efficiency, where its grade reads it, lies above the least permitted. Conforms: "
        "probability that the true values meet every check (JCGM 106), beside the verdict, "
        "never in its place. Reasons in full: batch.csv. At rated speed.",
        section->duty_count > 1 ? ", a line for each guaranteed point" : "");
    if (!certificate_fits(certificate, 10.0)) {
        begin_page(certificate, section);
    }
    double width_mm = CERTIFICATE_RIGHT_MM - CERTIFICATE_LEFT_MM;
    (void)page_wrap(certificate->page, INK_GREY, CERTIFICATE_LEFT_MM, certificate->y_mm + 1.5, width_mm, 3, text);
}

void certificate_tests(struct certificate *certificate, const struct batch_section *section)
{
    size_t number = 0;
    begin_page(certificate, section);
    for (size_t i = 0; i < certificate->batch->count && !certificate->failed; i++) {
        const struct batch_test *test = &certificate->batch->tests[i];
        if (test->model == section->model) {
            test_rows(certificate, section, test, ++number);
        }
    }
    put_legend(certificate, section);
}
