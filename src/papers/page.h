/* page.h - text, rules and boxes on a sheet of A4 paper (private to the sheet's renderer)
 *
 * Positions are millimetres from the upper left corner; a text's y is the middle of its line. A page is collected first
 * and written as one plot.
 */
#ifndef DUTYPROOF_PAGE_H
#define DUTYPROOF_PAGE_H

#include "base/arena.h"

#include <stdio.h>

enum { PAGE_WIDTH_MM = 210, PAGE_HEIGHT_MM = 297 };

/* One size of text and one of titles: a page's fonts, and changing between them, are much of what it costs to draw. */
enum type { TYPE_TEXT, TYPE_TITLE, TYPE_COUNT };
enum align { ALIGN_LEFT, ALIGN_RIGHT, ALIGN_CENTRE, ALIGN_COUNT };

/* Black, greys and three colours of Okabe and Ito's palette, which readers with any kind of colour vision tell apart.
 */
enum ink { INK_BLACK, INK_GREY, INK_WHITE, INK_GREEN, INK_VERMILLION, INK_COUNT };

struct page_text {
    double x_mm, y_mm;
    enum type type;
    enum align align;
    enum ink ink;
    const char *text;
};

/* What a path is drawn with, in the order of drawing: later ones lie on top. Curves differ by dash and points by shape
 * as well as by colour. */
enum pen {
    PEN_FILL_FAIL, /* filled areas */
    PEN_FILL_BAND,
    PEN_GRID, /* lines */
    PEN_PALE,
    PEN_THIN,
    PEN_HEAVY,
    PEN_PASS,
    PEN_ONE_OF_MANY,
    PEN_FAILED,
    PEN_HEAD,
    PEN_EFFICIENCY,
    PEN_PUMP,
    PEN_POWER,
    PEN_GUARANTEE,
    PEN_HEAD_POINT, /* points */
    PEN_EFFICIENCY_POINT,
    PEN_PUMP_POINT,
    PEN_POWER_POINT,
    PEN_UNFITTED_POINT,
    PEN_UNIT_POINT,
    PEN_RING,
    PEN_COUNT
};

struct page_vertex {
    double x_mm, y_mm;
    enum pen pen;
    bool start; /* of a new path */
};

/* {0} is an empty page. */
struct page {
    struct arena arena;
    bool failed; /* memory ran out: the page is not whole */
    size_t text_count, vertex_count;
    struct page_text *texts;
    struct page_vertex *vertices;
};

/* Width of UTF-8 text, mm, by the advance widths of DejaVu Sans. A letter that the font's table here lacks counts as
 * one em. */
double text_width_mm(enum type type, const char *text);

/* Distance of lines of text. */
#define TEXT_LEADING_MM 3.25

/* Puts text of unknown origin on the page, made safe to show; a letter that is not Latin, Greek, Cyrillic or one of the
 * papers' signs becomes U+FFFD. width_mm > 0: cut with an ellipsis where it is wider. */
void page_put(struct page *page, enum type type, enum ink ink, enum align align, double x_mm, double y_mm,
              double width_mm, const char *text);

/* Puts text broken between words into at most `lines` lines, the last one cut with an ellipsis where text is left; a
 * word that is wider than the line is broken. Returns: number of lines used. */
size_t page_wrap(struct page *page, enum ink ink, double x_mm, double y_mm, double width_mm, size_t lines,
                 const char *text);

/* The number of lines that page_wrap would use; nothing is put. */
size_t page_wrap_lines(struct page *page, double width_mm, size_t lines, const char *text);

/* Starts a path, and draws it on. The position is left out (and the path interrupted) where it is not finite. */
void page_move(struct page *page, enum pen pen, double x_mm, double y_mm);
void page_draw(struct page *page, enum pen pen, double x_mm, double y_mm);

void page_rule(struct page *page, enum pen pen, double from_x_mm, double from_y_mm, double to_x_mm, double to_y_mm);
void page_box(struct page *page, enum pen pen, double left_mm, double top_mm, double right_mm, double bottom_mm);

/* Chooses the terminal that pages are drawn for; "set output" comes next. */
void page_write_terminal(FILE *script);

/* Writes the page as one plot, which is one page of the file. */
void page_write(const struct page *page, FILE *script);

void page_release(struct page *page);

#endif
