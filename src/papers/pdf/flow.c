#include "papers/pdf/flow.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const double gap = 4.0, line_gap = 0.8;

void flow_next_page(struct flow *flow)
{
    flow->pages->count++;
    flow->y = flow->top;
}

void flow_room(struct flow *flow, double height)
{
    if (flow->y + height > flow->bottom && flow->y > flow->top) {
        flow_next_page(flow);
    }
}

/* --- texts --- */

/* Places a text that may be longer than a page: line by line where it does not fit. */
static void flow_text(struct flow *flow, const char *text, double size, bool bold, enum tone tone, double left)
{
    PangoLayout *layout = pages_set(flow->pages, text, size, bold, flow->right - left);
    double height = set_height(layout);
    if (height <= flow->bottom - flow->top) {
        flow_room(flow, height);
        pages_place(flow->pages, layout, tone, left, flow->y, false);
        flow->y += height + line_gap;
        return;
    }
    for (int i = 0; i < pango_layout_get_line_count(layout); i++) {
        const PangoLayoutLine *line = pango_layout_get_line_readonly(layout, i);
        char part[4096];
        size_t length = (size_t)line->length < sizeof part - 1 ? (size_t)line->length : sizeof part - 1;
        memcpy(part, text + line->start_index, length);
        part[length] = '\0';
        PangoLayout *one = pages_set(flow->pages, part, size, bold, 0.0);
        flow_room(flow, set_height(one));
        pages_place(flow->pages, one, tone, left, flow->y, false);
        flow->y += set_height(one);
    }
    g_object_unref(layout);
}

static void flow_title(struct flow *flow, const struct node *node)
{
    flow_text(flow, node->text, TEXT_SIZE + 1, false, TONE_FAINT, flow->left);
    flow_text(flow, node->more, TITLE_SIZE, true, TONE_STRONG, flow->left);
    flow->y += 2.0;
}

static struct thing *frame(struct flow *flow, enum thing_kind kind, enum tone tone, double width, double height)
{
    struct thing *thing = pages_thing(flow->pages, kind);
    if (thing != NULL) {
        thing->x = flow->left;
        thing->y = flow->y;
        thing->width = width;
        thing->height = height;
        thing->tone = tone;
    }
    return thing;
}

static void whiten(PangoLayout *layout)
{
    PangoAttrList *white = pango_attr_list_new();
    pango_attr_list_insert(white, pango_attr_foreground_new(0xffff, 0xffff, 0xffff));
    pango_layout_set_attributes(layout, white);
    pango_attr_list_unref(white);
}

/* A box over the whole width: the word in large letters, what qualifies it below, and why beside them. A failure stands
 * white on dark. */
static void flow_verdict(struct flow *flow, const struct node *node)
{
    static const double padding = 6.0;
    const char *comma = strstr(node->text, ", ");
    char word[256];
    (void)snprintf(word, sizeof word, "%.*s", comma == NULL ? (int)strlen(node->text) : (int)(comma - node->text),
                   node->text);
    double width = flow->right - flow->left;
    PangoLayout *large = pages_set(flow->pages, word, VERDICT_SIZE, true, 0.5 * width);
    PangoLayout *small = pages_set(flow->pages, comma == NULL ? "" : comma + 2, TEXT_SIZE, true, 0.4 * width);
    double left_width = fmax(set_width(large), set_width(small)),
           small_height = comma == NULL ? 0.0 : set_height(small);
    PangoLayout *why = pages_set(flow->pages, node->more, TEXT_SIZE + 1, false, width - left_width - 4.0 * padding);
    double height = fmax(set_height(large) + small_height, set_height(why)) + padding;
    flow_room(flow, height);
    (void)frame(flow, THING_BOX, node->tone, width, height);
    if (node->tone == TONE_BAD) {
        (void)frame(flow, THING_FILL, node->tone, left_width + 2.0 * padding, height);
        whiten(large);
        whiten(small);
    }
    double top = flow->y + (height - set_height(large) - small_height) / 2.0;
    pages_place(flow->pages, small, node->tone, flow->left + padding, top + set_height(large), false);
    pages_place(flow->pages, large, node->tone, flow->left + padding, top, false);
    pages_place(flow->pages, why, TONE_PLAIN, flow->left + left_width + 3.0 * padding,
                flow->y + (height - set_height(why)) / 2.0, false);
    flow->y += height + gap;
}

static void flow_heading(struct flow *flow, const struct node *node)
{
    flow->y += flow->y > flow->top ? 2.0 : 0.0;
    PangoLayout *layout = pages_set(flow->pages, node->text, HEADING_SIZE, true, flow->right - flow->left);
    double height = set_height(layout);
    double least = 0.0, most = 0.0;
    if (node->next != NULL && node->next->kind == NODE_PLOT) {
        flow->shape(node->next->plot, &least, &most);
    }
    flow_room(flow, height + 40.0 + least * (flow->right - flow->left)); /* never alone at the foot of a page */
    pages_place(flow->pages, layout, TONE_STRONG, flow->left, flow->y, false);
    flow->y += height + 1.0;
    pages_rule(flow->pages, flow->left, flow->y, flow->right - flow->left, 0.0, 0.7, TONE_PLAIN);
    flow->y += 2.0;
}

/* --- facts --- */

static double text_width(struct flow *flow, const char *text, bool bold)
{
    PangoLayout *layout = pages_set(flow->pages, text, TEXT_SIZE, bold, 0.0);
    double width = set_width(layout);
    g_object_unref(layout);
    return width;
}

/* As many columns as most facts fit into. */
static size_t fact_columns(struct flow *flow, const struct node *node, double name_width)
{
    for (size_t columns = 3; columns > 1; columns--) {
        double width = (flow->right - flow->left - 12.0 * (double)(columns - 1)) / (double)columns;
        size_t fit = 0;
        for (size_t i = 0; i < node->pair_count; i++) {
            fit += name_width + text_width(flow, node->pairs[i].value, false) <= width;
        }
        if (10 * fit >= 6 * node->pair_count) {
            return columns;
        }
    }
    return 1;
}

static double place_fact(struct flow *flow, const struct pair *pair, double x, double name_width, double width)
{
    PangoLayout *name = pages_set(flow->pages, pair->name, TEXT_SIZE, false, name_width - 4.0);
    PangoLayout *value = pages_set(flow->pages, pair->value, TEXT_SIZE,
                                   pair->tone != TONE_PLAIN && pair->tone != TONE_FAINT, width - name_width);
    double height = fmax(set_height(name), set_height(value));
    pages_place(flow->pages, name, TONE_FAINT, x, flow->y, false);
    pages_place(flow->pages, value, pair->tone, x + name_width, flow->y, false);
    return height;
}

/* A fact that is too long for a column: over the whole width, over pages where need be. */
static void flow_long_fact(struct flow *flow, const struct pair *pair, double name_width)
{
    PangoLayout *name = pages_set(flow->pages, pair->name, TEXT_SIZE, false, name_width - 4.0);
    flow_room(flow, set_height(name));
    pages_place(flow->pages, name, TONE_FAINT, flow->left, flow->y, false);
    flow_text(flow, pair->value, TEXT_SIZE, false, pair->tone, flow->left + name_width);
}

static bool is_long(struct flow *flow, const struct pair *pair, double room)
{
    return text_width(flow, pair->value, false) > 1.9 * room; /* two lines at most in a column */
}

static void flow_facts(struct flow *flow, const struct node *node)
{
    double name_width = 0.0;
    for (size_t i = 0; i < node->pair_count; i++) {
        name_width = fmax(name_width, text_width(flow, node->pairs[i].name, false));
    }
    name_width = fmin(name_width + 6.0, 0.3 * (flow->right - flow->left));
    size_t columns = fact_columns(flow, node, name_width), placed = 0;
    double width = (flow->right - flow->left - 12.0 * (double)(columns - 1)) / (double)columns, height = 0.0;
    for (size_t i = 0; i < node->pair_count; i++) {
        if (is_long(flow, &node->pairs[i], width - name_width)) {
            continue;
        }
        if (placed % columns == 0) {
            flow->y += height;
            flow_room(flow, 22.0);
            height = 0.0;
        }
        double x = flow->left + (double)(placed % columns) * (width + 12.0);
        height = fmax(height, place_fact(flow, &node->pairs[i], x, name_width, width) + line_gap);
        placed++;
    }
    flow->y += height;
    for (size_t i = 0; i < node->pair_count; i++) {
        if (is_long(flow, &node->pairs[i], width - name_width)) {
            flow_long_fact(flow, &node->pairs[i], name_width);
        }
    }
    flow->y += gap - line_gap;
}

/* --- notes, signatures, plot, code --- */

/* A note is not broken over pages unless it is long; a heading-like label then does not stand alone either. */
static double note_height(struct flow *flow, const char *text, double left)
{
    enum { LONGEST_WHOLE = 100 }; /* pt */
    PangoLayout *layout = pages_set(flow->pages, text, TEXT_SIZE, false, flow->right - flow->left - left);
    double height = set_height(layout);
    g_object_unref(layout);
    return fmin(height, LONGEST_WHOLE);
}

static void flow_notes(struct flow *flow, const struct node *node)
{
    double label_width = 0.0;
    for (size_t i = 0; i < node->pair_count; i++) {
        label_width = fmax(label_width, text_width(flow, node->pairs[i].name, true));
    }
    label_width = label_width > 0.0 ? fmin(label_width + 6.0, 0.25 * (flow->right - flow->left)) : 0.0;
    for (size_t i = 0; i < node->pair_count; i++) {
        const struct pair *pair = &node->pairs[i];
        PangoLayout *label = pages_set(flow->pages, pair->name, TEXT_SIZE, true, fmax(label_width - 4.0, 1.0));
        double tall = set_height(label), top = flow->y;
        flow_room(flow, fmax(tall, note_height(flow, pair->value, label_width)));
        top = flow->y;
        pages_place(flow->pages, label, pair->tone, flow->left, flow->y, false);
        flow_text(flow, pair->value, TEXT_SIZE, false, TONE_PLAIN, flow->left + label_width);
        flow->y = fmax(flow->y, flow->y >= top ? top + tall + line_gap : flow->y);
    }
    flow->y += gap - line_gap;
}

enum { SIGNATURE_ROOM = 46 }; /* pt: 9 mm to sign in, the line, the role */

static void flow_signatures(struct flow *flow, const struct node *node)
{
    size_t count = node->pair_count > 0 ? node->pair_count : 1;
    double width = (flow->right - flow->left - 14.0 * (double)(count - 1)) / (double)count;
    flow_room(flow, SIGNATURE_ROOM);
    flow->y = fmax(flow->y, flow->bottom - SIGNATURE_ROOM);
    double line = flow->y + 27.0;
    for (size_t i = 0; i < node->pair_count; i++) {
        double x = flow->left + (double)i * (width + 14.0);
        pages_rule(flow->pages, x, line, width, 0.0, 0.8, TONE_PLAIN);
        PangoLayout *role = pages_set(flow->pages, node->pairs[i].name, TEXT_SIZE, false, width);
        pages_place(flow->pages, role, TONE_FAINT, x, line + 2.0, false);
        if (node->pairs[i].value[0] != '\0') {
            PangoLayout *name = pages_set(flow->pages, node->pairs[i].value, TEXT_SIZE, false, width);
            pages_place(flow->pages, name, TONE_PLAIN, x, line - set_height(name) - 2.0, false);
        }
    }
    flow->y += SIGNATURE_ROOM;
}

static void flow_plot(struct flow *flow, const struct node *node)
{
    double least = 0.5, most = 0.8, width = flow->right - flow->left;
    flow->shape(node->plot, &least, &most);
    flow_room(flow, least * width);
    struct thing *thing = pages_thing(flow->pages, THING_PLOT);
    if (thing != NULL) {
        thing->plot = node->plot;
        thing->x = flow->left;
        thing->y = flow->y;
        thing->width = width;
        thing->height = least * width;
    }
    flow->y += least * width + gap;
}

static void flow_code(struct flow *flow, const struct node *node)
{
    static const double side = 74.0;
    flow_room(flow, side);
    struct thing *thing = pages_thing(flow->pages, THING_CODE);
    if (thing != NULL) {
        thing->code = node->text;
        thing->x = flow->left - 6.0; /* its quiet zone reaches into the margin */
        thing->y = flow->y;
        thing->width = thing->height = side;
    }
    double y = flow->y, left = flow->left + side + 6.0;
    flow->y += 8.0;
    flow_text(flow, node->more, TEXT_SIZE, false, TONE_PLAIN, left);
    flow_text(flow, node->text, TEXT_SIZE, false, TONE_FAINT, left);
    flow->y = fmax(flow->y, y + side) + gap;
}

static void flow_node(struct flow *flow, const struct node *node)
{
    switch (node->kind) {
    case NODE_TITLE: flow_title(flow, node); break;
    case NODE_VERDICT: flow_verdict(flow, node); break;
    case NODE_HEADING: flow_heading(flow, node); break;
    case NODE_TEXT:
        flow_text(flow, node->text, TEXT_SIZE, node->tone != TONE_PLAIN && node->tone != TONE_FAINT, node->tone,
                  flow->left);
        flow->y += 2.0;
        break;
    case NODE_FACTS: flow_facts(flow, node); break;
    case NODE_TABLE: flow_table(flow, &node->table); break;
    case NODE_PLOT: flow_plot(flow, node); break;
    case NODE_NOTES: flow_notes(flow, node); break;
    case NODE_SIGNATURES: flow_signatures(flow, node); break;
    case NODE_CODE: flow_code(flow, node); break;
    case NODE_PAGE_BREAK: flow_next_page(flow); break;
    case NODE_KINDS: break;
    }
}

/* --- a page with a plot is filled by it --- */

/* Where a part of the document (up to a page break) begins, and what of it came after its plots. */
struct part {
    size_t page, first_thing;
    double end; /* y below the last thing that does not stand at the foot */
};

/* Gives what room is left on a page to the plots on it. end: y below the last thing that flows. */
static void stretch(struct flow *flow, const struct part *part, double foot)
{
    struct pages *pages = flow->pages;
    if (pages->count != part->page) {
        return;
    }
    double left = foot - part->end, moved = 0.0;
    for (size_t i = part->first_thing; i < pages->thing_count; i++) {
        struct thing *thing = &pages->things[i];
        if (thing->y < part->end) { /* what stands at the foot stays */
            thing->y += moved;
        }
        if (thing->kind == THING_PLOT && left > moved) {
            double least = 0.5, most = 0.8;
            flow->shape(thing->plot, &least, &most);
            double taller = fmin(left - moved, (most - least) * thing->width);
            thing->height += taller;
            moved += taller;
        }
    }
    flow->y = fmin(flow->y + moved, flow->bottom);
}

void flow_document(struct flow *flow, const struct document *document)
{
    struct part part = {0};
    double foot = flow->bottom;
    flow->y = flow->top;
    for (const struct node *node = document->first; node != NULL; node = node->next) {
        bool ends = node->kind == NODE_PAGE_BREAK;
        if (node->kind == NODE_SIGNATURES) {
            part.end = flow->y;
            foot = flow->bottom - SIGNATURE_ROOM;
        }
        if (!ends) {
            size_t page = flow->pages->count;
            flow_node(flow, node);
            part.end = node->kind == NODE_SIGNATURES && page == flow->pages->count ? part.end : flow->y;
        }
        if (ends || node->next == NULL) {
            stretch(flow, &part, foot);
        }
        if (ends) {
            flow_next_page(flow);
            part = (struct part){.page = flow->pages->count, .first_thing = flow->pages->thing_count};
            foot = flow->bottom;
        }
    }
}
