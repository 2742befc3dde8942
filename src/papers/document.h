/* document.h - a paper, described once
 *
 * A document is a list of nodes, named for what they mean. It is made from a finished result, in the trade's words, and
 * given to a printer: text, PDF, HTML, or the tree itself (print_tree). A printer decides no content: whatever one
 * prints, all print, each in its own way.
 *
 * All texts are safe to show once they are in a document: UTF-8, no control characters, no controls of direction.
 */
#ifndef DUTYPROOF_PAPERS_DOCUMENT_H
#define DUTYPROOF_PAPERS_DOCUMENT_H

#include "base/arena.h"
#include "base/date.h"
#include "base/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <string.h>

/* What a text says beyond its words. Every printer tells it by more than colour. */
enum tone { TONE_PLAIN, TONE_STRONG, TONE_GOOD, TONE_BAD, TONE_UNSURE, TONE_FAINT };

enum node_kind {
    NODE_TITLE,      /* text: what the paper is; more: of what */
    NODE_VERDICT,    /* text: the verdict; more: why, in one sentence; tone */
    NODE_HEADING,    /* text */
    NODE_TEXT,       /* text: a paragraph; tone */
    NODE_FACTS,      /* pairs: a name and its value */
    NODE_TABLE,      /* table */
    NODE_PLOT,       /* plot */
    NODE_NOTES,      /* pairs: what kind of note (or its number), and the note */
    NODE_SIGNATURES, /* pairs: a role, and the name where it is known; they stand at the foot of their page */
    NODE_CODE,       /* text: what a square code holds; more: what it is, for people */
    NODE_PAGE_BREAK, /* what follows begins a page */
    NODE_KINDS
};

/* "title", "verdict", ... */
const char *node_kind_name(enum node_kind kind);

struct pair {
    const char *name, *value;
    enum tone tone;
};

struct column {
    const char *heading, *unit; /* unit: "" for none */
    bool number;                /* its cells line up at the right */
};

struct cell {
    const char *text;
    enum tone tone;
    const char *link; /* relative to the paper; "" for none. Only a printer for screens has use for it */
};

struct printed_table {
    size_t column_count, cell_count; /* cells row by row */
    struct column *columns;
    struct cell *cells;
};

struct plot;

struct node {
    enum node_kind kind;
    enum tone tone;
    const char *text, *more; /* "" where there is none */
    size_t pair_count;
    struct pair *pairs;
    struct printed_table table;
    struct plot *plot;
    struct node *next;
};

enum paper_size { PAPER_A4, PAPER_LETTER };

struct document {
    struct arena *arena;
    const char *title;    /* of the file */
    const char *language; /* "en" */
    const char *foot;     /* stands at the foot of every page */
    enum paper_size paper;
    struct date date; /* of the file: that of the test, so that the same test gives the same bytes */
    struct node *first, *last;
    bool failed; /* memory ran out: the document is not whole */
};

/* An empty document, in English, on A4. */
void document_init(struct document *document, struct arena *arena, const char *title);

/* Text of unknown origin made safe to show. Returns: the text in the document's arena; "" (and failed) when memory is
 * out. */
const char *document_shown(struct document *document, const char *text);

/* Each adds a node at the end. What is returned is for the functions below; NULL (and failed) when memory is out, which
 * they accept. */
void add_title(struct document *document, const char *text, const char *of_what);
void add_verdict(struct document *document, enum tone tone, const char *text, const char *why);
void add_heading(struct document *document, const char *fmt, ...) PRINTF_LIKE(2, 3);
void add_text(struct document *document, enum tone tone, const char *fmt, ...) PRINTF_LIKE(3, 4);
struct node *add_pairs(struct document *document, enum node_kind kind); /* facts, notes, signatures */
struct node *add_table(struct document *document, const struct column *columns, size_t count);
void add_plot(struct document *document, struct plot *plot);
void add_code(struct document *document, const char *text, const char *caption);
void add_page_break(struct document *document);

/* Adds a pair to facts, notes or signatures; a table's next cell. Values are formatted as printf does. */
void add_pair(struct document *document, struct node *node, enum tone tone, const char *name, const char *fmt, ...)
    PRINTF_LIKE(5, 6);
void add_cell(struct document *document, struct node *node, enum tone tone, const char *fmt, ...) PRINTF_LIKE(4, 5);

/* Links the cell that was added last. */
void link_cell(struct document *document, struct node *node, const char *link);

/* Rows of a table. Both are here in full, for the PDF module, which is linked to nothing of the program. */
static inline size_t table_rows(const struct printed_table *table)
{
    return table->column_count == 0 ? 0 : table->cell_count / table->column_count;
}

/* True when nothing stands in a column below its heading but "" and "-": printers leave it out. */
static inline bool table_column_empty(const struct printed_table *table, size_t column)
{
    size_t rows = table_rows(table);
    for (size_t row = 0; row < rows; row++) {
        const char *text = table->cells[row * table->column_count + column].text;
        if (text[0] != '\0' && strcmp(text, "-") != 0) {
            return false;
        }
    }
    return rows > 0;
}

#endif
