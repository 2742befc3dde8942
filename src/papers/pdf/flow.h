/* flow.h - the nodes of a document, one below the other, over as many pages as they take
 */
#ifndef DUTYPROOF_PAPERS_PDF_FLOW_H
#define DUTYPROOF_PAPERS_PDF_FLOW_H

#include "papers/pdf/page.h"

/* Where the next node goes. */
struct flow {
    struct pages *pages;
    double left, right, top, bottom; /* of the part of a page that is written on, pt */
    double y;
    void (*shape)(const struct plot *plot, double *least, double *most);
};

/* Places all nodes. */
void flow_document(struct flow *flow, const struct document *document);

/* True when so much fits below; else the next page is begun (unless this one is empty). */
void flow_room(struct flow *flow, double height);
void flow_next_page(struct flow *flow);

/* A table, its heading repeated on each page (table.c). */
void flow_table(struct flow *flow, const struct printed_table *table);

#endif
