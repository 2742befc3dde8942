#include "paper.h"

#include <string.h>

/* Columns of the table, mm from its left edge: where texts start and where numbers end. */
static const double where_mm = 39.0, measured_mm = 91.0, guaranteed_mm = 108.0, limits_mm = 130.0, margin_mm = 143.5,
                    probability_mm = 159.5, verdict_mm = 163.0;

enum { LINES_MAX = 16, SOURCES_MAX = 6, SOURCE_LINES_MAX = 4 };

/* The different sources of a table's limits, numbered from 1. */
struct sources {
    size_t count;
    const char *texts[SOURCES_MAX];
};

/* The table under way. */
struct table_work {
    struct paper *paper;
    double left_mm, right_mm, y_mm;
    struct sources sources;
    size_t left_out;
};

static size_t source_number(struct sources *sources, const char *source)
{
    for (size_t i = 0; i < sources->count; i++) {
        if (strcmp(sources->texts[i], source) == 0) {
            return i + 1;
        }
    }
    if (sources->count == SOURCES_MAX) {
        return 0;
    }
    sources->texts[sources->count] = source;
    return ++sources->count;
}

/* Verdicts are told by word and mark as well as by colour. */
static const char *verdict_word(enum verdict verdict)
{
    switch (verdict) {
    case VERDICT_PASS: return "✔ pass";
    case VERDICT_FAIL: return "✘ FAIL";
    case VERDICT_NOT_JUDGED: return "– not judged";
    }
    return "";
}

static enum ink verdict_ink(enum verdict verdict)
{
    return verdict == VERDICT_PASS ? INK_GREEN : verdict == VERDICT_FAIL ? INK_VERMILLION : INK_BLACK;
}

static void put(struct table_work *work, enum ink ink, enum align align, double x_mm, double width_mm, const char *text)
{
    page_put(&work->paper->page, TYPE_TEXT, ink, align, work->left_mm + x_mm, work->y_mm, width_mm, text);
}

static void next_line(struct table_work *work)
{
    struct page *page = &work->paper->page;
    double below_mm = work->y_mm + 0.55 * TEXT_LEADING_MM;
    page_rule(page, PEN_PALE, work->left_mm, below_mm, work->right_mm, below_mm);
    work->y_mm += 3.9;
}

static void put_headings(struct table_work *work)
{
    put(work, INK_GREY, ALIGN_LEFT, 0.0, 0.0, "check [source]");
    put(work, INK_GREY, ALIGN_LEFT, where_mm, 0.0, "read");
    put(work, INK_GREY, ALIGN_RIGHT, measured_mm, 0.0, "measured");
    put(work, INK_GREY, ALIGN_RIGHT, guaranteed_mm, 0.0, "guaranteed");
    put(work, INK_GREY, ALIGN_RIGHT, limits_mm, 0.0, "limits");
    put(work, INK_GREY, ALIGN_RIGHT, margin_mm, 0.0, "margin");
    put(work, INK_GREY, ALIGN_RIGHT, probability_mm, 0.0, "P(conforms)");
    put(work, INK_GREY, ALIGN_LEFT, verdict_mm, 0.0, "verdict");
    next_line(work);
}

/* One duty point's own line: what is guaranteed, by which grade, and its verdict. */
static void put_duty(struct table_work *work, size_t number)
{
    const struct duty_result *result = &work->paper->result->duties[number];
    const struct duty *duty = result->duty;
    char flow[FIGURE_TEXT], head[FIGURE_TEXT], text[512];
    const char *not_stated = result->not_stated != NULL ? result->not_stated : "";
    (void)snprintf(text, sizeof text, "Duty point %zu: %s at %s, %s%.80s%s%.160s", number + 1,
                   figure_text(FIGURE_FLOW, &work->paper->units, duty->flow_m3s, flow),
                   figure_text(FIGURE_HEAD, &work->paper->units, duty->head_m, head),
                   duty->grade == NULL ? "no known grade" : "grade ", duty->grade == NULL ? "" : duty->grade->name,
                   not_stated[0] != '\0' ? "; not guaranteed: " : "", not_stated);
    put(work, INK_BLACK, ALIGN_LEFT, 0.0, verdict_mm - 2.0, text);
    put(work, verdict_ink(result->verdict), ALIGN_LEFT, verdict_mm, 0.0, verdict_word(result->verdict));
    next_line(work);
}

/* Puts the numbers. Returns: where the measured one begins, mm. */
static double put_measured(struct table_work *work, const struct check *check)
{
    struct check_figures figures;
    char measured[2 * FIGURE_TEXT], probability[FIGURE_TEXT];
    check_figures_of(check, &work->paper->units, &figures);
    (void)snprintf(measured, sizeof measured, "%s %s", figures.value, figures.unit);
    put(work, INK_BLACK, ALIGN_RIGHT, measured_mm, 0.0, measured);
    put(work, INK_BLACK, ALIGN_RIGHT, guaranteed_mm, 0.0, figures.guaranteed);
    put(work, INK_BLACK, ALIGN_RIGHT, limits_mm, 0.0, figures.limits);
    put(work, INK_BLACK, ALIGN_RIGHT, margin_mm, 0.0, figures.margin);
    if (check->conformity_probability.known) {
        put(work, INK_BLACK, ALIGN_RIGHT, probability_mm, 0.0,
            figure_text(FIGURE_PROBABILITY, &work->paper->units, check->conformity_probability, probability));
    }
    return measured_mm - text_width_mm(TYPE_TEXT, measured);
}

static void put_check(struct table_work *work, const struct check *check)
{
    static const double gap_mm = 1.0;
    char name[160];
    size_t number =
        check->source == NULL || check->source[0] == '\0' ? 0 : source_number(&work->sources, check->source);
    int used = snprintf(name, sizeof name, "%.100s", check->name);
    if (number > 0) {
        (void)snprintf(name + used, sizeof name - (size_t)used, " [%zu]", number);
    }
    put(work, INK_BLACK, ALIGN_LEFT, 0.0, where_mm - gap_mm, name);
    double end_mm = check->value.known ? put_measured(work, check) : verdict_mm;
    const char *read = check->reason != NULL  ? check->reason
                       : !check->value.known  ? "not measured"
                       : check->where != NULL ? check->where
                                              : "";
    put(work, INK_GREY, ALIGN_LEFT, where_mm, end_mm - gap_mm - where_mm, read);
    put(work, verdict_ink(check->verdict), ALIGN_LEFT, verdict_mm, 0.0, verdict_word(check->verdict));
    next_line(work);
}

/* How many checks of one verdict the table has room for, once `room` lines are left; takes them off. */
static size_t take(size_t wanted, size_t *room)
{
    size_t taken = wanted < *room ? wanted : *room;
    *room -= taken;
    return taken;
}

static size_t count_checks(const struct result *result, size_t duties, enum verdict verdict)
{
    size_t count = 0;
    for (size_t i = 0; i < duties; i++) {
        for (size_t k = 0; k < result->duties[i].check_count; k++) {
            count += result->duties[i].checks[k].verdict == verdict;
        }
    }
    return count;
}

/* Every duty point has its line before checks have theirs, and failed checks go before those not judged and passed. */
static void put_lines(struct table_work *work)
{
    static const enum verdict order[] = {VERDICT_FAIL, VERDICT_NOT_JUDGED, VERDICT_PASS};
    const struct result *result = work->paper->result;
    size_t checks = 0, room = LINES_MAX, allowed[3];
    for (int i = 0; i < 3; i++) {
        checks += count_checks(result, result->duty_count, order[i]);
    }
    room -= result->duty_count + checks > room; /* a line for "and N more" */
    size_t duties = take(result->duty_count, &room), shown = 0;
    for (int i = 0; i < 3; i++) {
        allowed[order[i]] = take(count_checks(result, duties, order[i]), &room);
    }
    for (size_t i = 0; i < duties; i++) {
        put_duty(work, i);
        for (size_t k = 0; k < result->duties[i].check_count; k++) {
            const struct check *check = &result->duties[i].checks[k];
            if (allowed[check->verdict] > 0) {
                allowed[check->verdict]--;
                shown++;
                put_check(work, check);
            }
        }
    }
    work->left_out = checks - shown + (result->duty_count - duties);
}

static void put_sources(struct table_work *work)
{
    size_t lines = 0;
    for (size_t i = 0; i < work->sources.count && lines < SOURCE_LINES_MAX; i++) {
        char text[512];
        (void)snprintf(text, sizeof text, "[%zu] %.480s", i + 1, work->sources.texts[i]);
        size_t left = SOURCE_LINES_MAX - lines;
        size_t used = page_wrap(&work->paper->page, INK_GREY, work->left_mm, work->y_mm, work->right_mm - work->left_mm,
                                left < 2 ? left : 2, text);
        lines += used;
        work->y_mm += (double)used * TEXT_LEADING_MM;
    }
}

double paper_checks(struct paper *paper, double left_mm, double right_mm, double top_mm)
{
    struct table_work work = {.paper = paper, .left_mm = left_mm, .right_mm = right_mm, .y_mm = top_mm + 2.0};
    put_headings(&work);
    put_lines(&work);
    if (paper->result->duty_count == 0) {
        put(&work, INK_BLACK, ALIGN_LEFT, 0.0, 0.0, "no guaranteed duty point: nothing to check");
        next_line(&work);
    }
    if (work.left_out > 0) {
        char text[96];
        (void)snprintf(text, sizeof text, "... and %zu more, see result.json", work.left_out);
        put(&work, INK_BLACK, ALIGN_LEFT, 0.0, 0.0, text);
        next_line(&work);
    }
    work.y_mm -= 0.6;
    put_sources(&work);
    return work.y_mm;
}
