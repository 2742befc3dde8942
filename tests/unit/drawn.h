/* drawn.h - what is handed to be drawn, read back into numbers
 *
 * A chart is known by the name of its axis and a mark by what it stands for, so that a test says what must be seen, and
 * only this reader knows how it is written: blocks of data that name themselves, or a plot command with its blocks.
 * What lies outside the axes of a plot command is not read, as nobody would see it. What cannot be read fails the test.
 */
#ifndef DRAWN_H
#define DRAWN_H

#include "base/arena.h"

enum drawn_kind {
    DRAWN_CURVE, /* fitted: head, efficiency of the set, input power */
    DRAWN_PUMP_CURVE,
    DRAWN_BAND, /* either edge of the 95 % band */
    DRAWN_POINT,
    DRAWN_PUMP_POINT,
    DRAWN_UNFITTED_POINT,
    DRAWN_GUARANTEE, /* guaranteed points, tolerance marks, limits */
    DRAWN_PASSED,    /* curves of a batch's units */
    DRAWN_NOT_PASSED,
    DRAWN_BAR,
    DRAWN_UNIT, /* one dot a unit */
    DRAWN_CHANGED_UNIT,
    DRAWN_RING, /* about what is out of control */
    DRAWN_CONTROL_LIMIT,
    DRAWN_MEAN,
    DRAWN_TRACE, /* a record, each place with its character */
    DRAWN_NUMBER,
    DRAWN_KINDS
};

struct drawn_place {
    double x, y;
    bool start; /* of a new path */
    char mark[8];
};

/* The marks of one kind in one chart. A place is true to its step, which is twice the last digit that is written. */
struct drawn {
    size_t count;
    struct drawn_place *at; /* in the arena */
    double x_step, y_step;
};

struct drawn_chart {
    const char *name;            /* as it stands at the chart: "Head H, m" */
    const char *x_unit, *y_unit; /* that its axes are in, so that places come in SI; NULL: a plain number */
};

/* script: for gnuplot; data: the text of the file that it plots, NULL when it brings its own. */
struct drawn drawn_read(const char *script, const char *data, const struct drawn_chart *chart, enum drawn_kind kind,
                        struct arena *arena);

/* An upright line across a plot, and the text at it. */
struct drawn_upright {
    double x;
    char text[64];
};

/* Returns: how many there are in the script, at most `most`. */
size_t drawn_uprights(const char *script, struct drawn_upright *uprights, size_t most);

#endif
