#include "papers/pdf/flow.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { COLUMNS_MAX = 24 };

static const double column_gap = 7.0, row_gap = 1.0;

/* A table under way: where its columns lie. */
struct setting {
    struct flow *flow;
    const struct printed_table *table;
    double x[COLUMNS_MAX], width[COLUMNS_MAX]; /* width 0: left out */
    bool units;
    PangoLayout **cells; /* each cell set in one line, as it was measured; NULL once it is placed */
};

static bool is_bold(enum tone tone)
{
    return tone == TONE_STRONG || tone == TONE_GOOD || tone == TONE_BAD || tone == TONE_UNSURE;
}

static double natural(struct flow *flow, const char *text, bool bold)
{
    PangoLayout *layout = pages_set(flow->pages, text, TEXT_SIZE, bold, 0.0);
    double width = set_width(layout);
    g_object_unref(layout);
    return width;
}

/* A heading may take as many lines as it has words. */
static double longest_word(struct flow *flow, const char *text)
{
    double width = 0.0;
    char word[128];
    while (*text != '\0') {
        size_t length = strcspn(text, " ");
        (void)snprintf(word, sizeof word, "%.*s", (int)length, text);
        width = fmax(width, natural(flow, word, true));
        text += length + (text[length] == ' ');
    }
    return width;
}

/* Each column as wide as its widest cell. */
static double measure(struct setting *setting)
{
    const struct printed_table *table = setting->table;
    double total = 0.0;
    for (size_t c = 0; c < table->column_count; c++) {
        double width = natural(setting->flow, table->columns[c].unit, false);
        width = fmax(width, longest_word(setting->flow, table->columns[c].heading));
        for (size_t i = c; i < table->cell_count; i += table->column_count) {
            setting->cells[i] =
                pages_set(setting->flow->pages, table->cells[i].text, TEXT_SIZE, is_bold(table->cells[i].tone), 0.0);
            width = fmax(width, set_width(setting->cells[i]));
        }
        setting->width[c] = table_column_empty(table, c) ? 0.0 : width + 0.5;
        setting->units = setting->units || table->columns[c].unit[0] != '\0';
        total += setting->width[c] > 0.0 ? setting->width[c] + column_gap : 0.0;
    }
    return total - column_gap;
}

/* Takes what is too much from the texts, the widest first, and gives what is left over to the gaps. */
static void fit(struct setting *setting, double total, double room)
{
    const struct printed_table *table = setting->table;
    static const double narrowest = 60.0;
    while (total > room) {
        size_t widest = COLUMNS_MAX;
        for (size_t c = 0; c < table->column_count; c++) {
            bool may = !table->columns[c].number && setting->width[c] > narrowest;
            widest = may && (widest == COLUMNS_MAX || setting->width[c] > setting->width[widest]) ? c : widest;
        }
        if (widest == COLUMNS_MAX) {
            break;
        }
        double less = fmin(total - room, fmax(setting->width[widest] * 0.1, 1.0));
        setting->width[widest] -= less;
        total -= less;
    }
    for (size_t c = 0; c < table->column_count; c++) {
        double heading = setting->width[c] > 0.0 ? natural(setting->flow, table->columns[c].heading, true) + 0.5 : 0.0;
        if (heading > setting->width[c] && total + heading - setting->width[c] <= room) {
            total += heading - setting->width[c];
            setting->width[c] = heading;
        }
    }
    double shrink = total > room ? room / total : 1.0, x = setting->flow->left;
    size_t kept = 0;
    for (size_t c = 0; c < table->column_count; c++) {
        kept += setting->width[c] > 0.0;
    }
    double more = total < room && kept > 1 ? fmin((room - total) / (double)(kept - 1), 14.0) : 0.0;
    for (size_t c = 0; c < table->column_count; c++) {
        setting->width[c] *= shrink;
        setting->x[c] = x;
        x += setting->width[c] > 0.0 ? setting->width[c] + column_gap * shrink + more : 0.0;
    }
}

static void place(struct setting *setting, size_t c, PangoLayout *layout, enum tone tone, double y)
{
    bool number = setting->table->columns[c].number;
    if (number) {
        pango_layout_set_alignment(layout, PANGO_ALIGN_RIGHT);
    }
    pages_place(setting->flow->pages, layout, tone, setting->x[c], y, false);
}

static PangoLayout *set(struct setting *setting, size_t c, const char *text, bool bold)
{
    return pages_set(setting->flow->pages, text, TEXT_SIZE, bold, setting->width[c]);
}

/* One row of texts. Returns: its height. */
static double heading_row(struct setting *setting, bool units, bool place_it)
{
    double height = 0.0;
    PangoLayout *layouts[COLUMNS_MAX] = {0};
    for (size_t c = 0; c < setting->table->column_count; c++) {
        if (setting->width[c] > 0.0) {
            const struct column *column = &setting->table->columns[c];
            layouts[c] = set(setting, c, units ? column->unit : column->heading, !units);
            height = fmax(height, set_height(layouts[c]));
        }
    }
    for (size_t c = 0; c < setting->table->column_count; c++) {
        if (layouts[c] != NULL && place_it) { /* headings stand on one line at their foot */
            place(setting, c, layouts[c], units ? TONE_FAINT : TONE_STRONG,
                  setting->flow->y + height - set_height(layouts[c]));
        } else if (layouts[c] != NULL) {
            g_object_unref(layouts[c]);
        }
    }
    return height;
}

static void put_heading(struct setting *setting)
{
    struct flow *flow = setting->flow;
    flow->y += heading_row(setting, false, true);
    if (setting->units) {
        flow->y += heading_row(setting, true, true);
    }
    pages_rule(flow->pages, flow->left, flow->y + 0.6, flow->right - flow->left, 0.0, 0.7, TONE_PLAIN);
    flow->y += row_gap;
}

/* The cell as it was measured, else broken to its column. */
static PangoLayout *take_cell(struct setting *setting, size_t i, size_t c)
{
    PangoLayout *layout = setting->cells[i];
    setting->cells[i] = NULL;
    if (set_width(layout) > setting->width[c] + 0.01) {
        pango_layout_set_width(layout, (int)(setting->width[c] * PANGO_SCALE));
        if (setting->table->columns[c].number) {
            pango_layout_set_alignment(layout, PANGO_ALIGN_RIGHT);
        }
    }
    return layout;
}

static void put_row(struct setting *setting, size_t row)
{
    struct flow *flow = setting->flow;
    const struct printed_table *table = setting->table;
    PangoLayout *layouts[COLUMNS_MAX] = {0};
    double height = 0.0;
    for (size_t c = 0; c < table->column_count; c++) {
        if (setting->width[c] > 0.0) {
            layouts[c] = take_cell(setting, row * table->column_count + c, c);
            height = fmax(height, set_height(layouts[c]));
        }
    }
    if (flow->y + height + row_gap > flow->bottom && row > 0) {
        flow_next_page(flow);
        put_heading(setting);
    }
    for (size_t c = 0; c < table->column_count; c++) {
        if (layouts[c] != NULL) {
            bool number = table->columns[c].number;
            pages_place(flow->pages, layouts[c], table->cells[row * table->column_count + c].tone,
                        setting->x[c] + (number ? setting->width[c] : 0.0), flow->y, number);
        }
    }
    flow->y += height + 0.3;
    pages_rule(flow->pages, flow->left, flow->y, flow->right - flow->left, 0.0, 0.35, TONE_FAINT);
    flow->y += row_gap - 0.3;
}

static void release_cells(struct setting *setting)
{
    for (size_t i = 0; i < setting->table->cell_count; i++) {
        if (setting->cells[i] != NULL) {
            g_object_unref(setting->cells[i]);
        }
    }
    free(setting->cells);
}

void flow_table(struct flow *flow, const struct printed_table *table)
{
    struct setting setting = {.flow = flow, .table = table};
    size_t rows = table_rows(table);
    if (rows == 0 || table->column_count > COLUMNS_MAX) {
        return;
    }
    setting.cells = calloc(table->cell_count, sizeof *setting.cells);
    if (setting.cells == NULL) {
        flow->pages->failed = true;
        return;
    }
    fit(&setting, measure(&setting), flow->right - flow->left);
    flow_room(flow, heading_row(&setting, false, false) + (setting.units ? 12.0 : 0.0) + 16.0);
    put_heading(&setting);
    for (size_t row = 0; row < rows; row++) {
        put_row(&setting, row);
    }
    release_cells(&setting);
    flow->y += 4.0;
}
