/* plot.h - a plot, described once and drawn by gnuplot
 *
 * A plot is a few panels; a panel has two axes and series of numbers that are already in the units of the paper.
 * gnuplot draws it as SVG for PDF and HTML and in characters for a terminal, and curves.gp with curves.dat are the same
 * script with its data. Nothing from an input stands in a script but as a quoted text.
 *
 * Series differ by dash and shape as well as by colour, and there are no fill patterns: the plot is legible in black
 * and white and stays made of lines.
 */
#ifndef DUTYPROOF_PAPERS_PLOT_H
#define DUTYPROOF_PAPERS_PLOT_H

#include "base/arena.h"
#include "base/status.h"
#include "papers/press.h"

#include <stdio.h>

enum series_kind {
    SERIES_BAND,   /* between y and y2 */
    SERIES_CURVE,  /* y, a line; a value that is not finite interrupts it */
    SERIES_POINTS, /* y, a sign each */
    SERIES_BARS,   /* filled shapes: the corners of each, a gap after each */
};

/* How it looks: a dash, a shape, a colour (of Okabe and Ito's palette, told apart by any colour vision). */
enum series_style {
    LOOK_MAIN,      /* blue, solid, filled dots */
    LOOK_SECOND,    /* green, dashed, open squares */
    LOOK_THIRD,     /* vermillion, dash-dot, open triangles */
    LOOK_GUARANTEE, /* black, heavy */
    LOOK_LIMIT,     /* black, thin and long-dashed */
    LOOK_ASIDE,     /* grey: what is not taken, other units; crosses */
    LOOK_FAILED,    /* black, heavy, filled diamonds: darker than the others, never lighter */
    LOOK_RING,      /* a ring about a point */
    LOOKS
};

struct series {
    enum series_kind kind;
    enum series_style look;
    const char *name; /* what it is */
    bool in_key;      /* it has an entry there under its name */
    size_t count;
    const double *x, *y, *y2; /* y2: bands only */
};

struct axis {
    const char *name; /* with its unit: "Flow Q, m³/h" */
    double low, high;
    bool whole;   /* tics at whole numbers only */
    double parts; /* about how many steps between tics there is room for */
};

/* A text above a place of the x axis. */
struct panel_word {
    double x, height; /* height: as a share of the panel's */
    const char *text;
};

struct panel {
    struct axis x, y;
    const char *empty; /* what stands there when there is nothing to draw; "" otherwise */
    size_t series_count, word_count;
    struct series *series;
    struct panel_word *words;
    double left, bottom, width, height; /* its part of the plot, as shares of it */
};

struct plot {
    const char *name;   /* a word for people: "curves" */
    const char *title;  /* in characters, where it stands alone; NULL: the name of its upright axis */
    const char *text;   /* what is to be seen, for who cannot see it */
    double least, most; /* height over width that it may be drawn with */
    size_t panel_count;
    struct panel *panels;
    char *svg; /* once drawn, the first time for all printers */
    size_t svg_length;
};

/* Adds a panel that covers a part of the plot; a series, with its entry in the key. Returns: NULL when memory is out.
 */
struct panel *plot_panel(struct plot *plot, struct arena *arena, double left, double bottom, double width,
                         double height);
struct series *panel_series(struct panel *panel, struct arena *arena, enum series_kind kind, enum series_style look,
                            const char *name);
/* Adds a text above a place of the x axis; it is drawn as it is. Returns: false when memory is out. */
bool panel_word(struct panel *panel, struct arena *arena, double x, double height, const char *text);
/* Adds a value to a series that was made last in its panel; y2 is used by bands. Returns: false when memory is
 * out. */
bool series_add(struct series *series, struct arena *arena, double x, double y, double y2);

/* The data, a block a series, in the order of the panels; and the commands that draw them, for a data file or block of
 * gnuplot by that name. */
void plot_write_data(const struct plot *plot, FILE *to);
void plot_write_commands(const struct plot *plot, const char *data_name, FILE *to);

/* curves.gp: draws the data file beside it into a PDF. Both names are ours. */
void plot_write_script(const struct plot *plot, const char *data_name, const char *pdf_name, FILE *to);

/* The first panel in characters, for a terminal, to whatever output was set before. */
void plot_write_characters(const struct plot *plot, int columns, int rows, FILE *to);

/* Draws the plot as SVG, width and height in px of 1/96 in, text at 7.5 pt; it is kept in the plot, and one that is
 * there already is not drawn again. Status: E_CHILD, E_FILE, E_MEMORY. */
enum status plot_draw(struct plot *plot, struct press *press, double width_px, double height_px, struct arena *arena,
                      struct faults *faults);

#endif
