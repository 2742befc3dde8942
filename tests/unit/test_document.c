/* One tree, given to all printers: what it says, each says; and the PDF is what is promised of it. */
#include "base/text.h"
#include "near.h"
#include "papers/press.h"
#include "papers/print.h"

#include <check.h>
#include <ctype.h>
#include <dirent.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static char folder[] = "document-test-XXXXXX";
static struct faults faults;
static struct arena arena;
static struct document document;

static void setup(void)
{
    memcpy(folder, "document-test-XXXXXX", sizeof folder);
    ck_assert_ptr_nonnull(mkdtemp(folder));
    faults = (struct faults){0};
    arena = (struct arena){0};
    document_init(&document, &arena, "a test paper");
}

static void teardown(void)
{
    DIR *dir = opendir(folder);
    ck_assert_ptr_nonnull(dir);
    for (struct dirent *entry; (entry = readdir(dir)) != NULL;) {
        char name[512];
        (void)snprintf(name, sizeof name, "%s/%s", folder, entry->d_name);
        (void)unlink(name);
    }
    (void)closedir(dir);
    ck_assert_int_eq(rmdir(folder), 0);
    arena_release(&arena);
}

/* --- a paper with one node of each kind --- */

static struct plot *a_plot(void)
{
    struct plot *plot = arena_alloc(&arena, 1, sizeof *plot);
    ck_assert_ptr_nonnull(plot);
    *plot = (struct plot){.name = "test", .text = "Head over flow.", .least = 0.4, .most = 0.8};
    struct panel *panel = plot_panel(plot, &arena, 0.0, 0.0, 1.0, 1.0);
    ck_assert_ptr_nonnull(panel);
    panel->x = (struct axis){.name = "Flow, m³/h", .low = 0.0, .high = 10.0, .parts = 5.0};
    panel->y = (struct axis){.name = "Head, m", .low = 0.0, .high = 50.0, .parts = 5.0};
    static const enum series_kind kinds[] = {SERIES_BAND, SERIES_CURVE, SERIES_POINTS, SERIES_BARS};
    for (size_t k = 0; k < sizeof kinds / sizeof kinds[0]; k++) {
        for (int look = 0; look < LOOKS; look++) {
            struct series *series = panel_series(panel, &arena, kinds[k], (enum series_style)look, "");
            for (int i = 0; i < 5; i++) {
                ck_assert(series_add(series, &arena, 2.0 * i, 10.0 * (int)k + i + look, 3.0));
            }
        }
    }
    return plot;
}

/* Fills the paper; texts: what each node says beside its own word. */
static void fill(const char *text)
{
    static const struct column columns[] = {{"thing", "", false}, {"value", "kW", true}};
    add_title(&document, "paper of", text);
    add_verdict(&document, TONE_BAD, "FAIL", text);
    add_heading(&document, "heading %s", text);
    add_text(&document, TONE_PLAIN, "paragraph %s", text);
    struct node *facts = add_pairs(&document, NODE_FACTS);
    add_pair(&document, facts, TONE_PLAIN, "fact", "%s", text);
    struct node *table = add_table(&document, columns, 2);
    add_cell(&document, table, TONE_PLAIN, "%s", text);
    add_cell(&document, table, TONE_GOOD, "%.3f", 1.25);
    add_plot(&document, a_plot());
    struct node *notes = add_pairs(&document, NODE_NOTES);
    add_pair(&document, notes, TONE_BAD, "note", "%s", text);
    add_page_break(&document);
    add_code(&document, "0123abcd", "digest");
    struct node *signatures = add_pairs(&document, NODE_SIGNATURES);
    add_pair(&document, signatures, TONE_PLAIN, "approved", "%s", text);
    document.foot = "the foot";
    ck_assert(!document.failed);
}

/* --- printing --- */

static char *printed(enum status (*print)(const struct document *, FILE *))
{
    char *text = NULL;
    size_t length = 0;
    FILE *to = open_memstream(&text, &length);
    ck_assert_ptr_nonnull(to);
    ck_assert_int_eq(print(&document, to), OK);
    ck_assert_int_eq(fclose(to), 0);
    return text;
}

static enum status as_text(const struct document *doc, FILE *to)
{
    return print_text(doc, false, to);
}

static enum status as_html(const struct document *doc, FILE *to)
{
    return print_html(doc, "", to);
}

static enum status as_tree(const struct document *doc, FILE *to)
{
    print_tree(doc, to);
    return OK;
}

/* Prints the PDF into the folder. Memory: malloc. */
static char *as_pdf(size_t *length, size_t *pages)
{
    struct press press = {0};
    char *bytes = NULL, path[512];
    ck_assert_msg(press_start(&press, folder, &faults) == OK, "%s", faults.text[0]);
    ck_assert_msg(press_pdf(&press, &document, &bytes, length, pages, &faults) == OK, "%s", faults.text[0]);
    ck_assert_int_eq(press_stop(&press, &faults), OK);
    (void)snprintf(path, sizeof path, "%s/paper.pdf", folder);
    FILE *file = fopen(path, "w");
    ck_assert_ptr_nonnull(file);
    ck_assert_uint_eq(fwrite(bytes, 1, *length, file), *length);
    ck_assert_int_eq(fclose(file), 0);
    return bytes;
}

/* What a tool says of the PDF. Memory: malloc. Returns: NULL when it is not installed. */
static char *tool(const char *command, const char *after)
{
    enum { LARGEST = 1 << 20 };
    char line[1024];
    (void)snprintf(line, sizeof line, "command -v %.*s >/dev/null && %s %s/paper.pdf %s", (int)strcspn(command, " "),
                   command, command, folder, after);
    FILE *from = popen(line, "r");
    char *text = calloc(LARGEST, 1);
    ck_assert(from != NULL && text != NULL);
    size_t length = fread(text, 1, LARGEST - 1, from);
    if (pclose(from) != 0 || length == 0) {
        free(text);
        return NULL;
    }
    return text;
}

/* Letters and digits only: printers break and pad lines as they like. Changes text. */
static char *letters(char *text)
{
    char *to = text;
    for (const char *from = text; *from != '\0'; from++) {
        if (isalnum((unsigned char)*from) != 0 || (unsigned char)*from >= 0x80) {
            *to++ = *from;
        }
    }
    *to = '\0';
    return text;
}

static size_t times(const char *text, const char *part)
{
    size_t count = 0;
    for (const char *at = text; (at = strstr(at, part)) != NULL; at++) {
        count++;
    }
    return count;
}

/* --- every printer says it all --- */

static const char *const said[] = {"zzqq", "paper of", "FAIL", "heading", "paragraph", "fact",     "thing",   "value",
                                   "kW",   "1.250",    "note", "digest",  "0123abcd",  "approved", "the foot"};
enum { SAID = sizeof said / sizeof said[0] };

static void ck_says_all(const char *printer, char *text, const char *const *missing)
{
    (void)letters(text);
    for (size_t i = 0; i < SAID; i++) {
        char part[64];
        bool let_off = missing != NULL && strcmp(*missing, said[i]) == 0;
        (void)text_put(part, sizeof part, said[i]);
        ck_assert_msg(let_off || strstr(text, letters(part)) != NULL, "%s does not say '%s':\n%s", printer, said[i],
                      text);
    }
    ck_assert_msg(times(text, "zzqq") >= 8, "%s says it only %zu times", printer, times(text, "zzqq"));
}

START_TEST(every_printer_says_it_all)
{
    fill("zzqq");
    static const char *const beside_verdict = "paper of"; /* in text the subject alone stands beside the verdict */
    static const char *const foot = "the foot";           /* the tree shows nodes */
    char *text = printed(as_text), *html = printed(as_html), *tree = printed(as_tree);
    ck_says_all("text", text, &beside_verdict);
    ck_says_all("HTML", html, NULL);
    ck_says_all("tree", tree, &foot);
    free(text);
    free(html);
    free(tree);
    size_t length = 0, pages = 0;
    static const char *const code = "never"; /* nothing is let off */
    free(as_pdf(&length, &pages));
    ck_assert_uint_eq(pages, 2);
    char *shown = tool("pdftotext -layout", "-");
    if (shown != NULL) {
        ck_says_all("PDF", shown, &code);
        free(shown);
    }
}
END_TEST

/* --- hostile text --- */

static const char *const hostile[] = {
    "zzqq <script>alert(1)</script> </svg> <img src=x onerror=alert(1)>",
    "zzqq '\"\\ & &amp; &#60;",
    "=cmd|'/C calc'!A0 zzqq",
    "zzqq %s %n %d",
    "zzqq \xd7\xa9\xd7\x9c\xd7\x95\xd7\x9d \xd8\xb3\xd9\x84\xd8\xa7\xd9\x85",
    "zzqq e\xcc\x81\xcc\x82\xcc\x83\xcc\x84\xcc\x85\xcc\x86\xcc\x87",
    "zzqq \x01\x1b[2J\r\n\t\x7f",
    "zzqq \xff\xfe\xc0\x80",
    "zzqq \xe2\x80\xae\xe2\x80\x8b",
    "<b>zzqq</b> {/Bold x} <span font='99'>",
};
enum { HOSTILE = sizeof hostile / sizeof hostile[0] };

START_TEST(hostile_text_is_text_everywhere)
{
    fill(hostile[_i]);
    char *text = printed(as_text), *html = printed(as_html);
    for (const char *c = text; *c != '\0'; c++) {
        ck_assert_msg(*c == '\n' || ((unsigned char)*c >= 0x20 && *c != 0x7f), "control character in the text");
    }
    ck_assert_uint_eq(times(html, "<script"), 0);
    ck_assert_uint_eq(times(html, "<img"), 0); /* its plot is not drawn: no image is right */
    ck_assert_uint_eq(times(html, "<b>"), 0);
    ck_assert_uint_eq(times(html, "<span font"), 0);
    ck_assert_uint_ge(times(text, "zzqq"), 8);
    free(text);
    free(html);
    size_t length = 0;
    free(as_pdf(&length, NULL));
    char *shown = tool("pdftotext -layout", "-");
    if (shown != NULL) {
        ck_assert_uint_ge(times(shown, "zzqq"), 8);
        free(shown);
    }
}
END_TEST

/* 10,000 letters without a space, in every place at once: shown whole, over as many pages as it takes. */
START_TEST(endless_text_is_whole)
{
    static char endless[10001];
    memset(endless, 'W', 10000);
    fill(endless);
    char *text = printed(as_text);
    size_t seen = 0;
    for (const char *c = text; *c != '\0'; c++) {
        seen += *c == 'W';
    }
    ck_assert_uint_ge(seen, 8 * 10000);
    free(text);
    size_t length = 0, pages = 0;
    free(as_pdf(&length, &pages));
    ck_assert_uint_ge(pages, 5);
    char *shown = tool("pdftotext -layout", "-");
    if (shown != NULL) {
        for (seen = 0, text = shown; *text != '\0'; text++) {
            seen += *text == 'W';
        }
        ck_assert_uint_ge(seen, 4 * 10000); /* paragraph, fact, note and more; a title may not outgrow its page */
        free(shown);
    }
}
END_TEST

/* --- the PDF --- */

START_TEST(a_long_table_repeats_its_heading)
{
    enum { ROWS = 200 };
    static const struct column columns[] = {{"serialhead", "", false}, {"measuredhead", "m", true}};
    struct node *table = add_table(&document, columns, 2);
    for (int i = 0; i < ROWS; i++) {
        add_cell(&document, table, TONE_PLAIN, "row%03d", i);
        add_cell(&document, table, TONE_PLAIN, "%d.50", i);
    }
    size_t length = 0, pages = 0;
    free(as_pdf(&length, &pages));
    ck_assert_uint_ge(pages, 3);
    char *shown = tool("pdftotext -layout", "-");
    if (shown == NULL) {
        return; /* poppler-utils is not installed */
    }
    ck_assert_uint_eq(times(shown, "serialhead"), pages);
    for (int i = 0; i < ROWS; i++) {
        char row[16];
        (void)snprintf(row, sizeof row, "row%03d", i);
        ck_assert_uint_eq(times(shown, row), 1);
    }
    for (size_t i = 1; i <= pages; i++) {
        char foot[64];
        (void)snprintf(foot, sizeof foot, "page %zu of %zu", i, pages);
        ck_assert_msg(times(shown, foot) == 1, "no '%s'", foot);
    }
    free(shown);
}
END_TEST

START_TEST(fonts_are_embedded_and_nothing_is_a_raster)
{
    fill("Grüße, Ωμ, при");
    size_t length = 0;
    free(as_pdf(&length, NULL));
    char *fonts =
        tool("pdffonts", "| tail -n +3 | awk '{ if ($(NF-4) != \"yes\") print \"bare \" $0; n++ } END { print n, "
                         "\"fonts\" }'");
    if (fonts == NULL) {
        return; /* poppler-utils is not installed */
    }
    ck_assert_msg(strstr(fonts, "bare") == NULL, "%s", fonts);
    ck_assert_msg(strcmp(fonts, "0 fonts\n") != 0, "no font at all");
    free(fonts);
    char *images = tool("pdfimages -list", "| tail -n +3 | wc -l");
    ck_assert_ptr_nonnull(images);
    ck_assert_int_eq(strtol(images, NULL, 10), 0);
    free(images);
}
END_TEST

START_TEST(the_same_document_gives_the_same_bytes)
{
    struct press press = {0};
    char *bytes[3] = {0};
    size_t length[3];
    fill("zzqq");
    ck_assert_int_eq(press_start(&press, folder, &faults), OK);
    for (int i = 0; i < 3; i++) {
        if (i == 2) { /* by a printer and a gnuplot that have printed nothing yet */
            ck_assert_int_eq(press_stop(&press, &faults), OK);
            ck_assert_int_eq(setenv("PANGO_LANGUAGE", "hi:ja:ar", 1), 0);
            ck_assert_int_eq(setenv("LC_ALL", "C", 1), 0);
            ck_assert_int_eq(setenv("LANG", "hi_IN", 1), 0);
            ck_assert_int_eq(press_start(&press, folder, &faults), OK);
        }
        document_init(&document, &arena, "a test paper");
        fill("zzqq");
        ck_assert_msg(press_pdf(&press, &document, &bytes[i], &length[i], NULL, &faults) == OK, "%s", faults.text[0]);
        ck_assert_uint_eq(length[i], length[0]);
        ck_assert_mem_eq(bytes[i], bytes[0], length[0]);
        if (i == 0) { /* another paper in between */
            char *other = NULL;
            size_t other_length = 0;
            document_init(&document, &arena, "another");
            fill("another text, पंप");
            ck_assert_int_eq(press_pdf(&press, &document, &other, &other_length, NULL, &faults), OK);
            free(other);
        }
    }
    ck_assert_int_eq(press_stop(&press, &faults), OK);
    for (int i = 0; i < 3; i++) {
        free(bytes[i]);
    }
}
END_TEST

START_TEST(letter_paper_is_letter_paper)
{
    fill("zzqq");
    document.paper = PAPER_LETTER;
    size_t length = 0;
    free(as_pdf(&length, NULL));
    char *info = tool("pdfinfo", "");
    ck_assert_msg(info == NULL || strstr(info, "612 x 792 pts") != NULL, "%s", info);
    free(info);
}
END_TEST

/* --- HTML --- */

START_TEST(html_loads_nothing_from_anywhere)
{
    struct press press = {0};
    fill("zzqq");
    ck_assert_int_eq(press_start(&press, folder, &faults), OK);
    ck_assert_msg(press_draw(&press, &document, &faults) == OK, "%s", faults.text[0]);
    ck_assert_int_eq(press_stop(&press, &faults), OK);
    char *html = printed(as_html);
    ck_assert_ptr_nonnull(strstr(html, "default-src 'none'; img-src data:"));
    ck_assert_uint_eq(times(html, "<img src=\"data:image/svg+xml;base64,"), 1);
    ck_assert_uint_eq(times(html, "<img"), 1);
    ck_assert_ptr_nonnull(strstr(html, "alt=\"Head over flow.\""));
    ck_assert_uint_eq(times(html, "http:") + times(html, "https:") + times(html, "<link") + times(html, "@import"), 0);
    free(html);
}
END_TEST

/* --- the plot --- */

START_TEST(the_drawing_says_nothing_of_its_maker)
{
    struct press press = {0};
    struct plot *plot = a_plot();
    ck_assert_int_eq(press_start(&press, folder, &faults), OK);
    ck_assert_msg(plot_draw(plot, &press, 400.0, 300.0, &arena, &faults) == OK, "%s", faults.text[0]);
    ck_assert_int_eq(press_stop(&press, &faults), OK);
    ck_assert_ptr_null(strstr(plot->svg, "GNUPLOT"));
    ck_assert_ptr_null(strstr(plot->svg, "<title>"));
    ck_assert_ptr_null(strstr(plot->svg, "<desc>"));
    ck_assert_ptr_null(strstr(plot->svg, "<pattern")); /* would be rastered on paper */
    ck_assert_str_eq(plot->svg + plot->svg_length - 6, "</svg>");
}
END_TEST

/* Every series of a plot is in its data, in order, with the numbers that it was given. */
START_TEST(data_hold_every_series)
{
    struct plot *plot = a_plot();
    char *data = NULL;
    size_t length = 0;
    FILE *to = open_memstream(&data, &length);
    ck_assert_ptr_nonnull(to);
    plot_write_data(plot, to);
    ck_assert_int_eq(fclose(to), 0);
    ck_assert_uint_eq(times(data, "# index"), 4 * LOOKS);
    double x = 0.0, y = 0.0;
    char sought[32];
    (void)snprintf(sought, sizeof sought, "# index %d:", LOOKS + 1); /* a curve of the second look: 10 + i + 1 */
    const char *block = strstr(data, sought);
    ck_assert_ptr_nonnull(block);
    ck_assert_int_eq(sscanf(strchr(block, '\n'), "%lf %lf", &x, &y), 2);
    near_abs(x, 0.0, 0.0);
    near_abs(y, 11.0, 0.0);
    free(data);
}
END_TEST

Suite *document_suite(void);

Suite *document_suite(void)
{
    Suite *suite = suite_create("document");
    TCase *tcase = tcase_create("document");
    tcase_add_checked_fixture(tcase, setup, teardown);
    tcase_set_timeout(tcase, 60);
    tcase_add_test(tcase, every_printer_says_it_all);
    tcase_add_loop_test(tcase, hostile_text_is_text_everywhere, 0, HOSTILE);
    tcase_add_test(tcase, endless_text_is_whole);
    tcase_add_test(tcase, a_long_table_repeats_its_heading);
    tcase_add_test(tcase, fonts_are_embedded_and_nothing_is_a_raster);
    tcase_add_test(tcase, the_same_document_gives_the_same_bytes);
    tcase_add_test(tcase, letter_paper_is_letter_paper);
    tcase_add_test(tcase, html_loads_nothing_from_anywhere);
    tcase_add_test(tcase, the_drawing_says_nothing_of_its_maker);
    tcase_add_test(tcase, data_hold_every_series);
    suite_add_tcase(suite, tcase);
    return suite;
}
