#include "papers/pdf/page.h"

#include <librsvg/rsvg.h>
#include <math.h>
#include <qrencode.h>
#include <stdlib.h>
#include <string.h>

static const double px_per_pt = 96.0 / 72.0;

PangoLayout *pages_set(const struct pages *pages, const char *text, double size, bool bold, double width)
{
    PangoLayout *layout = pango_layout_new(pages->printer->context);
    PangoFontDescription *font = pango_font_description_new();
    pango_font_description_set_family_static(font, "DejaVu Sans");
    pango_font_description_set_absolute_size(font, size * PANGO_SCALE);
    pango_font_description_set_weight(font, bold ? PANGO_WEIGHT_BOLD : PANGO_WEIGHT_NORMAL);
    pango_layout_set_font_description(layout, font);
    pango_font_description_free(font);
    pango_layout_set_wrap(layout, PANGO_WRAP_WORD_CHAR);
    pango_layout_set_single_paragraph_mode(layout, TRUE);
    if (width > 0.0) {
        pango_layout_set_width(layout, (int)(width * PANGO_SCALE));
    }
    pango_layout_set_text(layout, text, -1);
    return layout;
}

double set_width(PangoLayout *layout)
{
    int width = 0, height = 0;
    pango_layout_get_size(layout, &width, &height);
    return (double)width / PANGO_SCALE;
}

double set_height(PangoLayout *layout)
{
    int width = 0, height = 0;
    pango_layout_get_size(layout, &width, &height);
    return (double)height / PANGO_SCALE;
}

struct thing *pages_thing(struct pages *pages, enum thing_kind kind)
{
    enum { STEP = 256 };
    if (pages->thing_count % STEP == 0) {
        struct thing *more = realloc(pages->things, (pages->thing_count + STEP) * sizeof *more);
        if (more == NULL) {
            pages->failed = true;
            return NULL;
        }
        pages->things = more;
    }
    struct thing *thing = &pages->things[pages->thing_count++];
    *thing = (struct thing){.kind = kind, .page = pages->count};
    return thing;
}

void pages_place(struct pages *pages, PangoLayout *layout, enum tone tone, double x, double y, bool right)
{
    struct thing *thing = pages_thing(pages, THING_TEXT);
    if (thing == NULL) {
        g_object_unref(layout);
        return;
    }
    thing->layout = layout;
    thing->tone = tone;
    thing->x = right ? x - set_width(layout) : x;
    thing->y = y;
}

void pages_rule(struct pages *pages, double x, double y, double width, double height, double pen, enum tone tone)
{
    struct thing *thing = pages_thing(pages, THING_RULE);
    if (thing != NULL) {
        thing->x = x;
        thing->y = y;
        thing->width = width;
        thing->height = height;
        thing->pen = pen;
        thing->tone = tone;
    }
}

/* Failures are darker than ordinary marks, never lighter, so that a grey copy shows them first. */
static void ink(cairo_t *cr, enum tone tone)
{
    static const double inks[][3] = {
        [TONE_PLAIN] = {0.0, 0.0, 0.0}, [TONE_STRONG] = {0.0, 0.0, 0.0},   [TONE_GOOD] = {0.0, 0.32, 0.23},
        [TONE_BAD] = {0.45, 0.09, 0.0}, [TONE_UNSURE] = {0.25, 0.22, 0.0}, [TONE_FAINT] = {0.34, 0.34, 0.34},
    };
    cairo_set_source_rgb(cr, inks[tone][0], inks[tone][1], inks[tone][2]);
}

static const char *draw_svg(cairo_t *cr, const struct thing *thing, const char *svg, size_t length)
{
    RsvgHandle *handle = rsvg_handle_new_from_data((const guint8 *)svg, length, NULL);
    if (handle == NULL) {
        return "a plot could not be read as SVG";
    }
    RsvgRectangle area = {thing->x, thing->y, thing->width, thing->height};
    gboolean good = rsvg_handle_render_document(handle, cr, &area, NULL);
    g_object_unref(handle);
    return good ? NULL : "a plot could not be drawn";
}

/* A square code with the quiet zone that readers need. Error correction M: what a stamped and folded paper wants. */
static const char *draw_code(cairo_t *cr, const struct thing *thing)
{
    enum { QUIET = 4 };
    QRcode *code = QRcode_encodeString8bit(thing->code, 0, QR_ECLEVEL_M);
    if (code == NULL) {
        return "a text is too long for a square code";
    }
    double side = thing->width / (code->width + 2 * QUIET);
    ink(cr, TONE_PLAIN);
    for (int row = 0; row < code->width; row++) {
        for (int column = 0; column < code->width; column++) {
            if ((code->data[row * code->width + column] & 1U) != 0) {
                cairo_rectangle(cr, thing->x + (column + QUIET) * side, thing->y + (row + QUIET) * side, side, side);
            }
        }
    }
    cairo_fill(cr);
    QRcode_free(code);
    return NULL;
}

static void draw_line(cairo_t *cr, const struct thing *thing)
{
    ink(cr, thing->tone);
    if (thing->tone == TONE_FAINT) {
        cairo_set_source_rgb(cr, 0.7, 0.7, 0.7);
    }
    cairo_set_line_width(cr, thing->pen);
    cairo_move_to(cr, thing->x, thing->y);
    cairo_line_to(cr, thing->x + thing->width, thing->y + thing->height);
    cairo_stroke(cr);
}

static void draw_text(cairo_t *cr, const struct thing *thing)
{
    ink(cr, thing->tone);
    cairo_move_to(cr, thing->x, thing->y);
    pango_cairo_show_layout(cr, thing->layout);
}

static const char *draw_thing(cairo_t *cr, const struct thing *thing,
                              const char *(*draw)(void *, struct plot *, double, double, size_t *), void *context)
{
    size_t length = 0;
    const char *svg = NULL;
    switch (thing->kind) {
    case THING_TEXT: draw_text(cr, thing); break;
    case THING_RULE: draw_line(cr, thing); break;
    case THING_BOX:
    case THING_FILL:
        ink(cr, thing->tone);
        cairo_set_line_width(cr, 1.6);
        cairo_rectangle(cr, thing->x, thing->y, thing->width, thing->height);
        (thing->kind == THING_FILL ? cairo_fill : cairo_stroke)(cr);
        break;
    case THING_PLOT:
        svg = draw(context, thing->plot, floor(thing->width * px_per_pt), floor(thing->height * px_per_pt), &length);
        return svg == NULL ? "a plot was not drawn" : draw_svg(cr, thing, svg, length);
    case THING_CODE: return draw_code(cr, thing);
    }
    return NULL;
}

static void draw_foot(const struct pages *pages, cairo_t *cr, size_t page)
{
    static const double margin = 40.0, foot = 28.0;
    char number[64];
    (void)snprintf(number, sizeof number, "page %zu of %zu", page + 1, pages->count + 1);
    PangoLayout *right = pages_set(pages, number, TEXT_SIZE, false, 0.0);
    double number_width = set_width(right);
    PangoLayout *left =
        pages_set(pages, pages->document->foot, TEXT_SIZE, false, pages->width - 2.0 * margin - number_width - 12.0);
    pango_layout_set_height(left, 0); /* one line */
    pango_layout_set_ellipsize(left, PANGO_ELLIPSIZE_MIDDLE);
    ink(cr, TONE_FAINT);
    cairo_move_to(cr, margin, pages->height - foot);
    pango_cairo_show_layout(cr, left);
    cairo_move_to(cr, pages->width - margin - number_width, pages->height - foot);
    pango_cairo_show_layout(cr, right);
    g_object_unref(left);
    g_object_unref(right);
}

const char *pages_draw(const struct pages *pages, cairo_t *cr,
                       const char *(*draw)(void *, struct plot *, double, double, size_t *), void *context)
{
    size_t at = 0;
    for (size_t page = 0; page <= pages->count; page++) {
        for (; at < pages->thing_count && pages->things[at].page == page; at++) {
            const char *why = draw_thing(cr, &pages->things[at], draw, context);
            if (why != NULL) {
                return why;
            }
        }
        draw_foot(pages, cr, page);
        cairo_show_page(cr);
    }
    return NULL;
}

void pages_release(struct pages *pages)
{
    for (size_t i = 0; i < pages->thing_count; i++) {
        if (pages->things[i].layout != NULL) {
            g_object_unref(pages->things[i].layout);
        }
    }
    free(pages->things);
    *pages = (struct pages){0};
}
