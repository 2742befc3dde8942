#include "papers/print.h"

static void print_pairs(const struct node *node, FILE *to)
{
    for (size_t i = 0; i < node->pair_count; i++) {
        (void)fprintf(to, "    %s = %s\n", node->pairs[i].name, node->pairs[i].value);
    }
}

static void print_table(const struct printed_table *table, FILE *to)
{
    for (size_t c = 0; c < table->column_count; c++) {
        (void)fprintf(to, "%s%s (%s)", c == 0 ? "    " : " | ", table->columns[c].heading, table->columns[c].unit);
    }
    for (size_t i = 0; i < table->cell_count; i++) {
        (void)fprintf(to, "%s%s", i % table->column_count == 0 ? "\n    " : " | ", table->cells[i].text);
    }
    (void)fputc('\n', to);
}

static void print_plot(const struct plot *plot, FILE *to)
{
    (void)fprintf(to, "    %s\n", plot->text);
    for (size_t p = 0; p < plot->panel_count; p++) {
        const struct panel *panel = &plot->panels[p];
        (void)fprintf(to, "    %s over %s\n", panel->y.name, panel->x.name);
        for (size_t s = 0; s < panel->series_count; s++) {
            (void)fprintf(to, "        %s: %zu\n", panel->series[s].name, panel->series[s].count);
        }
    }
}

void print_tree(const struct document *document, FILE *to)
{
    (void)fprintf(to, "document %s (%s)\n", document->title, document->language);
    for (const struct node *node = document->first; node != NULL; node = node->next) {
        (void)fprintf(to, "%s%s%s%s%s\n", node_kind_name(node->kind), node->text[0] != '\0' ? " " : "", node->text,
                      node->more[0] != '\0' ? " | " : "", node->more);
        print_pairs(node, to);
        if (node->kind == NODE_TABLE) {
            print_table(&node->table, to);
        }
        if (node->kind == NODE_PLOT) {
            print_plot(node->plot, to);
        }
    }
}
