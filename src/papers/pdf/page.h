/* page.h - things placed on pages, in points from the upper left corner, and the pages drawn
 */
#ifndef DUTYPROOF_PAPERS_PDF_PAGE_H
#define DUTYPROOF_PAPERS_PDF_PAGE_H

#include "papers/document.h"

#include <cairo.h>
#include <pango/pangocairo.h>

struct pdf_printer {
    PangoFontMap *fonts;
    PangoContext *context;
};

enum thing_kind { THING_TEXT, THING_RULE, THING_BOX, THING_FILL, THING_PLOT, THING_CODE };

struct thing {
    enum thing_kind kind;
    size_t page;
    double x, y, width, height; /* a rule runs from x, y to x + width, y + height */
    double pen;                 /* width of a rule */
    enum tone tone;
    PangoLayout *layout;
    struct plot *plot;
    const char *code;
};

struct pages {
    struct pdf_printer *printer;
    const struct document *document;
    double width, height;
    size_t count; /* of pages */
    size_t thing_count;
    struct thing *things; /* malloc */
    bool failed;          /* memory ran out */
};

enum { TEXT_SIZE = 8, HEADING_SIZE = 10, TITLE_SIZE = 15, VERDICT_SIZE = 20 };

/* A text set in a size, pt, broken at width (<= 0: not at all). Memory: to be placed, or g_object_unref. */
PangoLayout *pages_set(const struct pages *pages, const char *text, double size, bool bold, double width);

/* Its extent, pt. */
double set_width(PangoLayout *layout);
double set_height(PangoLayout *layout);

/* Places things on the last page; a text is taken over. right: its right edge is at x. */
void pages_place(struct pages *pages, PangoLayout *layout, enum tone tone, double x, double y, bool right);
void pages_rule(struct pages *pages, double x, double y, double width, double height, double pen, enum tone tone);
struct thing *pages_thing(struct pages *pages, enum thing_kind kind);

/* Draws all pages, each with its foot, into a surface. Returns: NULL, or what went wrong. */
const char *pages_draw(const struct pages *pages, cairo_t *cr,
                       const char *(*draw)(void *context, struct plot *plot, double width_px, double height_px,
                                           size_t *length),
                       void *context);

void pages_release(struct pages *pages);

#endif
