#include "base/files.h"
#include "base/memory_stream.h"
#include "base/text.h"
#include "papers/print.h"

#include <nettle/base64.h>
#include <nettle/sha2.h>
#include <stdlib.h>
#include <string.h>

/* The look: black on white, dark where the reader's screen is; wide tables scroll in themselves; paper gets no dark. */
static const char style[] =
    ":root{color-scheme:light dark;--ink:#111;--ground:#fff;--faint:#555;--line:#bbb;--good:#00593f;--bad:#8a2500;"
    "--unsure:#5a4a00}"
    "@media screen and (prefers-color-scheme:dark){:root{--ink:#eee;--ground:#161616;--faint:#aaa;--line:#555;"
    "--good:#5fd6b0;--bad:#ff9d76;--unsure:#e8cf6a}}"
    "body{font:16px/1.45 system-ui,'DejaVu Sans',sans-serif;color:var(--ink);background:var(--ground);max-width:60rem;"
    "margin:0 auto;padding:1rem;overflow-wrap:anywhere}"
    "h1{font-size:1.35rem;margin:.2rem 0}h2{font-size:1.05rem;margin:1.3rem 0 .3rem;border-bottom:1px solid var(--line)}"
    ".verdict{border:3px solid;padding:.4rem .8rem;margin:.8rem 0}.verdict strong{font-size:1.8rem;display:block}"
    ".good{color:var(--good)}.bad{color:var(--bad);font-weight:700}.unsure{color:var(--unsure);font-weight:700}"
    ".strong{font-weight:700}.faint{color:var(--faint)}"
    "dl{display:grid;grid-template-columns:repeat(auto-fill,minmax(18rem,1fr));gap:.2rem 1.2rem;margin:.3rem 0}"
    "dl div{display:flex;gap:.6rem}dt{color:var(--faint);flex:0 0 8rem}dd{margin:0}"
    ".scroll{overflow-x:auto}table{border-collapse:collapse;margin:.3rem 0;font-size:.92rem}"
    "th,td{overflow-wrap:normal;padding:.15rem .5rem;border-bottom:1px solid var(--line);text-align:left;vertical-align:top}"
    "th{font-weight:600}.n{text-align:right;font-variant-numeric:tabular-nums;white-space:nowrap}"
    "figure{margin:.6rem 0}img{background:#fff;max-width:100%;height:auto}summary{cursor:pointer}"
    "ul.notes{list-style:none;padding:0}ul.notes li{margin:.25rem 0}.signatures{display:flex;flex-wrap:wrap;gap:2rem;"
    "margin-top:3rem}.signatures div{flex:1 1 10rem;border-top:1px solid;padding-top:.2rem}"
    "footer{margin-top:2rem;color:var(--faint);font-size:.85rem}"
    "a{color:inherit}button,select{font:inherit;color:inherit;background:none;border:1px solid var(--line);padding:.1rem .4rem;cursor:pointer}"
    "@media print{body{max-width:none;padding:0;font-size:9.5pt}details{display:none}.controls{display:none}"
    "h2,figure,tr{break-inside:avoid}h2{break-after:avoid}.break{break-before:page}thead{display:table-header-group}}";

void print_escaped(const char *text, FILE *to)
{
    for (; *text != '\0'; text++) {
        switch (*text) {
        case '<': (void)fputs("&lt;", to); break;
        case '>': (void)fputs("&gt;", to); break;
        case '&': (void)fputs("&amp;", to); break;
        case '"': (void)fputs("&quot;", to); break;
        case '\'': (void)fputs("&#39;", to); break;
        default: (void)fputc(*text, to);
        }
    }
}

static const char *tone_class(enum tone tone)
{
    static const char *const names[] = {"", "strong", "good", "bad", "unsure", "faint"};
    return names[tone];
}

/* An element with its text; a class only where there is one. */
static void element(FILE *to, const char *name, const char *class, const char *text)
{
    (void)fprintf(to, class[0] != '\0' ? "<%s class=\"%s\">" : "<%s>", name, class);
    print_escaped(text, to);
    (void)fprintf(to, "</%s>", name);
}

/* Memory: malloc. Returns: NULL when memory is out. */
static char *base64_of(const void *bytes, size_t length)
{
    char *text = malloc(BASE64_ENCODE_RAW_LENGTH(length) + 1);
    if (text != NULL) {
        base64_encode_raw(text, length, bytes);
        text[BASE64_ENCODE_RAW_LENGTH(length)] = '\0';
    }
    return text;
}

/* --- head --- */

/* Nothing is loaded from anywhere, and of scripts only ours runs, told by its digest. */
static bool print_policy(const char *script, FILE *to)
{
    uint8_t digest[SHA256_DIGEST_SIZE];
    struct sha256_ctx hash;
    sha256_init(&hash);
    sha256_update(&hash, strlen(script), (const uint8_t *)script);
    sha256_digest(&hash, sizeof digest, digest);
    char *text = base64_of(digest, sizeof digest);
    if (text == NULL) {
        return false;
    }
    (void)fputs("<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; img-src data:; "
                "style-src 'unsafe-inline'; base-uri 'none'; form-action 'none'",
                to);
    if (script[0] != '\0') {
        (void)fprintf(to, "; script-src 'sha256-%s'", text);
    }
    (void)fputs("\">\n", to);
    free(text);
    return true;
}

static bool print_head(const struct document *document, const char *script, FILE *to)
{
    (void)fprintf(to, "<!DOCTYPE html>\n<html lang=\"%s\">\n<head>\n<meta charset=\"utf-8\">\n", document->language);
    bool good = print_policy(script, to);
    (void)fputs("<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n", to);
    element(to, "title", "", document->title);
    (void)fprintf(to, "\n<style>%s@page{size:%s}</style>\n</head>\n<body>\n<main>\n", style,
                  document->paper == PAPER_LETTER ? "letter" : "A4");
    return good;
}

/* --- nodes --- */

static void print_pairs(const struct node *node, const char *list, const char *item, const char *name,
                        const char *value, FILE *to)
{
    (void)fprintf(to, "<%s>\n", list);
    for (size_t i = 0; i < node->pair_count; i++) {
        const struct pair *pair = &node->pairs[i];
        (void)fprintf(to, "<%s>", item);
        if (pair->name[0] != '\0') {
            element(to, name, node->kind == NODE_NOTES ? tone_class(pair->tone) : "", pair->name);
            (void)fputs(node->kind == NODE_FACTS ? "" : " ", to);
        }
        element(to, value, node->kind == NODE_FACTS ? tone_class(pair->tone) : "", pair->value);
        (void)fprintf(to, "</%s>\n", item);
    }
    (void)fprintf(to, "</%.*s>\n", (int)strcspn(list, " "), list);
}

static void print_table_head(const struct printed_table *table, FILE *to)
{
    (void)fputs("<thead><tr>", to);
    for (size_t c = 0; c < table->column_count; c++) {
        const struct column *column = &table->columns[c];
        if (table_column_empty(table, c)) {
            continue;
        }
        (void)fprintf(to, "<th scope=\"col\"%s>", column->number ? " class=\"n\"" : "");
        print_escaped(column->heading, to);
        if (column->unit[0] != '\0') {
            (void)fputs("<br><span class=\"faint\">", to);
            print_escaped(column->unit, to);
            (void)fputs("</span>", to);
        }
        (void)fputs("</th>", to);
    }
    (void)fputs("</tr></thead>\n<tbody>\n", to);
}

static void print_cell(const struct cell *cell, const char *class, FILE *to)
{
    if (cell->link[0] == '\0') {
        element(to, "td", class, cell->text);
        return;
    }
    (void)fprintf(to, class[0] != '\0' ? "<td class=\"%s\"><a href=\"" : "<td><a href=\"", class);
    print_escaped(cell->link, to);
    (void)fputs("\">", to);
    print_escaped(cell->text, to);
    (void)fputs("</a></td>", to);
}

static void print_table(const struct printed_table *table, FILE *to)
{
    (void)fputs("<div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"table\"><table>\n", to);
    print_table_head(table, to);
    for (size_t i = 0; i < table->cell_count; i++) {
        size_t c = i % table->column_count;
        char class[32];
        (void)snprintf(class, sizeof class, "%s%s%s", table->columns[c].number ? "n" : "",
                       table->columns[c].number && table->cells[i].tone != TONE_PLAIN ? " " : "",
                       tone_class(table->cells[i].tone));
        (void)fputs(c == 0 ? "<tr>" : "", to);
        if (!table_column_empty(table, c)) {
            print_cell(&table->cells[i], class, to);
        }
        (void)fputs(c + 1 == table->column_count ? "</tr>\n" : "", to);
    }
    (void)fputs("</tbody></table></div>\n", to);
}

/* The numbers of the series of a plot, for who cannot see it. */
static void print_plot_table(const struct panel *panel, const struct series *series, FILE *to)
{
    (void)fputs("<table><caption>", to);
    print_escaped(panel->y.name, to);
    (void)fputs(": ", to);
    print_escaped(series->name, to);
    (void)fputs("</caption><tr><th scope=\"col\" class=\"n\">", to);
    print_escaped(panel->x.name, to);
    (void)fputs("</th><th scope=\"col\" class=\"n\">", to);
    print_escaped(panel->y.name, to);
    (void)fputs("</th></tr>\n", to);
    for (size_t i = 0; i < series->count; i++) {
        if (series->x[i] == series->x[i] && series->y[i] == series->y[i]) { /* not a gap */
            char x[32], y[32];                                              /* whatever the locale */
            (void)fprintf(to, "<tr><td class=\"n\">%s</td><td class=\"n\">%s</td></tr>\n",
                          number_format(series->x[i], 4, x, sizeof x), number_format(series->y[i], 4, y, sizeof y));
        }
    }
    (void)fputs("</table>\n", to);
}

static void print_plot_tables(const struct plot *plot, FILE *to)
{
    (void)fputs("<details><summary>The plot in numbers</summary>\n", to);
    for (size_t p = 0; p < plot->panel_count; p++) {
        for (size_t s = 0; s < plot->panels[p].series_count; s++) {
            const struct series *series = &plot->panels[p].series[s];
            if (series->count > 0 && series->kind != SERIES_BAND && series->name[0] != '\0') {
                print_plot_table(&plot->panels[p], series, to);
            }
        }
    }
    (void)fputs("</details>\n", to);
}

static bool print_plot(const struct plot *plot, FILE *to)
{
    (void)fputs("<figure>", to);
    char *image = plot->svg == NULL ? NULL : base64_of(plot->svg, plot->svg_length);
    if (image != NULL) {
        (void)fprintf(to, "<img src=\"data:image/svg+xml;base64,%s\" alt=\"", image);
        print_escaped(plot->text, to);
        (void)fputs("\">", to);
    } else {
        element(to, "p", "faint", plot->text);
    }
    print_plot_tables(plot, to);
    (void)fputs("</figure>\n", to);
    bool good = plot->svg == NULL || image != NULL;
    free(image);
    return good;
}

static void print_verdict(const struct node *node, FILE *to)
{
    (void)fprintf(to, "<div class=\"verdict %s\" role=\"status\">", tone_class(node->tone));
    element(to, "strong", "", node->text);
    element(to, "span", "", node->more);
    (void)fputs("</div>\n", to);
}

static bool print_node(const struct node *node, FILE *to)
{
    switch (node->kind) {
    case NODE_TITLE:
        element(to, "p", "faint", node->text);
        element(to, "h1", "", node->more[0] != '\0' ? node->more : node->text);
        break;
    case NODE_VERDICT: print_verdict(node, to); break;
    case NODE_HEADING: element(to, "h2", "", node->text); break;
    case NODE_TEXT: element(to, "p", tone_class(node->tone), node->text); break;
    case NODE_FACTS: print_pairs(node, "dl", "div", "dt", "dd", to); break;
    case NODE_NOTES: print_pairs(node, "ul class=\"notes\"", "li", "strong", "span", to); break;
    case NODE_SIGNATURES: print_pairs(node, "div class=\"signatures\"", "div", "span", "span", to); break;
    case NODE_TABLE: print_table(&node->table, to); break;
    case NODE_PLOT: return print_plot(node->plot, to);
    case NODE_CODE:
        element(to, "p", "", node->more);
        element(to, "p", "faint", node->text);
        break;
    case NODE_PAGE_BREAK: (void)fputs("<div class=\"break\"></div>", to); break;
    case NODE_KINDS: break;
    }
    (void)fputc('\n', to);
    return true;
}

enum status print_html(const struct document *document, const char *script, FILE *to)
{
    bool good = print_head(document, script, to) && !document->failed;
    for (const struct node *node = document->first; node != NULL; node = node->next) {
        good = print_node(node, to) && good;
    }
    (void)fputs("</main>\n<footer>", to);
    print_escaped(document->foot, to);
    (void)fputs("</footer>\n", to);
    if (script[0] != '\0') {
        (void)fprintf(to, "<script>%s</script>\n", script);
    }
    (void)fputs("</body>\n</html>\n", to);
    return good ? OK : E_MEMORY;
}

enum status print_html_whole(const struct document *document, const char *script, char **html, size_t *length,
                             struct faults *faults)
{
    FILE *to = memory_stream_open(html, length);
    if (to == NULL) {
        return faults_memory(faults);
    }
    bool good = print_html(document, script, to) == OK && ferror(to) == 0;
    good = fclose(to) == 0 && good;
    return good ? OK : faults_memory(faults);
}
