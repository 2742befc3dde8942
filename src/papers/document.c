#include "papers/document.h"

#include "base/text.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { LONGEST = 12000 }; /* characters: longer than any remark that is meant to be read */

const char *node_kind_name(enum node_kind kind)
{
    static const char *const names[] = {
        [NODE_TITLE] = "title", [NODE_VERDICT] = "verdict",       [NODE_HEADING] = "heading",
        [NODE_TEXT] = "text",   [NODE_FACTS] = "facts",           [NODE_TABLE] = "table",
        [NODE_PLOT] = "plot",   [NODE_NOTES] = "notes",           [NODE_SIGNATURES] = "signatures",
        [NODE_CODE] = "code",   [NODE_PAGE_BREAK] = "page break",
    };
    return names[kind];
}

void document_init(struct document *document, struct arena *arena, const char *title)
{
    *document = (struct document){.arena = arena, .language = "en", .foot = "", .title = ""};
    document->title = document_shown(document, title);
}

const char *document_shown(struct document *document, const char *text)
{
    const char *safe = text == NULL ? "" : text_shown(document->arena, text, LONGEST);
    document->failed = document->failed || safe == NULL;
    return safe == NULL ? "" : safe;
}

/* Formats; the outcome is safe to show. */
static const char *formatted(struct document *document, const char *fmt, va_list args)
{
    va_list again;
    va_copy(again, args);
    int length = vsnprintf(NULL, 0, fmt, again);
    va_end(again);
    char *text = length < 0 ? NULL : malloc((size_t)length + 1);
    if (text == NULL) {
        document->failed = true;
        return "";
    }
    (void)vsnprintf(text, (size_t)length + 1, fmt, args);
    const char *safe = document_shown(document, text);
    free(text);
    return safe;
}

static struct node *add_node(struct document *document, enum node_kind kind, enum tone tone)
{
    struct node *node = arena_alloc(document->arena, 1, sizeof *node);
    if (node == NULL) {
        document->failed = true;
        return NULL;
    }
    *node = (struct node){.kind = kind, .tone = tone, .text = "", .more = ""};
    *(document->last == NULL ? &document->first : &document->last->next) = node;
    document->last = node;
    return node;
}

static void add_texts(struct document *document, enum node_kind kind, enum tone tone, const char *text,
                      const char *more)
{
    struct node *node = add_node(document, kind, tone);
    if (node != NULL) {
        node->text = document_shown(document, text);
        node->more = document_shown(document, more);
    }
}

void add_title(struct document *document, const char *text, const char *of_what)
{
    add_texts(document, NODE_TITLE, TONE_PLAIN, text, of_what);
}

void add_verdict(struct document *document, enum tone tone, const char *text, const char *why)
{
    add_texts(document, NODE_VERDICT, tone, text, why);
}

void add_code(struct document *document, const char *text, const char *caption)
{
    add_texts(document, NODE_CODE, TONE_PLAIN, text, caption);
}

void add_page_break(struct document *document)
{
    (void)add_node(document, NODE_PAGE_BREAK, TONE_PLAIN);
}

void add_heading(struct document *document, const char *fmt, ...)
{
    struct node *node = add_node(document, NODE_HEADING, TONE_STRONG);
    va_list args;
    va_start(args, fmt);
    if (node != NULL) {
        node->text = formatted(document, fmt, args);
    }
    va_end(args);
}

void add_text(struct document *document, enum tone tone, const char *fmt, ...)
{
    struct node *node = add_node(document, NODE_TEXT, tone);
    va_list args;
    va_start(args, fmt);
    if (node != NULL) {
        node->text = formatted(document, fmt, args);
    }
    va_end(args);
}

struct node *add_pairs(struct document *document, enum node_kind kind)
{
    return add_node(document, kind, TONE_PLAIN);
}

void add_pair(struct document *document, struct node *node, enum tone tone, const char *name, const char *fmt, ...)
{
    struct pair *pair =
        node == NULL ? NULL : arena_push(document->arena, &node->pairs, &node->pair_count, sizeof *pair);
    va_list args;
    va_start(args, fmt);
    if (pair == NULL) {
        document->failed = true;
    } else {
        *pair = (struct pair){document_shown(document, name), formatted(document, fmt, args), tone};
    }
    va_end(args);
}

struct node *add_table(struct document *document, const struct column *columns, size_t count)
{
    struct node *node = add_node(document, NODE_TABLE, TONE_PLAIN);
    struct column *own = node == NULL ? NULL : arena_alloc(document->arena, count, sizeof *own);
    if (own == NULL) {
        document->failed = true;
        return NULL;
    }
    for (size_t i = 0; i < count; i++) {
        own[i] = (struct column){document_shown(document, columns[i].heading),
                                 document_shown(document, columns[i].unit), columns[i].number};
    }
    node->table = (struct printed_table){.column_count = count, .columns = own};
    return node;
}

void add_cell(struct document *document, struct node *node, enum tone tone, const char *fmt, ...)
{
    struct cell *cell =
        node == NULL ? NULL : arena_push(document->arena, &node->table.cells, &node->table.cell_count, sizeof *cell);
    va_list args;
    va_start(args, fmt);
    if (cell == NULL) {
        document->failed = true;
    } else {
        *cell = (struct cell){formatted(document, fmt, args), tone, ""};
    }
    va_end(args);
}

void link_cell(struct document *document, struct node *node, const char *link)
{
    if (node != NULL && node->table.cell_count > 0) {
        node->table.cells[node->table.cell_count - 1].link = document_shown(document, link);
    }
}

void add_plot(struct document *document, struct plot *plot)
{
    struct node *node = add_node(document, NODE_PLOT, TONE_PLAIN);
    if (node != NULL) {
        node->plot = plot;
    }
}
