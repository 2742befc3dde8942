#include "papers/page.h"

#include "base/text.h"
#include "papers/gnuplot.h"
#include "papers/page_widths.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { TEXT_LONGEST = 2000, UNITS_PER_EM = 2048 };

static const double mm_per_pt = 25.4 / 72.0;

static const struct {
    double pt;
    const char *in_script; /* with a point whatever the locale */
} sizes[TYPE_COUNT] = {[TYPE_TEXT] = {6.5, "6.5"}, [TYPE_TITLE] = {14.0, "14"}};

/* Colours: Okabe and Ito 2008, "Color Universal Design" (from memory). */
#define BLUE       "'#0072b2'"
#define GREEN      "'#009e73'"
#define VERMILLION "'#d55e00'"
#define BLACK      "'#000000'"

static const unsigned ink_rgb[INK_COUNT] = {
    [INK_BLACK] = 0x000000, [INK_GREY] = 0x5a5a5a,       [INK_WHITE] = 0xffffff,
    [INK_GREEN] = 0x009e73, [INK_VERMILLION] = 0xd55e00,
};

static const char *const pen_styles[PEN_COUNT] = {
    [PEN_FILL_FAIL] = "filledcurves closed fillcolor rgb " VERMILLION,
    [PEN_FILL_BAND] = "filledcurves closed fillcolor rgb '#d0d0d0'",
    [PEN_GRID] = "lines linewidth 0.4 linecolor rgb '#d8d8d8'",
    [PEN_PALE] = "lines linewidth 0.5 linecolor rgb '#b8b8b8'",
    [PEN_THIN] = "lines linewidth 0.6 linecolor rgb " BLACK,
    [PEN_HEAVY] = "lines linewidth 1.5 linecolor rgb " BLACK,
    [PEN_PASS] = "lines linewidth 1.8 linecolor rgb " GREEN,
    [PEN_ONE_OF_MANY] = "lines linewidth 0.7 linecolor rgb " BLUE,
    [PEN_FAILED] = "lines linewidth 1.1 dashtype (12,6) linecolor rgb " BLACK,
    [PEN_HEAD] = "lines linewidth 3 linecolor rgb " BLUE,
    [PEN_EFFICIENCY] = "lines linewidth 3 linecolor rgb " GREEN,
    [PEN_PUMP] = "lines linewidth 2 dashtype 2 linecolor rgb " BLACK,
    [PEN_POWER] = "lines linewidth 2.5 dashtype 4 linecolor rgb " BLACK,
    [PEN_GUARANTEE] = "lines linewidth 3 linecolor rgb " VERMILLION,
    [PEN_HEAD_POINT] = "points pointtype 13 pointsize 0.7 linecolor rgb " BLUE,
    [PEN_EFFICIENCY_POINT] = "points pointtype 13 pointsize 0.7 linecolor rgb " GREEN,
    [PEN_PUMP_POINT] = "points pointtype 8 pointsize 0.6 linecolor rgb " BLACK,
    [PEN_POWER_POINT] = "points pointtype 5 pointsize 0.45 linecolor rgb " BLACK,
    [PEN_UNFITTED_POINT] = "points pointtype 6 pointsize 0.65 linecolor rgb " BLACK,
    [PEN_UNIT_POINT] = "points pointtype 7 pointsize 0.35 linecolor rgb " BLUE,
    [PEN_RING] = "points pointtype 6 pointsize 0.9 linewidth 2 linecolor rgb " VERMILLION,
};

/* --- measuring --- */

/* The code point at *at, which is moved past it. The text is valid UTF-8. */
static uint32_t next_letter(const char **at)
{
    const unsigned char *c = (const unsigned char *)*at;
    size_t length = c[0] < 0x80 ? 1 : c[0] < 0xe0 ? 2 : c[0] < 0xf0 ? 3 : 4;
    uint32_t letter = length == 1 ? c[0] : c[0] & (0x7fU >> length);
    for (size_t i = 1; i < length && c[i] != '\0'; i++) {
        letter = letter << 6 | (c[i] & 0x3fU);
        *at += 1;
    }
    *at += 1;
    return letter;
}

static bool is_combining(uint32_t letter)
{
    return letter >= 0x300 && letter <= 0x36f;
}

/* The range that holds a letter. Returns: NULL when the page's font is not known to have it. */
static const struct width_range *range_of(uint32_t letter)
{
    for (size_t i = 0; i < WIDTH_RANGES; i++) {
        if (letter >= width_ranges[i].first && letter <= width_ranges[i].last) {
            return &width_ranges[i];
        }
    }
    return NULL;
}

static unsigned letter_width(uint32_t letter)
{
    const struct width_range *range = range_of(letter);
    if (range == NULL) {
        return is_combining(letter) ? 0 : UNITS_PER_EM;
    }
    return range->widths[letter - range->first];
}

/* Text of unknown origin, safe to show, in letters that the font has: where no installed font has a letter, the PDF
 * terminal fills the page with its box. In the arena. Returns: NULL when memory is out (and marks the page). */
static const char *drawable(struct page *page, const char *text)
{
    static const char replacement[] = "\xef\xbf\xbd"; /* U+FFFD */
    const char *shown = text_shown(&page->arena, text, TEXT_LONGEST);
    char *copy = shown == NULL ? NULL : arena_alloc(&page->arena, strlen(shown) + 1, sizeof replacement - 1);
    if (copy == NULL) {
        page->failed = true;
        return NULL;
    }
    char *to = copy;
    for (const char *at = shown, *next = shown; *at != '\0'; at = next) {
        uint32_t letter = next_letter(&next);
        bool known = range_of(letter) != NULL || is_combining(letter);
        size_t length = known ? (size_t)(next - at) : sizeof replacement - 1;
        memcpy(to, known ? at : replacement, length);
        to += length;
    }
    return copy;
}

static double span_width_mm(enum type type, const char *text, size_t length)
{
    double units = 0.0;
    for (const char *at = text, *end = text + length; at < end;) {
        units += letter_width(next_letter(&at));
    }
    return units / UNITS_PER_EM * sizes[type].pt * mm_per_pt;
}

double text_width_mm(enum type type, const char *text)
{
    return span_width_mm(type, text, strlen(text));
}

/* Length in bytes of the longest start of text that is at most width_mm wide; whole letters. */
static size_t fitting_length(enum type type, const char *text, double width_mm)
{
    double used_mm = 0.0;
    const char *at = text;
    while (*at != '\0') {
        const char *next = at;
        (void)next_letter(&next);
        used_mm += span_width_mm(type, at, (size_t)(next - at));
        if (used_mm > width_mm) {
            break;
        }
        at = next;
    }
    return (size_t)(at - text);
}

/* --- putting --- */

static void put_span(struct page *page, enum type type, enum ink ink, enum align align, double x_mm, double y_mm,
                     const char *text, size_t length, bool ellipsis)
{
    while (length > 0 && (text[length - 1] == ' ' || (ellipsis && text[length - 1] == ','))) {
        length--;
    }
    if (length == 0 && !ellipsis) {
        return;
    }
    char *copy = arena_format(&page->arena, "%.*s%s", (int)length, text, ellipsis ? "…" : "");
    struct page_text *item =
        copy == NULL ? NULL : arena_push(&page->arena, &page->texts, &page->text_count, sizeof *item);
    if (item == NULL) {
        page->failed = true;
        return;
    }
    *item = (struct page_text){.x_mm = x_mm, .y_mm = y_mm, .type = type, .align = align, .ink = ink, .text = copy};
}

void page_put(struct page *page, enum type type, enum ink ink, enum align align, double x_mm, double y_mm,
              double width_mm, const char *text)
{
    const char *shown = drawable(page, text);
    if (shown == NULL) {
        return;
    }
    bool wide = width_mm > 0.0 && text_width_mm(type, shown) > width_mm;
    size_t length = wide ? fitting_length(type, shown, width_mm - text_width_mm(type, "…")) : strlen(shown);
    put_span(page, type, ink, align, x_mm, y_mm, shown, length, wide);
}

/* Where to break text so that the line is at most width_mm wide: after a space, or within a word that is alone too
 * wide. */
static size_t line_length(const char *text, double width_mm)
{
    size_t fits = fitting_length(TYPE_TEXT, text, width_mm), at = fits;
    if (text[fits] == '\0' || text[fits] == ' ') {
        return fits;
    }
    while (at > 0 && text[at - 1] != ' ') {
        at--;
    }
    if (at > 0) {
        return at;
    }
    const char *next = text;
    if (fits == 0) { /* not one letter fits: take it all the same, or there would be no end */
        (void)next_letter(&next);
    }
    return fits > 0 ? fits : (size_t)(next - text);
}

static size_t wrap(struct page *page, bool put, enum ink ink, double x_mm, double y_mm, double width_mm, size_t lines,
                   const char *text)
{
    const char *shown = drawable(page, text);
    size_t line = 0;
    for (const char *at = shown; at != NULL && *at != '\0' && line < lines; line++) {
        size_t length = line_length(at, width_mm);
        bool cut = line + 1 == lines && at[length + strspn(at + length, " ")] != '\0';
        if (cut) {
            length = fitting_length(TYPE_TEXT, at, width_mm - text_width_mm(TYPE_TEXT, "…"));
        }
        if (put) {
            put_span(page, TYPE_TEXT, ink, ALIGN_LEFT, x_mm, y_mm + (double)line * TEXT_LEADING_MM, at, length, cut);
        }
        at += length;
        at += strspn(at, " ");
    }
    return line;
}

size_t page_wrap(struct page *page, enum ink ink, double x_mm, double y_mm, double width_mm, size_t lines,
                 const char *text)
{
    return wrap(page, true, ink, x_mm, y_mm, width_mm, lines, text);
}

size_t page_wrap_lines(struct page *page, double width_mm, size_t lines, const char *text)
{
    return wrap(page, false, INK_BLACK, 0.0, 0.0, width_mm, lines, text);
}

static void add_vertex(struct page *page, enum pen pen, double x_mm, double y_mm, bool start)
{
    if (!isfinite(x_mm) || !isfinite(y_mm)) {
        return;
    }
    struct page_vertex *vertex = arena_push(&page->arena, &page->vertices, &page->vertex_count, sizeof *vertex);
    if (vertex == NULL) {
        page->failed = true;
        return;
    }
    *vertex = (struct page_vertex){x_mm, y_mm, pen, start};
}

void page_move(struct page *page, enum pen pen, double x_mm, double y_mm)
{
    add_vertex(page, pen, x_mm, y_mm, true);
}

void page_draw(struct page *page, enum pen pen, double x_mm, double y_mm)
{
    add_vertex(page, pen, x_mm, y_mm, false);
}

void page_rule(struct page *page, enum pen pen, double from_x_mm, double from_y_mm, double to_x_mm, double to_y_mm)
{
    page_move(page, pen, from_x_mm, from_y_mm);
    page_draw(page, pen, to_x_mm, to_y_mm);
}

void page_box(struct page *page, enum pen pen, double left_mm, double top_mm, double right_mm, double bottom_mm)
{
    page_move(page, pen, left_mm, top_mm);
    page_draw(page, pen, right_mm, top_mm);
    page_draw(page, pen, right_mm, bottom_mm);
    page_draw(page, pen, left_mm, bottom_mm);
    page_draw(page, pen, left_mm, top_mm);
}

/* --- writing --- */

/* A position in whole hundredths of a millimetre, the unit of the plot's axes, in digits that do not depend on the
 * locale. */
static void write_mm(FILE *script, double value_mm, char end)
{
    char digits[24], *at = digits + sizeof digits;
    long hundredths = lround(value_mm * 100.0), size = labs(hundredths);
    *--at = end;
    do {
        *--at = (char)('0' + size % 10);
        size /= 10;
    } while (size > 0);
    if (hundredths < 0) {
        *--at = '-';
    }
    (void)fwrite(at, 1, (size_t)(digits + sizeof digits - at), script);
}

static bool write_path(const struct page *page, enum pen pen, FILE *script)
{
    bool any = false;
    for (size_t i = 0; i < page->vertex_count; i++) {
        const struct page_vertex *vertex = &page->vertices[i];
        if (vertex->pen != pen) {
            continue;
        }
        if (!any) {
            (void)fprintf(script, "$P%d << END\n", (int)pen);
        } else if (vertex->start) {
            (void)fputc('\n', script);
        }
        any = true;
        write_mm(script, vertex->x_mm, '\t');
        write_mm(script, vertex->y_mm, '\n');
    }
    (void)fputs(any ? "END\n" : "", script);
    return any;
}

static bool write_texts(const struct page *page, enum type type, enum align align, FILE *script)
{
    bool any = false;
    for (size_t i = 0; i < page->text_count; i++) {
        const struct page_text *text = &page->texts[i];
        if (text->type != type || text->align != align) {
            continue;
        }
        if (!any) {
            (void)fprintf(script, "$T%d%d << END\n", (int)type, (int)align);
            any = true;
        }
        write_mm(script, text->x_mm, '\t');
        write_mm(script, text->y_mm, '\t');
        script_cell(script, text->text);
        (void)fprintf(script, "\t%u\n", ink_rgb[text->ink]);
    }
    (void)fputs(any ? "END\n" : "", script);
    return any;
}

void page_write_terminal(FILE *script)
{
    (void)fprintf(script,
                  "reset\nset encoding utf8\nset terminal pdfcairo noenhanced size 21cm,29.7cm font 'DejaVu Sans,%s' "
                  "fontscale 0.75 linewidth 0.5\n",
                  sizes[TYPE_TEXT].in_script);
}

/* One plot holds the whole page. Its texts are in the terminal's own font; a title brings its own, which costs as much
 * as ten texts. Each expression of a script costs gnuplot three system calls, hence no "using", and colours by name. */
void page_write(const struct page *page, FILE *script)
{
    static const char *const words[ALIGN_COUNT] = {"left", "right", "center"};
    bool paths[PEN_COUNT], texts[TYPE_COUNT][ALIGN_COUNT];
    (void)fprintf(script,
                  "unset border\nunset tics\nunset key\nset lmargin at screen 0\nset rmargin at screen 1\n"
                  "set bmargin at screen 0\nset tmargin at screen 1\nset xrange [0:%d]\nset yrange [%d:0]\n"
                  "set datafile separator \"\\t\"\n",
                  100 * PAGE_WIDTH_MM, 100 * PAGE_HEIGHT_MM);
    for (int pen = 0; pen < PEN_COUNT; pen++) {
        paths[pen] = write_path(page, (enum pen)pen, script);
    }
    for (int i = 0; i < TYPE_COUNT * ALIGN_COUNT; i++) {
        texts[i / ALIGN_COUNT][i % ALIGN_COUNT] =
            write_texts(page, (enum type)(i / ALIGN_COUNT), (enum align)(i % ALIGN_COUNT), script);
    }
    const char *before = "plot ";
    for (int pen = 0; pen < PEN_COUNT; pen++) {
        if (paths[pen]) {
            (void)fprintf(script, "%s$P%d with %s", before, pen, pen_styles[pen]);
            before = ", ";
        }
    }
    for (int type = 0; type < TYPE_COUNT; type++) {
        for (int align = 0; align < ALIGN_COUNT; align++) {
            if (texts[type][align]) {
                (void)fprintf(script, "%s$T%d%d with labels %s textcolor rgb variable", before, type, align,
                              words[align]);
                before = ", ";
                if (type != TYPE_TEXT) {
                    (void)fprintf(script, " font ',%s'", sizes[type].in_script);
                }
            }
        }
    }
    (void)fputc('\n', script);
}

void page_release(struct page *page)
{
    arena_release(&page->arena);
    *page = (struct page){0};
}
