#include "papers/pdf/pdf.h"

#include "papers/pdf/flow.h"

#include <cairo-pdf.h>
#include <fontconfig/fontconfig.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* --- the printer --- */

/* Everything that the surroundings could change is said here: resolution, hinting, language, and a font map of this
 * thread's own, which librsvg uses too. */
static struct pdf_printer *open_printer(void)
{
    struct pdf_printer *printer = calloc(1, sizeof *printer);
    if (printer == NULL) {
        return NULL;
    }
    printer->fonts = pango_cairo_font_map_new();
    pango_cairo_font_map_set_resolution(PANGO_CAIRO_FONT_MAP(printer->fonts), 72.0);
    pango_cairo_font_map_set_default(PANGO_CAIRO_FONT_MAP(printer->fonts));
    printer->context = pango_font_map_create_context(printer->fonts);
    pango_cairo_context_set_resolution(printer->context, 72.0);
    cairo_font_options_t *options = cairo_font_options_create();
    cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
    cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
    cairo_font_options_set_antialias(options, CAIRO_ANTIALIAS_GRAY);
    pango_cairo_context_set_font_options(printer->context, options);
    cairo_font_options_destroy(options);
    pango_context_set_base_dir(printer->context, PANGO_DIRECTION_LTR);
    pango_context_set_round_glyph_positions(printer->context, FALSE);
    return printer;
}

static void close_printer(struct pdf_printer *printer)
{
    if (printer != NULL) {
        pango_cairo_font_map_set_default(NULL);
        g_object_unref(printer->context);
        g_object_unref(printer->fonts);
        free(printer);
    }
}

static void end_all(void)
{
    FcFini();
}

/* --- printing --- */

/* Bytes as they come from Cairo. */
struct sink {
    char *bytes;
    size_t length, room;
};

static cairo_status_t take(void *closure, const unsigned char *data, unsigned int length)
{
    struct sink *sink = closure;
    while (sink->length + length > sink->room) {
        size_t room = sink->room == 0 ? 65536 : 2 * sink->room;
        char *more = realloc(sink->bytes, room);
        if (more == NULL) {
            return CAIRO_STATUS_NO_MEMORY;
        }
        sink->bytes = more;
        sink->room = room;
    }
    memcpy(sink->bytes + sink->length, data, length);
    sink->length += length;
    return CAIRO_STATUS_SUCCESS;
}

static void describe(cairo_surface_t *surface, const struct document *document)
{
    char date[64] = "2000-01-01T00:00:00Z";
    if (document->date.known) {
        (void)snprintf(date, sizeof date, "%04d-%02d-%02dT00:00:00Z", document->date.year, document->date.month,
                       document->date.day);
    }
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_TITLE, document->title);
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATOR, "dutyproof");
    cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATE_DATE, date);
}

static bool finish(cairo_surface_t *surface, cairo_t *cr, const char **why)
{
    cairo_status_t status = cairo_status(cr);
    cairo_destroy(cr);
    cairo_surface_finish(surface);
    status = status == CAIRO_STATUS_SUCCESS ? cairo_surface_status(surface) : status;
    cairo_surface_destroy(surface);
    *why = *why == NULL && status != CAIRO_STATUS_SUCCESS ? cairo_status_to_string(status) : *why;
    return *why == NULL;
}

static bool print_pages(struct pages *pages, const struct pdf_order *order, struct sink *sink, const char **why)
{
    cairo_surface_t *surface = cairo_pdf_surface_create_for_stream(take, sink, pages->width, pages->height);
    describe(surface, order->document);
    cairo_t *cr = cairo_create(surface);
    *why = pages->failed ? "memory is out" : pages_draw(pages, cr, order->draw, order->context);
    return finish(surface, cr, why);
}

static bool print(struct pdf_printer *printer, const struct pdf_order *order, char **bytes, size_t *length,
                  size_t *page_count, char why[PDF_WHY])
{
    const struct document *document = order->document;
    bool letter = document->paper == PAPER_LETTER;
    struct pages pages = {.printer = printer, .document = document};
    pages.width = letter ? 612.0 : 210.0 / 25.4 * 72.0;
    pages.height = letter ? 792.0 : 297.0 / 25.4 * 72.0;
    struct flow flow = {.pages = &pages, .left = 40.0, .top = 28.0, .shape = order->shape};
    flow.right = pages.width - 40.0;
    flow.bottom = pages.height - 32.0;
    pango_context_set_language(printer->context, pango_language_from_string(document->language));
    flow_document(&flow, document);
    struct sink sink = {0};
    const char *reason = NULL;
    bool good = print_pages(&pages, order, &sink, &reason);
    if (page_count != NULL) {
        *page_count = pages.count + 1;
    }
    pages_release(&pages);
    (void)snprintf(why, PDF_WHY, "%s", reason == NULL ? "" : reason);
    if (!good) {
        free(sink.bytes);
        return false;
    }
    *bytes = sink.bytes;
    *length = sink.length;
    return true;
}

const struct pdf_module dutyproof_pdf = {
    .age = PDF_MODULE_AGE, .open = open_printer, .close = close_printer, .print = print, .end = end_all};
