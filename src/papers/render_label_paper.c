/* The label paper of a batch, printed; and its strip in characters. */
#include "papers/label_paper.h"
#include "papers/print.h"
#include "papers/render_label.h"

#include <stdlib.h>

enum status render_label_drawn(const struct label_batch *batch, struct press *press, struct rendered_label *rendered,
                               struct faults *faults)
{
    struct arena arena = {0};
    struct document document;
    enum status status = label_document(batch, &arena, &document);
    if (status != OK) {
        (void)faults_memory(faults);
    } else {
        status = press_pdf(press, &document, &rendered->pdf, &rendered->pdf_length, NULL, faults);
    }
    status = status == OK ? print_html_whole(&document, "", &rendered->html, &rendered->html_length, faults) : status;
    arena_release(&arena);
    return status;
}

void render_label_plot(const struct label_batch *batch, const struct label_line *line, int columns, int rows, FILE *to)
{
    struct arena arena = {0};
    struct document document;
    document_init(&document, &arena, "label");
    const struct plot *plot = label_strip(&document, batch, line, &arena);
    if (plot != NULL) {
        plot_write_characters(plot, columns, rows, to);
    } else { /* no plot that lacks something passes for whole */
        (void)fputs("exit error 'out of memory while the strip was laid out'\n", to);
    }
    arena_release(&arena);
}
