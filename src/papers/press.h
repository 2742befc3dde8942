/* press.h - what it takes to print PDF and HTML: a kept gnuplot for the plots, and the PDF module
 *
 * The module (src/papers/pdf/) is loaded when a PDF is first printed, once for the whole process: who prints none does
 * not pay for its libraries. It is looked for beside the program, in the installed folder, and where DUTYPROOF_PDF
 * says.
 */
#ifndef DUTYPROOF_PRESS_H
#define DUTYPROOF_PRESS_H

#include "base/status.h"
#include "papers/gnuplot.h"

struct document;
struct pdf_printer;

/* One a thread. {0}: nothing is drawn, and a PDF is not printed. */
struct press {
    struct gnuplot *gnuplot;
    const char *folder; /* that gnuplot works in */
    unsigned long drawn;
    struct pdf_printer *printer; /* once a PDF was printed */
};

/* Starts gnuplot in a folder (gnuplot_start). Status: E_CHILD, E_MEMORY. */
enum status press_start(struct press *press, const char *folder, struct faults *faults);

/* Draws the plots of a document that are not drawn yet, in the shape that a screen likes. Status: E_CHILD, E_FILE,
 * E_MEMORY. */
enum status press_draw(struct press *press, const struct document *document, struct faults *faults);

/* Prints a document as PDF. *bytes from malloc, the caller frees it. pages may be NULL. Status: E_CHILD (no module, or
 * it or gnuplot failed), E_FILE, E_MEMORY. */
enum status press_pdf(struct press *press, const struct document *document, char **bytes, size_t *length, size_t *pages,
                      struct faults *faults);

/* Ends gnuplot (gnuplot_stop) and frees the thread's printer; {0} is allowed, and is what remains. Status: E_CHILD. */
enum status press_stop(struct press *press, struct faults *faults);

/* Frees what the PDF libraries keep for the process, once nothing prints any more: leak checkers then have nothing to
 * say. Does nothing when none was printed. */
void press_end(void);

#endif
