/* certificate.h - the parts of the batch certificate (private to its renderer)
 *
 * Pages are collected first, since each says how many there are.
 */
#ifndef DUTYPROOF_CERTIFICATE_H
#define DUTYPROOF_CERTIFICATE_H

#include "batch/batch.h"
#include "batch/batch_stats.h"
#include "papers/figures.h"
#include "papers/page.h"

/* A part of the page, mm. */
struct area {
    double left_mm, top_mm, right_mm, bottom_mm;
};
#include "papers/figures.h"
#include "papers/page.h"

/* Margins; content ends at the bottom, below it stands the footer. */
#define CERTIFICATE_LEFT_MM   14.0
#define CERTIFICATE_RIGHT_MM  196.0
#define CERTIFICATE_TOP_MM    31.0
#define CERTIFICATE_BOTTOM_MM 281.0
#define CERTIFICATE_ROW_MM    3.7

struct certificate {
    const struct batch *batch;
    const struct batch_summary *summary;
    struct arena arena;
    size_t page_count;
    struct page **pages;
    struct page *page; /* the last one */
    double y_mm;       /* how far it is filled */
    bool failed;       /* memory ran out */
    struct page spare; /* takes what is put once it has */
};

/* Begins a page with a heading; text below it starts at y_mm. */
void certificate_page(struct certificate *certificate, const char *over, const char *title);

/* Puts a heading of a block and moves y_mm below it. */
void certificate_heading(struct certificate *certificate, const char *text);

/* A table: its columns from left to right. */
struct certificate_column {
    const char *heading, *unit; /* the unit stands in a second line; NULL: no table row of units has it */
    enum align align;           /* ALIGN_LEFT: at is the left end, ALIGN_RIGHT: the right end */
    double at_mm, width_mm;     /* width: longer text is cut */
};

/* Puts the headings (with a line of units when any column has one) and a rule below them, and moves y_mm on. */
void certificate_columns(struct certificate *certificate, const struct certificate_column *columns, size_t count);

/* Puts one cell at y_mm. */
void certificate_cell(struct certificate *certificate, const struct certificate_column *column, enum ink ink,
                      const char *text);

/* True when a block of so many mm fits on the page. */
bool certificate_fits(const struct certificate *certificate, double height_mm);

/* The first page and what overflows it: identity, counts, guarantees, statistics, instruments, cautions, signatures. */
void certificate_front(struct certificate *certificate);

/* The tests of one model. */
void certificate_tests(struct certificate *certificate, const struct batch_section *section);

/* The curves, histograms and control charts of one duty point of one model. */
void certificate_charts(struct certificate *certificate, const struct batch_section *section, size_t duty);

#endif
