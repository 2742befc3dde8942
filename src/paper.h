/* paper.h - the parts of the one-page sheet (private to its renderer)
 */
#ifndef DUTYPROOF_PAPER_H
#define DUTYPROOF_PAPER_H

#include "dutyproof/figures.h"
#include "dutyproof/result.h"
#include "page.h"

/* The sheet under way. */
struct paper {
    const struct result *result;
    struct figure_units units;
    struct page page;
};

/* A part of the page, mm. */
struct area {
    double left_mm, top_mm, right_mm, bottom_mm;
};

/* The duty-check table and the sources of its limits, from top_mm down. Returns: the y below it, mm. */
double paper_checks(struct paper *paper, double left_mm, double right_mm, double top_mm);

/* Water and site, best efficiency, uncertainty, label and instruments, one above the other. */
void paper_facts(struct paper *paper, struct area area);

/* The three charts: head, efficiency and input power over flow, one below the other with one axis of flow. They are
 * drawn on the page itself, since a plot of gnuplot's own with axes and tics takes several times as long. */
void paper_charts(struct paper *paper, struct area area);

#endif
