#include "base/files.h"
#include "papers/render_batch.h"

#include "papers/certificate.h"
#include "papers/gnuplot.h"

#include <string.h>

static const double footer_mm = 287.0;

/* --- pages and blocks --- */

void certificate_page(struct certificate *certificate, const char *over, const char *title)
{
    struct page *page = arena_alloc(&certificate->arena, 1, sizeof *page);
    struct page **place =
        page == NULL ? NULL
                     : arena_push(&certificate->arena, &certificate->pages, &certificate->page_count, sizeof *place);
    if (place == NULL) {
        certificate->failed = true;
        certificate->page = &certificate->spare;
        return;
    }
    *place = certificate->page = page;
    page_put(page, TYPE_TEXT, INK_GREY, ALIGN_LEFT, CERTIFICATE_LEFT_MM, 13.0, 120.0, over);
    page_put(page, TYPE_TITLE, INK_BLACK, ALIGN_LEFT, CERTIFICATE_LEFT_MM, 19.5, 120.0, title);
    page_rule(page, PEN_HEAVY, CERTIFICATE_LEFT_MM, 26.0, CERTIFICATE_RIGHT_MM, 26.0);
    certificate->y_mm = CERTIFICATE_TOP_MM;
}

void certificate_heading(struct certificate *certificate, const char *text)
{
    page_put(certificate->page, TYPE_TEXT, INK_BLACK, ALIGN_LEFT, CERTIFICATE_LEFT_MM, certificate->y_mm, 0.0, text);
    certificate->y_mm += CERTIFICATE_ROW_MM + 0.6;
}

void certificate_cell(struct certificate *certificate, const struct certificate_column *column, enum ink ink,
                      const char *text)
{
    page_put(certificate->page, TYPE_TEXT, ink, column->align, column->at_mm, certificate->y_mm, column->width_mm,
             text);
}

void certificate_columns(struct certificate *certificate, const struct certificate_column *columns, size_t count)
{
    bool units = false;
    for (size_t i = 0; i < count; i++) {
        certificate_cell(certificate, &columns[i], INK_GREY, columns[i].heading);
        units = units || columns[i].unit != NULL;
    }
    certificate->y_mm += units ? 3.2 : 0.0;
    for (size_t i = 0; i < count; i++) {
        if (columns[i].unit != NULL) {
            certificate_cell(certificate, &columns[i], INK_GREY, columns[i].unit);
        }
    }
    double rule_mm = certificate->y_mm + 2.2;
    page_rule(certificate->page, PEN_THIN, CERTIFICATE_LEFT_MM, rule_mm, CERTIFICATE_RIGHT_MM, rule_mm);
    certificate->y_mm += 4.6;
}

bool certificate_fits(const struct certificate *certificate, double height_mm)
{
    return certificate->y_mm + height_mm <= CERTIFICATE_BOTTOM_MM;
}

static void put_footer(struct certificate *certificate, size_t number)
{
    const struct batch *batch = certificate->batch;
    struct page *page = certificate->pages[number];
    char text[512];
    page_rule(page, PEN_PALE, CERTIFICATE_LEFT_MM, footer_mm - 2.4, CERTIFICATE_RIGHT_MM, footer_mm - 2.4);
    (void)snprintf(text, sizeof text, "SHA-256 %s of list %.200s", batch->list->sha256, file_base(batch->list->file));
    page_put(page, TYPE_TEXT, INK_GREY, ALIGN_LEFT, CERTIFICATE_LEFT_MM, footer_mm, 143.0, text);
    (void)snprintf(text, sizeof text, "dutyproof " DUTYPROOF_VERSION " · page %zu of %zu", number + 1,
                   certificate->page_count);
    page_put(page, TYPE_TEXT, INK_GREY, ALIGN_RIGHT, CERTIFICATE_RIGHT_MM, footer_mm, 0.0, text);
}

/* --- the script --- */

static void collect(struct certificate *certificate)
{
    const struct batch_summary *summary = certificate->summary;
    certificate_front(certificate);
    for (size_t i = 0; i < summary->section_count && !certificate->failed; i++) {
        const struct batch_section *section = &summary->sections[i];
        certificate_tests(certificate, section);
        for (size_t duty = 0; duty < section->duty_count && !certificate->failed; duty++) {
            if (section->head[duty].count > 0) {
                certificate_charts(certificate, section, duty);
            }
        }
    }
    for (size_t i = 0; i < certificate->page_count && !certificate->failed; i++) {
        put_footer(certificate, i);
    }
}

enum status render_certificate_script(const struct batch *batch, const struct batch_summary *summary,
                                      const char *pdf_name, FILE *to)
{
    struct certificate certificate = {.batch = batch, .summary = summary};
    collect(&certificate);
    page_write_terminal(to);
    (void)fputs("set output ", to);
    script_text(to, pdf_name);
    (void)fputc('\n', to);
    bool failed = certificate.failed;
    for (size_t i = 0; i < certificate.page_count; i++) {
        page_write(certificate.pages[i], to);
        failed = failed || certificate.pages[i]->failed;
        page_release(certificate.pages[i]);
    }
    (void)fputs("unset output\n", to);
    page_release(&certificate.spare);
    arena_release(&certificate.arena);
    return failed ? E_MEMORY : OK;
}
