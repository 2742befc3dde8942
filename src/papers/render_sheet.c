/* The sheet of a result, printed; and its curves as a script with data. */
#include "papers/curves.h"
#include "papers/print.h"
#include "papers/render.h"
#include "papers/sheet.h"

#include <stdlib.h>

enum status render_sheet_text(const struct result *result, bool colour, FILE *to)
{
    struct arena arena = {0};
    struct document document;
    enum status status = sheet_document(result, &arena, &document);
    status = status == OK ? print_text(&document, colour, to) : status;
    arena_release(&arena);
    return status;
}

enum status render_sheet_html(const struct result *result, FILE *to)
{
    struct arena arena = {0};
    struct document document;
    enum status status = sheet_document(result, &arena, &document);
    status = status == OK ? print_html(&document, "", to) : status;
    arena_release(&arena);
    return status;
}

enum status render_sheet_drawn(const struct result *result, struct press *press, char **pdf, size_t *pdf_length,
                               char **html, size_t *html_length, struct faults *faults)
{
    struct arena arena = {0};
    struct document document;
    enum status status = sheet_document(result, &arena, &document);
    if (status != OK) {
        (void)faults_memory(faults);
    } else {
        status = press_pdf(press, &document, pdf, pdf_length, NULL, faults);
    }
    status = status == OK ? print_html_whole(&document, "", html, html_length, faults) : status;
    arena_release(&arena);
    return status;
}

/* --- curves --- */

/* The plot of a result; what it is made of lives in the arena. Returns: NULL when memory is out. */
static struct plot *plot_of(const struct result *result, struct arena *arena)
{
    struct document document;
    struct figure_units units = figure_units_of(result->model);
    document_init(&document, arena, result->serial);
    return curves_plot(&document, result, &units, arena);
}

enum status render_curves_data(const struct result *result, FILE *to)
{
    struct arena arena = {0};
    const struct plot *plot = plot_of(result, &arena);
    if (plot != NULL) {
        (void)fputs("# at rated speed, a block a series; NaN: not known\n", to);
        plot_write_data(plot, to);
    }
    arena_release(&arena);
    return plot != NULL ? OK : E_MEMORY;
}

enum status render_curves_script(const struct result *result, FILE *to)
{
    struct arena arena = {0};
    const struct plot *plot = plot_of(result, &arena);
    if (plot != NULL) {
        plot_write_script(plot, "curves.dat", "curves.pdf", to);
    }
    arena_release(&arena);
    return plot != NULL ? OK : E_MEMORY;
}

void render_plot_script(const struct result *result, int columns, int rows, FILE *to)
{
    struct arena arena = {0};
    const struct plot *plot = plot_of(result, &arena);
    if (plot != NULL) {
        plot_write_characters(plot, columns, rows, to);
    } else { /* no plot that lacks something passes for whole */
        (void)fputs("exit error 'out of memory while the curves were laid out'\n", to);
    }
    arena_release(&arena);
}
