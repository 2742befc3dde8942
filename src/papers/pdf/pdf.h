/* pdf.h - the PDF printer, a module of its own
 *
 * Pango, Cairo and librsvg take several times as long to load as the rest of the program, so they are linked to this
 * module alone, which papers/press.c loads when a PDF is first printed. It uses nothing of the program but the tree it
 * is given, which it does not change.
 */
#ifndef DUTYPROOF_PAPERS_PDF_PDF_H
#define DUTYPROOF_PAPERS_PDF_PDF_H

#include "papers/document.h"

/* A printer's fonts; one a thread. */
struct pdf_printer;

struct pdf_order {
    const struct document *document;
    /* The SVG of a plot, drawn for a size in px of 1/96 in; ends in a NUL. Returns: NULL when it cannot be drawn, and
     * the page is then not printed. */
    const char *(*draw)(void *context, struct plot *plot, double width_px, double height_px, size_t *length);
    void *context;
    /* Height over width that a plot may have. */
    void (*shape)(const struct plot *plot, double *least, double *most);
};

enum { PDF_WHY = 200, PDF_MODULE_AGE = 1 };

struct pdf_module {
    int age; /* PDF_MODULE_AGE: a module of another age is not used */
    /* Returns: NULL when memory is out. */
    struct pdf_printer *(*open)(void);
    void (*close)(struct pdf_printer *printer);
    /* Prints a document; the bytes are from malloc. pages may be NULL. Returns: false and why. */
    bool (*print)(struct pdf_printer *printer, const struct pdf_order *order, char **bytes, size_t *length,
                  size_t *pages, char why[PDF_WHY]);
    /* Frees what the libraries keep for the whole process; nothing may be printed afterwards. */
    void (*end)(void);
};

/* The one symbol that a module shows. */
#if defined(__GNUC__)
__attribute__((visibility("default")))
#endif
extern const struct pdf_module dutyproof_pdf;

#endif
