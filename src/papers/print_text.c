#include "base/text.h"
#include "papers/layout.h"
#include "papers/print.h"

#include <ctype.h>
#include <string.h>

/* The text under way. */
struct printing {
    bool colour;
    const char *subject; /* of the title: it stands beside the verdict */
    FILE *to;
};

enum { NAME_WIDTH = 18, LABEL_MAX = 120 };

static void set_tone(const struct printing *printing, enum tone tone)
{
    static const char *const codes[] = {"\033[0m", "\033[1m", "\033[1;32m", "\033[1;31m", "\033[1;33m", "\033[0m"};
    (void)fputs(printing->colour ? codes[tone] : "", printing->to);
}

static void print_line(const struct printing *printing, enum tone tone, const char *text, size_t indent)
{
    set_tone(printing, tone);
    paragraph_print("", text, indent, printing->to);
    set_tone(printing, TONE_PLAIN);
}

static void print_verdict(const struct printing *printing, const struct node *node)
{
    set_tone(printing, node->tone);
    (void)fputs(node->text, printing->to);
    set_tone(printing, TONE_PLAIN);
    paragraph_print("  ", printing->subject, 2, printing->to);
    if (node->more[0] != '\0') {
        paragraph_print("  ", node->more, 2, printing->to);
    }
}

/* What stands between a label and its text: a word takes a colon, a sign or a number in brackets does not. */
static const char *after_label(const struct node *node, const char *label)
{
    size_t length = strlen(label);
    if (node->kind != NODE_NOTES) {
        return text_columns(label) >= NAME_WIDTH - 3 ? "  " : "";
    }
    return length == 0 ? "" : isalnum((unsigned char)label[length - 1]) != 0 || label[length - 1] == ')' ? ": " : " ";
}

static void print_pairs(const struct printing *printing, const struct node *node)
{
    for (size_t i = 0; i < node->pair_count; i++) {
        const struct pair *pair = &node->pairs[i];
        char label[LABEL_MAX + 8];
        (void)snprintf(label, sizeof label, "  %.*s%s", LABEL_MAX, pair->name, after_label(node, pair->name));
        bool line = node->kind == NODE_SIGNATURES && pair->value[0] == '\0';
        paragraph_print(label, line ? "______________________________" : pair->value,
                        node->kind == NODE_NOTES ? 4 : NAME_WIDTH, printing->to);
    }
}

/* --- tables: columns as wide as they need, the widest texts broken where a line has no room for them --- */

enum { COLUMNS_MAX = 32, GAP = 2, INDENT = 2, NARROWEST = 12 };

/* How wide each column is; 0: left out. */
struct grid_widths {
    const struct printed_table *table;
    size_t width[COLUMNS_MAX];
};

static const char *cell_text(const struct printed_table *table, size_t row, size_t c)
{
    return table->cells[row * table->column_count + c].text;
}

static void measure(struct grid_widths *widths)
{
    const struct printed_table *table = widths->table;
    size_t total = INDENT;
    for (size_t c = 0; c < table->column_count; c++) {
        size_t widest = text_columns(table->columns[c].heading), unit = text_columns(table->columns[c].unit);
        widest = unit > widest ? unit : widest;
        for (size_t row = 0; row < table_rows(table); row++) {
            size_t columns = text_columns(cell_text(table, row, c));
            widest = columns > widest ? columns : widest;
        }
        widths->width[c] = table_column_empty(table, c) ? 0 : widest;
        total += widths->width[c] > 0 ? widths->width[c] + GAP : 0;
    }
    for (bool changed = true; total > LAYOUT_WIDTH + GAP && changed;) {
        size_t widest = COLUMNS_MAX;
        for (size_t c = 0; c < table->column_count; c++) {
            bool may = !table->columns[c].number && widths->width[c] > NARROWEST;
            widest = may && (widest == COLUMNS_MAX || widths->width[c] > widths->width[widest]) ? c : widest;
        }
        changed = widest != COLUMNS_MAX;
        if (changed) {
            widths->width[widest]--;
            total--;
        }
    }
}

/* Bytes of the next line of a text that is to be no wider than width: whole words where it can be. Never 0 for a text
 * that is not empty. */
static size_t line_bytes(const char *text, size_t width)
{
    size_t bytes = 0, last = 0, columns = 0;
    while (text[bytes] != '\0') {
        size_t next = bytes + 1;
        while (((unsigned char)text[next] & 0xc0U) == 0x80U) {
            next++;
        }
        char character[8] = "";
        memcpy(character, text + bytes, next - bytes < sizeof character ? next - bytes : sizeof character - 1);
        columns += text_columns(character);
        if (columns > width && bytes > 0) {
            return last > 0 ? last : bytes;
        }
        last = text[bytes] == ' ' ? bytes : last;
        bytes = next;
    }
    return bytes;
}

/* Prints one line of a row: the next part of each cell. rest: what is left of them. Returns: false when nothing was. */
static bool print_row_line(const struct printing *printing, const struct grid_widths *widths,
                           const char *rest[COLUMNS_MAX])
{
    size_t owed = INDENT;
    bool any = false;
    for (size_t c = 0; c < widths->table->column_count; c++) {
        any = any || (widths->width[c] > 0 && rest[c][0] != '\0');
    }
    for (size_t c = 0; any && c < widths->table->column_count; c++) {
        char part[512];
        if (widths->width[c] == 0) {
            continue;
        }
        size_t bytes = line_bytes(rest[c], widths->width[c]);
        (void)snprintf(part, sizeof part, "%.*s", (int)bytes, rest[c]);
        rest[c] += bytes;
        rest[c] += strspn(rest[c], " ");
        size_t columns = text_columns(part), pad = widths->width[c] > columns ? widths->width[c] - columns : 0;
        bool right = widths->table->columns[c].number;
        if (part[0] == '\0') {
            owed += widths->width[c] + GAP;
            continue;
        }
        (void)fprintf(printing->to, "%*s%s", (int)(owed + (right ? pad : 0)), "", part);
        owed = GAP + (right ? 0 : pad);
    }
    (void)fputs(any ? "\n" : "", printing->to);
    return any;
}

static void print_grid_row(const struct printing *printing, const struct grid_widths *widths,
                           const char *texts[COLUMNS_MAX], bool strong)
{
    set_tone(printing, strong ? TONE_STRONG : TONE_PLAIN);
    while (print_row_line(printing, widths, texts)) {
    }
    set_tone(printing, TONE_PLAIN);
}

static void print_table(const struct printing *printing, const struct printed_table *table)
{
    struct grid_widths widths = {.table = table};
    const char *texts[COLUMNS_MAX] = {0};
    if (table->column_count > COLUMNS_MAX || table_rows(table) == 0) {
        return;
    }
    measure(&widths);
    for (int line = 0; line < 2; line++) {
        for (size_t c = 0; c < table->column_count; c++) {
            texts[c] = line == 0 ? table->columns[c].heading : table->columns[c].unit;
        }
        print_grid_row(printing, &widths, texts, true);
    }
    for (size_t row = 0; row < table_rows(table); row++) {
        for (size_t c = 0; c < table->column_count; c++) {
            texts[c] = cell_text(table, row, c);
        }
        print_grid_row(printing, &widths, texts, false);
    }
}

static void print_node(const struct printing *printing, const struct node *node)
{
    FILE *to = printing->to;
    switch (node->kind) {
    case NODE_TITLE: break; /* beside the verdict, else at the head of the text */
    case NODE_VERDICT: print_verdict(printing, node); break;
    case NODE_HEADING:
        (void)fputc('\n', to);
        print_line(printing, TONE_STRONG, node->text, 0);
        break;
    case NODE_TEXT: print_line(printing, node->tone == TONE_FAINT ? TONE_PLAIN : node->tone, node->text, 2); break;
    case NODE_FACTS:
    case NODE_NOTES: print_pairs(printing, node); break;
    case NODE_SIGNATURES:
        (void)fputc('\n', to);
        print_pairs(printing, node);
        break;
    case NODE_TABLE: print_table(printing, &node->table); break;
    case NODE_CODE: paragraph_print(node->more[0] != '\0' ? node->more : "code", node->text, 2, to); break;
    case NODE_PLOT:
    case NODE_PAGE_BREAK:
    case NODE_KINDS: break;
    }
}

/* The title's subject: what the paper is of. A paper without a verdict begins with its title. */
static void print_head(struct printing *printing, const struct document *document)
{
    bool verdict = false;
    const struct node *title = NULL;
    for (const struct node *node = document->first; node != NULL; node = node->next) {
        verdict = verdict || node->kind == NODE_VERDICT;
        title = title == NULL && node->kind == NODE_TITLE ? node : title;
    }
    printing->subject = title == NULL ? "" : title->more;
    if (!verdict && title != NULL) {
        print_line(printing, TONE_STRONG, title->text, 2);
        paragraph_print("", title->more, 2, printing->to);
    }
}

enum status print_text(const struct document *document, bool colour, FILE *to)
{
    struct printing printing = {.colour = colour, .to = to};
    print_head(&printing, document);
    for (const struct node *node = document->first; node != NULL; node = node->next) {
        print_node(&printing, node);
    }
    if (document->foot[0] != '\0') {
        (void)fputc('\n', to);
        paragraph_print("", document->foot, 2, to);
    }
    return document->failed ? E_MEMORY : OK;
}
