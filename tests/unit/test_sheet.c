#include "fixture_result.h"
#include "near.h"
#include "papers/gnuplot.h"
#include "papers/render.h"

#include <dirent.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static char folder[] = "sheet-test-XXXXXX";
static struct faults faults;

static void setup(void)
{
    memcpy(folder, "sheet-test-XXXXXX", sizeof folder);
    ck_assert_ptr_nonnull(mkdtemp(folder));
    faults = (struct faults){0};
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
}

/* Text that gnuplot or a shell would act upon; "stray" marks it. */
static const char hostile[] =
    "stray`touch stray`$(touch stray)@stray'\"; system('touch stray') # {/Bold stray} %s \\n stray\n!";

static char endless[10001];

static const char *endless_text(void)
{
    for (size_t i = 0; i + 1 < sizeof endless; i++) {
        endless[i] = "endless text "[i % 13];
    }
    return endless;
}

static const struct sheet_case {
    const char *name;
    struct fixture_shape shape;
    bool endless;
} cases[] = {
    {"usual", {.points = 8, .duties = 1, .notes = 2}, false},
    {"fails", {.points = 8, .duties = 1, .notes = 4, .falls_short = true, .overdue = true, .pump = true}, false},
    {"half arms", {.points = 9, .duties = 2, .notes = 3, .geometry = GEOMETRY_UNILATERAL}, false},
    {"ellipse", {.points = 9, .duties = 2, .notes = 3, .geometry = GEOMETRY_ELLIPSE}, false},
    {"much of all", {.points = 20, .duties = 12, .notes = 15, .pump = true, .overdue = true}, false},
    {"all fail", {.points = 20, .duties = 12, .notes = 15, .falls_short = true}, false},
    {"endless", {.points = 20, .duties = 12, .notes = 15, .falls_short = true, .overdue = true}, true},
    {"hostile", {.points = 8, .duties = 1, .notes = 3, .overdue = true, .text = hostile}, false},
    {"letters that the font lacks", {.points = 8, .duties = 1, .notes = 3, .text = "\xe6\xb0\xb4 \xe0\xa4\xaa"}, false},
    {"two points", {.points = 2, .duties = 1, .notes = 1}, false},
    {"no point", {.points = 0, .duties = 0, .notes = 0}, false},
    {"no power", {.points = 7, .duties = 1, .notes = 1, .no_power = true, .single_phase = true}, false},
};
enum { CASES = sizeof cases / sizeof cases[0] };

static void make(const struct sheet_case *sheet, struct fixture *fixture)
{
    struct fixture_shape shape = sheet->shape;
    shape.text = sheet->endless ? endless_text() : shape.text;
    fixture_init(fixture, &shape);
}

static void put_file(const char *name, const char *bytes, size_t length)
{
    char path[512];
    (void)snprintf(path, sizeof path, "%s/%s", folder, name);
    FILE *file = fopen(path, "w");
    ck_assert_ptr_nonnull(file);
    ck_assert_uint_eq(fwrite(bytes, 1, length, file), length);
    ck_assert_int_eq(fclose(file), 0);
}

/* Leaves sheet.pdf and sheet.html in the folder. */
static void draw_sheet(const struct result *result)
{
    struct press press = {0};
    char *pdf = NULL, *html = NULL;
    size_t pdf_length = 0, html_length = 0;
    ck_assert_msg(press_start(&press, folder, &faults) == OK, "%s", faults.text[0]);
    ck_assert_msg(render_sheet_drawn(result, &press, &pdf, &pdf_length, &html, &html_length, &faults) == OK, "%s",
                  faults.text[0]);
    ck_assert_int_eq(press_stop(&press, &faults), OK);
    put_file("sheet.pdf", pdf, pdf_length);
    put_file("sheet.html", html, html_length);
    free(pdf);
    free(html);
}

static void plot_of(const struct result *result, FILE *to)
{
    (void)fputs("set output 'plot.txt'\n", to);
    render_plot_script(result, 90, 28, to);
    (void)fputs("unset output\n", to);
}

static void curves_of(const struct result *result, FILE *to)
{
    ck_assert_int_eq(render_curves_script(result, to), OK);
}

static void data_of(const struct result *result, FILE *to)
{
    ck_assert_int_eq(render_curves_data(result, to), OK);
}

/* What a renderer writes; the caller frees it. */
static char *rendered(const struct result *result, void (*render)(const struct result *, FILE *), size_t *length)
{
    char *text = NULL;
    FILE *to = open_memstream(&text, length);
    ck_assert_ptr_nonnull(to);
    render(result, to);
    ck_assert_int_eq(fclose(to), 0);
    return text;
}

static void draw(const struct result *result, void (*render)(const struct result *, FILE *))
{
    size_t length = 0;
    char *script = rendered(result, render, &length);
    struct gnuplot *gnuplot = NULL;
    ck_assert_msg(gnuplot_start(folder, &gnuplot, &faults) == OK, "%s", faults.text[0]);
    ck_assert_msg(gnuplot_run(gnuplot, script, length, &faults) == OK, "%s", faults.text[0]);
    ck_assert_int_eq(gnuplot_stop(gnuplot, &faults), OK);
    free(script);
}

static void ck_no_stray(void)
{
    char path[512];
    (void)snprintf(path, sizeof path, "%s/stray", folder);
    ck_assert_int_ne(access(path, F_OK), 0);
}

/* The output of a tool on a file of the folder. Memory: malloc. Returns: NULL when the tool is not installed. */
static char *output_of(const char *tool, const char *options, const char *file)
{
    enum { LARGEST = 1 << 20 };
    char command[1024];
    (void)snprintf(command, sizeof command, "command -v %s >/dev/null && %s %s %s/%s -", tool, tool, options, folder,
                   file);
    FILE *from = popen(command, "r");
    char *text = calloc(LARGEST, 1);
    ck_assert(from != NULL && text != NULL);
    size_t length = fread(text, 1, LARGEST - 1, from);
    if (pclose(from) != 0 || length == 0) {
        free(text);
        return NULL;
    }
    return text;
}

/* Not even as a quoted text: nothing that an input says is in the plot. */
START_TEST(no_text_of_an_input_reaches_gnuplot)
{
    struct fixture fixture;
    size_t length = 0;
    fixture_init(&fixture, &(struct fixture_shape){.points = 8, .duties = 1, .notes = 3, .text = hostile});
    char *script = rendered(&fixture.result, curves_of, &length);
    char *data = rendered(&fixture.result, data_of, &length);
    char *plot = rendered(&fixture.result, plot_of, &length);
    ck_assert_ptr_null(strstr(script, "stray"));
    ck_assert_ptr_null(strstr(data, "stray"));
    ck_assert_ptr_null(strstr(plot, "stray"));
    free(script);
    free(data);
    free(plot);
    fixture_release(&fixture);
}
END_TEST

/* A word on the page, in points from the upper left corner. */
struct word {
    double left, top, right, bottom;
    char text[128];
};

static size_t read_words(const char *boxes, struct word *words, size_t most)
{
    size_t count = 0;
    for (const char *at = boxes; count < most && (at = strstr(at, "<word ")) != NULL; at++) {
        struct word *word = &words[count];
        count += sscanf(at, "<word xMin=\"%lf\" yMin=\"%lf\" xMax=\"%lf\" yMax=\"%lf\">%127[^<]", &word->left,
                        &word->top, &word->right, &word->bottom, word->text) == 5;
    }
    return count;
}

/* Points: a letter's box includes room above and below it that other lines may use; lines are at least 9 apart and
 * letters 6 to 7 high, so lines that stand on each other overlap by more than this. */
static const double overlap_allowed = 2.5;

static bool collide(const struct word *a, const struct word *b)
{
    double wide = fmin(a->right, b->right) - fmax(a->left, b->left);
    double high = fmin(a->bottom, b->bottom) - fmax(a->top, b->top);
    return wide > 0.5 && high > overlap_allowed;
}

/* Where the next page begins in a list of boxes. */
static char *next_page(char *boxes)
{
    return strstr(boxes, "<page ");
}

static void ck_page(const char *name, const char *page, struct word *words, size_t most)
{
    double width = 0.0, height = 0.0; /* A4 is 210 mm x 297 mm (ISO 216) */
    ck_assert_int_eq(sscanf(page, "<page width=\"%lf\" height=\"%lf\"", &width, &height), 2);
    near_abs(width, 210.0 / 25.4 * 72.0, 0.01); /* as pdftotext prints it */
    near_abs(height, 297.0 / 25.4 * 72.0, 0.01);
    size_t count = read_words(page, words, most);
    double margin = 8.0 / 25.4 * 72.0; /* 8 mm stay free for any printer */
    for (size_t i = 0; i < count; i++) {
        const struct word *word = &words[i];
        ck_assert_msg(word->left >= margin && word->right <= width - margin && word->top >= margin &&
                          word->bottom <= height - 0.7 * margin,
                      "%s: '%s' at %.1f..%.1f, %.1f..%.1f", name, word->text, word->left, word->right, word->top,
                      word->bottom);
        for (size_t k = 0; k < i; k++) {
            ck_assert_msg(!collide(word, &words[k]), "%s: '%s' lies on '%s' at %.1f, %.1f", name, word->text,
                          words[k].text, word->left, word->top);
        }
    }
}

START_TEST(all_is_inside_and_nothing_on_top_of_another)
{
    enum { WORDS = 4000 };
    static struct word words[WORDS];
    struct fixture fixture;
    make(&cases[_i], &fixture);
    draw_sheet(&fixture.result);
    fixture_release(&fixture);
    ck_no_stray();
    char *boxes = output_of("pdftotext", "-bbox", "sheet.pdf");
    if (boxes == NULL) {
        return; /* poppler-utils is not installed */
    }
    size_t pages = 0;
    for (char *page = next_page(boxes); page != NULL; pages++) {
        char *next = next_page(page + 1);
        if (next != NULL) {
            next[-1] = '\0';
        }
        ck_page(cases[_i].name, page, words, WORDS);
        page = next;
    }
    ck_assert_uint_ge(pages, 2);
    if (_i < 2) {
        ck_assert_uint_eq(pages, 2); /* one to sign, one with the readings */
    }
    free(boxes);
}
END_TEST

/* A case by its number, and a text that its sheet must show. */
static const struct shown_case {
    int sheet;
    const char *text;
} shown_cases[] = {
    {0, "PASS"},
    {0, "24-07-0193"},
    {0, "BW6-25/12"},
    {0, "A. Rao"},
    {0, "Bay 2, Lakeside works"},
    {0, "2024-07-18 14:35"},
    {0, "415 V, 3-phase, 50 Hz"},
    {0, "2B, ISO 9906:2012"},
    {0, "flow and head [1]"},
    {0, "ISO 9906:2012, table 8, grade 2B (from memory, confirm)"},
    {0, "97.3 %"},
    {0, "2 star"},
    {0, "1.10 (1.10670)"}, /* cut, and unrounded beside it */
    {0, "9.7861 m/s², from latitude and altitude"},
    {0, "95.5 kPa, computed"},
    {0, "frequency was 49.3 Hz"},
    {0, "vent, isolate, lock off, prove dead"},
    {0, "Never run the set dry"},
    {0, "approved: name, date"},
    {0, "witness: name, date"},
    {0, "SHA-256 aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa"},
    {0, "page 1 of 2"},
    {0, "page 2 of 2"},
    {0, "relates only to the unit named"},
    {0, "As tested"},
    {0, "Head H, m"},
    {0, "Flow Q, m³/h"},
    {1, "FAIL"},
    {1, "CALIBRATION OVERDUE"},
    {1, "too low"},
    {4, "Guaranteed point 12"}, /* nothing is left out */
    {9, "NOT JUDGED"},
    {9, "no curve"},
    {10, "no guaranteed duty point"},
    {11, "1-phase"},
};
enum { SHOWN_CASES = sizeof shown_cases / sizeof shown_cases[0] };

START_TEST(the_sheet_says)
{
    struct fixture fixture;
    make(&cases[shown_cases[_i].sheet], &fixture);
    draw_sheet(&fixture.result);
    fixture_release(&fixture);
    char *text = output_of("pdftotext", "-raw", "sheet.pdf");
    if (text == NULL) {
        return; /* poppler-utils is not installed */
    }
    for (char *c = text; *c != '\0'; c++) {
        *c = *c == '\n' ? ' ' : *c;
    }
    ck_assert_msg(strstr(text, shown_cases[_i].text) != NULL, "'%s' is not on the sheet: %s", shown_cases[_i].text,
                  text);
    free(text);
}
END_TEST

/* Text that gnuplot could act upon is drawn letter by letter: the control character only becomes U+FFFD. */
START_TEST(hostile_text_is_drawn_as_it_is)
{
    struct fixture fixture;
    fixture_init(&fixture, &(struct fixture_shape){.points = 8, .duties = 1, .notes = 1, .text = hostile});
    draw_sheet(&fixture.result);
    fixture_release(&fixture);
    ck_no_stray();
    char *text = output_of("pdftotext", "-raw", "sheet.pdf");
    if (text == NULL) {
        return; /* poppler-utils is not installed */
    }
    ck_assert_ptr_nonnull(
        strstr(text, "stray`touch stray`$(touch stray)@stray'\"; system('touch stray') # {/Bold stray} %s \\n stray"));
    free(text);
}
END_TEST

START_TEST(the_terminals_plot_is_drawn)
{
    struct fixture fixture;
    make(&cases[_i], &fixture);
    draw(&fixture.result, plot_of);
    fixture_release(&fixture);
    char path[512], text[16384];
    (void)snprintf(path, sizeof path, "%s/plot.txt", folder);
    FILE *file = fopen(path, "r");
    ck_assert_ptr_nonnull(file);
    text[fread(text, 1, sizeof text - 1, file)] = '\0';
    (void)fclose(file);
    ck_assert_ptr_nonnull(strstr(text, "Head H, m"));
    ck_assert_ptr_nonnull(strstr(text, "Flow Q, m³/h"));
    ck_no_stray();
}
END_TEST

/* The script for anyone draws the data that lie beside it. */
START_TEST(the_curves_script_draws_the_curves_data)
{
    struct fixture fixture;
    make(&cases[_i], &fixture);
    char path[512];
    (void)snprintf(path, sizeof path, "%s/curves.dat", folder);
    FILE *data = fopen(path, "w");
    ck_assert_ptr_nonnull(data);
    data_of(&fixture.result, data);
    ck_assert_int_eq(fclose(data), 0);
    draw(&fixture.result, curves_of);
    fixture_release(&fixture);
    (void)snprintf(path, sizeof path, "%s/curves.pdf", folder);
    ck_assert_int_eq(access(path, F_OK), 0);
    ck_no_stray();
}
END_TEST

/* The last row of the block whose comment holds a text. */
static const char *last_row(const char *data, const char *block)
{
    const char *start = strstr(data, block);
    ck_assert_msg(start != NULL, "no block '%s' in:\n%s", block, data);
    const char *end = strstr(start, "\n\n\n");
    end = end == NULL ? start + strlen(start) - 1 : end;
    while (end > start && end[-1] != '\n') {
        end--;
    }
    return end;
}

/* In the model's own unit and with the fixture's own numbers: the last of 8 points is at 36 m3/h. */
START_TEST(the_curves_data_are_in_the_papers_units)
{
    struct fixture fixture;
    size_t length = 0;
    fixture_init(&fixture, &(struct fixture_shape){.points = 8, .duties = 1});
    char *data = rendered(&fixture.result, data_of, &length);
    double flow = 0.0, head = 0.0;
    ck_assert_int_eq(sscanf(last_row(data, "Head H, m; measured;"), "%lf %lf", &flow, &head), 2);
    near_rel(flow, 36.0, 1e-6); /* seven digits are written */
    near_rel(head, fixture.points[7].at_rated.head_m.value, 1e-6);
    free(data);
    fixture_release(&fixture);
}
END_TEST

Suite *sheet_suite(void);

Suite *sheet_suite(void)
{
    Suite *suite = suite_create("sheet");
    TCase *tcase = tcase_create("sheet");
    tcase_add_checked_fixture(tcase, setup, teardown);
    tcase_set_timeout(tcase, 30);
    tcase_add_test(tcase, no_text_of_an_input_reaches_gnuplot);
    tcase_add_loop_test(tcase, all_is_inside_and_nothing_on_top_of_another, 0, CASES);
    tcase_add_loop_test(tcase, the_sheet_says, 0, SHOWN_CASES);
    tcase_add_test(tcase, hostile_text_is_drawn_as_it_is);
    tcase_add_loop_test(tcase, the_terminals_plot_is_drawn, 0, CASES);
    tcase_add_loop_test(tcase, the_curves_script_draws_the_curves_data, 0, CASES);
    tcase_add_test(tcase, the_curves_data_are_in_the_papers_units);
    suite_add_tcase(suite, tcase);
    return suite;
}
