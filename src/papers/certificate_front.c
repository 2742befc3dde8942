#include "base/text.h"
#include "papers/certificate.h"
#include "tables/channel.h"

#include <string.h>

enum { CAUTIONS_SHOWN = 14, CAUTION_LINES = 2, SOURCE_LINES = 3, INSTRUMENT_LINES = 3 };

static const double signature_mm = 23.5; /* room for the lines and the safety note at the foot */

/* A block that does not fit goes to a further page. */
static void make_room(struct certificate *certificate, double height_mm)
{
    if (!certificate_fits(certificate, height_mm)) {
        char title[256];
        (void)snprintf(title, sizeof title, "Batch %.200s", certificate->batch->list->name);
        certificate_page(certificate, "Batch test certificate, continued", title);
    }
}

/* --- head and identity --- */

static void put_result(struct certificate *certificate)
{
    const struct batch_counts *counts = &certificate->summary->counts;
    bool fail = counts->failed > 0 || counts->routine_failed > 0, pass = counts->passed == counts->units && !fail;
    char text[96];
    page_box(certificate->page,
             fail   ? PEN_FILL_FAIL
             : pass ? PEN_PASS
                    : PEN_HEAVY,
             138.0, 11.0, CERTIFICATE_RIGHT_MM, 23.0);
    enum ink ink = fail ? INK_WHITE : pass ? INK_GREEN : INK_BLACK;
    double middle_mm = (138.0 + CERTIFICATE_RIGHT_MM) / 2.0;
    (void)snprintf(text, sizeof text, "%s %zu OF %zu PASS",
                   pass   ? "✔"
                   : fail ? "✘"
                          : "–",
                   counts->passed, counts->units);
    page_put(certificate->page, TYPE_TITLE, ink, ALIGN_CENTRE, middle_mm, pass ? 17.0 : 15.6, 0.0, text);
    if (!pass) {
        int used = snprintf(text, sizeof text, "%zu fail, %zu not judged", counts->failed, counts->not_judged);
        if (counts->routine_failed > 0) {
            (void)snprintf(text + used, sizeof text - (size_t)used, ", %zu fail routine tests", counts->routine_failed);
        }
        page_put(certificate->page, TYPE_TEXT, ink, ALIGN_CENTRE, middle_mm, 20.6, 0.0, text);
    }
}

static void put_field(struct certificate *certificate, double x_mm, const char *name, const char *value)
{
    page_put(certificate->page, TYPE_TEXT, INK_GREY, ALIGN_LEFT, x_mm, certificate->y_mm, 0.0, name);
    page_put(certificate->page, TYPE_TEXT, INK_BLACK, ALIGN_LEFT, x_mm + 19.0, certificate->y_mm, 70.0,
             value[0] != '\0' ? value : "not stated");
}

static void put_identity(struct certificate *certificate)
{
    const struct batch *batch = certificate->batch;
    const struct batch_summary *summary = certificate->summary;
    char text[128], first[FIGURE_TEXT], last[FIGURE_TEXT];
    put_field(certificate, 14.0, "batch", batch->list->name);
    (void)snprintf(text, sizeof text, "%zu serial numbers, %zu tests", summary->counts.units, summary->counts.tests);
    put_field(certificate, 107.0, "holds", text);
    certificate->y_mm += CERTIFICATE_ROW_MM;
    put_field(certificate, 14.0, "test bay", batch->bay->rig.name);
    (void)snprintf(text, sizeof text, "%s to %s", figure_date(&summary->first_tested, first),
                   figure_date(&summary->last_tested, last));
    put_field(certificate, 107.0, "tested", summary->first_tested.known ? text : "");
    certificate->y_mm += CERTIFICATE_ROW_MM + 2.5;
}

/* --- counts --- */

static void counts_row(struct certificate *certificate, const struct certificate_column *columns, const char *name,
                       const struct batch_counts *counts)
{
    const size_t numbers[] = {counts->units,      counts->passed,   counts->failed,
                              counts->not_judged, counts->retested, counts->overdue};
    certificate_cell(certificate, &columns[0], INK_BLACK, name);
    for (size_t i = 0; i < sizeof numbers / sizeof numbers[0]; i++) {
        char text[32];
        (void)snprintf(text, sizeof text, "%zu", numbers[i]);
        certificate_cell(certificate, &columns[i + 1], INK_BLACK, text);
    }
    certificate->y_mm += CERTIFICATE_ROW_MM;
}

static void put_counts(struct certificate *certificate)
{
    static const struct certificate_column columns[] = {
        {"model", NULL, ALIGN_LEFT, 14.0, 50.0},
        {"tested", NULL, ALIGN_RIGHT, 82.0, 0.0},
        {"passed", NULL, ALIGN_RIGHT, 100.0, 0.0},
        {"failed", NULL, ALIGN_RIGHT, 118.0, 0.0},
        {"not judged", NULL, ALIGN_RIGHT, 138.0, 0.0},
        {"retested", NULL, ALIGN_RIGHT, 157.0, 0.0},
        {"calibration overdue", NULL, ALIGN_RIGHT, 196.0, 0.0},
    };
    const struct batch_summary *summary = certificate->summary;
    certificate_heading(certificate, "Units by the test that counts");
    certificate_columns(certificate, columns, sizeof columns / sizeof columns[0]);
    for (size_t i = 0; i < summary->section_count; i++) {
        make_room(certificate, 2 * CERTIFICATE_ROW_MM);
        counts_row(certificate, columns, summary->sections[i].model->name, &summary->sections[i].counts);
    }
    if (summary->stray > 0) {
        char text[64];
        (void)snprintf(text, sizeof text, "model not known: %zu %s", summary->stray,
                       summary->stray == 1 ? "test" : "tests");
        certificate_cell(certificate, &columns[0], INK_BLACK, text);
        certificate->y_mm += CERTIFICATE_ROW_MM;
    }
    if (summary->section_count != 1 || summary->stray > 0) {
        counts_row(certificate, columns, "whole batch", &summary->counts);
    }
    certificate->y_mm += 2.5;
}

/* --- guarantees --- */

static void guarantee_row(struct certificate *certificate, const struct certificate_column *columns,
                          const struct model *model, size_t point)
{
    const struct duty *duty = &model->duties[point];
    struct figure_units units = figure_units_of(model);
    char text[FIGURE_TEXT + 32];
    certificate_cell(certificate, &columns[0], INK_BLACK, point == 0 ? model->name : "");
    certificate_cell(certificate, &columns[1], INK_BLACK, figure_text(FIGURE_FLOW, &units, duty->flow_m3s, text));
    certificate_cell(certificate, &columns[2], INK_BLACK, figure_text(FIGURE_HEAD, &units, duty->head_m, text));
    (void)figure_text(FIGURE_EFFICIENCY, &units, duty->efficiency, text);
    if (duty->efficiency.known) {
        size_t used = strlen(text);
        (void)text_put(text + used, sizeof text - used, duty->efficiency_of_pump ? " (pump)" : " (set)");
    }
    certificate_cell(certificate, &columns[3], INK_BLACK, text);
    certificate_cell(certificate, &columns[4], INK_BLACK, figure_text(FIGURE_POWER, &units, duty->input_power_w, text));
    certificate_cell(certificate, &columns[5], INK_BLACK, duty->grade != NULL ? duty->grade->name : "not stated");
    size_t lines = page_wrap(certificate->page, INK_BLACK, columns[6].at_mm, certificate->y_mm, columns[6].width_mm,
                             SOURCE_LINES, duty->grade != NULL ? duty->grade->source : "-");
    certificate->y_mm += (double)lines * TEXT_LEADING_MM + 0.3;
}

static void put_guarantees(struct certificate *certificate)
{
    static const struct certificate_column columns[] = {
        {"model", NULL, ALIGN_LEFT, 14.0, 24.0},        {"flow", NULL, ALIGN_RIGHT, 54.0, 0.0},
        {"head", NULL, ALIGN_RIGHT, 68.0, 0.0},         {"efficiency", NULL, ALIGN_RIGHT, 88.0, 0.0},
        {"input power", NULL, ALIGN_RIGHT, 105.0, 0.0}, {"grade", NULL, ALIGN_LEFT, 108.0, 19.0},
        {"limits by", NULL, ALIGN_LEFT, 128.0, 68.0},
    };
    const struct batch_summary *summary = certificate->summary;
    make_room(certificate, 6 * CERTIFICATE_ROW_MM);
    certificate_heading(certificate, "Guaranteed duty");
    certificate_columns(certificate, columns, sizeof columns / sizeof columns[0]);
    for (size_t i = 0; i < summary->section_count; i++) {
        for (size_t point = 0; point < summary->sections[i].duty_count; point++) {
            make_room(certificate, SOURCE_LINES * CERTIFICATE_ROW_MM);
            guarantee_row(certificate, columns, summary->sections[i].model, point);
        }
    }
    certificate->y_mm += 2.5;
}

/* --- statistics --- */

static void statistics_row(struct certificate *certificate, const struct certificate_column *columns,
                           const struct batch_section *section, size_t point, const struct batch_series *series)
{
    struct figure_units units = figure_units_of(section->model);
    enum figure figure = series->head ? FIGURE_HEAD : FIGURE_EFFICIENCY;
    char text[160];
    (void)snprintf(text, sizeof text, section->duty_count > 1 ? "%.80s, point %zu" : "%.80s", section->model->name,
                   point + 1);
    certificate_cell(certificate, &columns[0], INK_BLACK, text);
    certificate_cell(certificate, &columns[1], INK_BLACK, series->name);
    (void)snprintf(text, sizeof text, "%zu", series->count);
    certificate_cell(certificate, &columns[2], INK_BLACK, text);
    const struct quantity values[] = {quantity_of(series->mean), series->deviation, quantity_of(series->least),
                                      quantity_of(series->greatest)};
    for (size_t i = 0; i < sizeof values / sizeof values[0]; i++) {
        certificate_cell(certificate, &columns[3 + i], INK_BLACK, figure_text(figure, &units, values[i], text));
    }
    certificate_cell(certificate, &columns[7], INK_BLACK, figure_index(series->cpk, text));
    certificate_cell(certificate, &columns[8], INK_BLACK, figure_index(series->ppk, text));
    (void)snprintf(text, sizeof text, "%zu", series->out_count);
    certificate_cell(certificate, &columns[9], series->out_count > 0 ? INK_VERMILLION : INK_BLACK,
                     series->low.known ? text : "-");
    certificate->y_mm += CERTIFICATE_ROW_MM;
}

static void put_statistics(struct certificate *certificate)
{
    static const struct certificate_column columns[] = {
        {"model", NULL, ALIGN_LEFT, 14.0, 36.0},          {"margin", NULL, ALIGN_LEFT, 51.0, 0.0},
        {"units", NULL, ALIGN_RIGHT, 85.0, 0.0},          {"mean", NULL, ALIGN_RIGHT, 101.0, 0.0},
        {"std deviation", NULL, ALIGN_RIGHT, 121.0, 0.0}, {"least", NULL, ALIGN_RIGHT, 135.0, 0.0},
        {"greatest", NULL, ALIGN_RIGHT, 150.0, 0.0},      {"Cpk", NULL, ALIGN_RIGHT, 161.0, 0.0},
        {"Ppk", NULL, ALIGN_RIGHT, 172.0, 0.0},           {"out of control", NULL, ALIGN_RIGHT, 196.0, 0.0},
    };
    static const char note[] =
        "Cpk by the mean moving range / 1.128, Ppk by the standard deviation of the whole batch: "
        "the nearer limit, in units of three standard deviations (ISO 22514, from memory). "
        "They describe the process only where the chart shows it in control, "
        "and with fewer than 20 units they are rough (common practice, no source).";
    const struct batch_summary *summary = certificate->summary;
    make_room(certificate, 9 * CERTIFICATE_ROW_MM);
    certificate_heading(certificate, "Margins above the least that is permitted");
    certificate_columns(certificate, columns, sizeof columns / sizeof columns[0]);
    for (size_t i = 0; i < summary->section_count; i++) {
        const struct batch_section *section = &summary->sections[i];
        for (size_t point = 0; point < section->duty_count; point++) {
            const struct batch_series *both[] = {&section->head[point], &section->efficiency[point]};
            for (size_t k = 0; k < 2; k++) {
                if (both[k]->count > 0) {
                    make_room(certificate, CERTIFICATE_ROW_MM);
                    statistics_row(certificate, columns, section, point, both[k]);
                }
            }
        }
    }
    make_room(certificate, 2 * CERTIFICATE_ROW_MM);
    size_t lines = page_wrap(certificate->page, INK_GREY, CERTIFICATE_LEFT_MM, certificate->y_mm,
                             CERTIFICATE_RIGHT_MM - CERTIFICATE_LEFT_MM, 3, note);
    certificate->y_mm += (double)lines * TEXT_LEADING_MM + 2.5;
}

/* --- instruments --- */

/* How many tests read this instrument, and how many of them after it was due. */
static void count_uses(const struct batch *batch, const struct instrument *instrument, size_t *used, size_t *late)
{
    *used = *late = 0;
    for (size_t i = 0; i < batch->count; i++) {
        const struct batch_test *test = &batch->tests[i];
        if (test->unread || (test->channels >> instrument->channel & 1U) == 0) {
            continue;
        }
        *used += 1;
        *late += instrument->due.known && test->tested.known && date_compare_days(&test->tested, &instrument->due) > 0;
    }
}

static bool same_date(const struct date *a, const struct date *b)
{
    return a->known == b->known && (!a->known || date_compare_days(a, b) == 0);
}

/* One instrument often serves several channels. */
static bool same_instrument(const struct instrument *a, const struct instrument *b)
{
    return strcmp(a->serial, b->serial) == 0 && strcmp(a->certificate, b->certificate) == 0 &&
           a->accuracy.known == b->accuracy.known && a->accuracy.value == b->accuracy.value && a->basis == b->basis &&
           same_date(&a->calibrated, &b->calibrated) && same_date(&a->due, &b->due);
}

static void put_calibration(struct certificate *certificate, const struct certificate_column *column,
                            const struct instrument *instrument, size_t used, size_t late)
{
    char text[96];
    if (late > 0) {
        (void)snprintf(text, sizeof text, "overdue: %zu of %zu tests", late, used);
    } else {
        (void)snprintf(text, sizeof text, "%s", instrument->due.known ? "valid" : "due date not stated");
    }
    certificate_cell(certificate, column, late > 0 ? INK_VERMILLION : INK_BLACK, text);
}

static void instrument_row(struct certificate *certificate, const struct certificate_column *columns,
                           const struct instrument *instrument, const char *channels, size_t used, size_t late)
{
    char text[FIGURE_TEXT + 32];
    struct figure_units units = figure_units_of(NULL);
    size_t lines = page_wrap(certificate->page, INK_BLACK, columns[0].at_mm, certificate->y_mm, columns[0].width_mm,
                             INSTRUMENT_LINES, channels);
    certificate_cell(certificate, &columns[1], INK_BLACK, instrument->serial);
    (void)figure_text(FIGURE_UNCERTAINTY, &units, instrument->accuracy, text);
    if (instrument->accuracy.known) {
        size_t length = strlen(text);
        (void)text_put(text + length, sizeof text - length,
                       instrument->basis == ACCURACY_OF_READING ? " of reading" : " of range");
    }
    certificate_cell(certificate, &columns[2], INK_BLACK, text);
    certificate_cell(certificate, &columns[3], INK_BLACK, figure_date(&instrument->calibrated, text));
    certificate_cell(certificate, &columns[4], INK_BLACK, figure_date(&instrument->due, text));
    certificate_cell(certificate, &columns[5], INK_BLACK, instrument->certificate);
    put_calibration(certificate, &columns[6], instrument, used, late);
    certificate->y_mm += (double)(lines > 1 ? lines : 1) * TEXT_LEADING_MM;
}

/* The rows from `first` on that are one instrument: their channels, and how often it was used and was late. Returns:
 * false when nothing reads it, or an earlier row has told of it. */
static bool gather_instrument(const struct batch *batch, size_t first, char *channels, size_t size, size_t *used,
                              size_t *late)
{
    const struct instrument *items = batch->bay->instruments;
    size_t length = 0;
    *used = *late = 0;
    for (size_t i = 0; i < batch->bay->instrument_count; i++) {
        size_t used_here, late_here;
        if (!same_instrument(&items[i], &items[first])) {
            continue;
        }
        count_uses(batch, &items[i], &used_here, &late_here);
        if (used_here > 0 && i < first) {
            return false;
        }
        if (used_here > 0 && length < size) {
            int more = snprintf(channels + length, size - length, "%s%s", length > 0 ? ", " : "",
                                channel_info(items[i].channel)->name);
            length += more > 0 ? (size_t)more : 0;
        }
        *used = used_here > *used ? used_here : *used;
        *late = late_here > *late ? late_here : *late;
    }
    return *used > 0;
}

static void put_instruments(struct certificate *certificate)
{
    static const struct certificate_column columns[] = {
        {"channels", NULL, ALIGN_LEFT, 14.0, 46.0},     {"serial", NULL, ALIGN_LEFT, 62.0, 20.0},
        {"accuracy", NULL, ALIGN_LEFT, 83.0, 26.0},     {"calibrated", NULL, ALIGN_LEFT, 110.0, 0.0},
        {"due", NULL, ALIGN_LEFT, 127.0, 0.0},          {"certificate", NULL, ALIGN_LEFT, 143.0, 17.5},
        {"calibration", NULL, ALIGN_LEFT, 161.0, 35.0},
    };
    const struct batch *batch = certificate->batch;
    make_room(certificate, 6 * CERTIFICATE_ROW_MM);
    certificate_heading(certificate, "Instruments");
    certificate_columns(certificate, columns, sizeof columns / sizeof columns[0]);
    size_t shown = 0;
    for (size_t i = 0; i < batch->bay->instrument_count; i++) {
        size_t used, late;
        char channels[256];
        if (gather_instrument(batch, i, channels, sizeof channels, &used, &late)) {
            make_room(certificate, INSTRUMENT_LINES * CERTIFICATE_ROW_MM);
            instrument_row(certificate, columns, &batch->bay->instruments[i], channels, used, late);
            shown++;
        }
    }
    if (shown == 0) {
        page_put(certificate->page, TYPE_TEXT, INK_BLACK, ALIGN_LEFT, CERTIFICATE_LEFT_MM, certificate->y_mm, 0.0,
                 "none is stated in instruments.csv");
        certificate->y_mm += CERTIFICATE_ROW_MM;
    }
    certificate->y_mm += 2.5;
}

/* --- cautions and signatures --- */

static void put_caution(struct certificate *certificate, const char *who, const char *text)
{
    static const double text_mm = 44.0;
    double width_mm = CERTIFICATE_RIGHT_MM - text_mm;
    size_t lines = page_wrap_lines(certificate->page, width_mm, CAUTION_LINES, text);
    make_room(certificate, (double)lines * TEXT_LEADING_MM);
    page_put(certificate->page, TYPE_TEXT, INK_GREY, ALIGN_LEFT, CERTIFICATE_LEFT_MM, certificate->y_mm,
             text_mm - CERTIFICATE_LEFT_MM - 1.0, who);
    (void)page_wrap(certificate->page, INK_BLACK, text_mm, certificate->y_mm, width_mm, CAUTION_LINES, text);
    certificate->y_mm += (double)lines * TEXT_LEADING_MM;
}

/* Tests whose log contradicts the list, or of which the list does not tell the order. */
static size_t put_contradictions(struct certificate *certificate)
{
    const struct batch *batch = certificate->batch;
    size_t shown = 0;
    for (size_t i = 0; i < batch->count && shown < CAUTIONS_SHOWN; i++) {
        const struct batch_test *test = &batch->tests[i];
        char text[256];
        if (test->own_serial != NULL) {
            (void)snprintf(text, sizeof text, "the log states the serial %.80s: check that it belongs to this unit",
                           test->own_serial);
            put_caution(certificate, test->serial, text);
            shown++;
        }
        if (test->undated && test->tests > 1 && test->attempt == test->tests) {
            put_caution(certificate, test->serial,
                        "not every test of this serial states its date: the one that is listed last counts");
            shown++;
        }
    }
    return shown;
}

static void put_cautions(struct certificate *certificate)
{
    const struct batch *batch = certificate->batch;
    make_room(certificate, 4 * CERTIFICATE_ROW_MM);
    certificate_heading(certificate, "Cautions");
    size_t shown = put_contradictions(certificate), left_out = batch->further_cautions;
    for (size_t i = 0; i < batch->caution_count; i++) {
        const struct batch_caution *caution = &batch->cautions[i];
        char who[160];
        if (shown >= CAUTIONS_SHOWN) {
            left_out += caution->tests;
            continue;
        }
        (void)snprintf(who, sizeof who, caution->tests == 1 ? "%.80s" : "%.80s and %zu more", caution->first_serial,
                       caution->tests - 1);
        put_caution(certificate, who, caution->text);
        shown++;
    }
    char text[128];
    if (left_out > 0) {
        (void)snprintf(text, sizeof text, "%zu more: see batch.json and the sheets of the units", left_out);
        put_caution(certificate, "", text);
    } else if (shown == 0) {
        put_caution(certificate, "", "none");
    }
}

/* The usual cautions of a test bay (common practice, no source), and lines to sign on. */
static void put_signatures(struct certificate *certificate)
{
    static const char safety[] =
        "Safety: the test pipework is under pressure: vent it before opening a joint. "
        "Motor terminals are live, three-phase in most sets: isolate, lock off and prove dead. "
        "Never run a set dry. Lift only with rated gear at the marked points. Local codes come first; "
        "electrical and lifting work is for licensed persons.";
    static const char *const roles[] = {"tested by", "checked by", "approved"};
    make_room(certificate, signature_mm);
    struct page *page = certificate->page;
    (void)page_wrap(page, INK_GREY, CERTIFICATE_LEFT_MM, CERTIFICATE_BOTTOM_MM - 22.0,
                    CERTIFICATE_RIGHT_MM - CERTIFICATE_LEFT_MM, 3, safety);
    for (size_t i = 0; i < sizeof roles / sizeof roles[0]; i++) {
        double x_mm = CERTIFICATE_LEFT_MM + (double)i * 64.0, line_mm = CERTIFICATE_BOTTOM_MM - 3.0;
        char text[96];
        page_rule(page, PEN_THIN, x_mm, line_mm, x_mm + 54.0, line_mm);
        (void)snprintf(text, sizeof text, "%s: name, signature, date", roles[i]);
        page_put(page, TYPE_TEXT, INK_GREY, ALIGN_LEFT, x_mm, line_mm + 2.2, 0.0, text);
    }
}

void certificate_front(struct certificate *certificate)
{
    char title[256];
    (void)snprintf(title, sizeof title, "Batch %.200s", certificate->batch->list->name);
    certificate_page(certificate, "Certificate of a batch of submersible pump sets, against their guaranteed duty",
                     title);
    void (*const blocks[])(struct certificate *) = {put_result,     put_identity,    put_counts,   put_guarantees,
                                                    put_statistics, put_instruments, put_cautions, put_signatures};
    for (size_t i = 0; i < sizeof blocks / sizeof blocks[0] && !certificate->failed; i++) {
        blocks[i](certificate);
    }
}
