#include "tables/reference_curves.h"

#include "base/text.h"
#include "tables/cells.h"

#include <math.h>
#include <string.h>

enum { R_MODEL, R_STAGES, R_UNITS, R_FLOW, R_MEAN, R_SPREAD = R_MEAN + CURVES };
enum { R_COUNT = R_SPREAD + CURVES * REFERENCE_SPREADS_MAX };

#define SPREAD_FIELDS(n)                                                                                               \
    [R_SPREAD + CURVES * (n - 1) +                                                                                     \
        GOOD_HEAD] = {"head spread " #n, DIM_LENGTH, false},                                                           \
        [R_SPREAD + CURVES * (n - 1) + GOOD_POWER] = {"input power spread " #n, DIM_POWER, false},                     \
        [R_SPREAD + CURVES * (n - 1) + GOOD_CURRENT] = {"current spread " #n, DIM_CURRENT, false}

static const struct table_field reference_fields[R_COUNT] = {
    [R_MODEL] = {"model", DIM_NONE, true},
    [R_STAGES] = {"stages", DIM_NONE, false},
    [R_UNITS] = {"units", DIM_NONE, true},
    [R_FLOW] = {"flow", DIM_FLOW, true},
    [R_MEAN + GOOD_HEAD] = {"head", DIM_LENGTH, true},
    [R_MEAN + GOOD_POWER] = {"input power", DIM_POWER, false},
    [R_MEAN + GOOD_CURRENT] = {"current", DIM_CURRENT, false},
    SPREAD_FIELDS(1),
    SPREAD_FIELDS(2),
    SPREAD_FIELDS(3),
    SPREAD_FIELDS(4),
    SPREAD_FIELDS(5),
    SPREAD_FIELDS(6),
};

static const struct range stages_range = RANGE_WHOLE(1, 200);
static const struct range units_range = RANGE_WHOLE(1, 1e6);
static const struct range any_range = RANGE_FROM(-1e9, 1e9);
static const struct range flow_range = RANGE_FROM(0, 10);

static bool same_stages(struct quantity a, struct quantity b)
{
    return a.known == b.known && (!a.known || fabs(a.value - b.value) < 0.5);
}

/* The curves that a row belongs to: those of the row before where model and stages are the same, else new ones. */
static struct reference_curves *curves_of_row(struct cells *cells, size_t row, struct reference_book *book)
{
    const char *model = cells_required(cells, row, R_MODEL);
    struct quantity stages = cells_quantity(cells, row, R_STAGES, &stages_range);
    struct reference_curves *last = book->count == 0 ? NULL : &book->items[book->count - 1];
    if (last != NULL && name_equal(last->model, model) && same_stages(last->stages, stages)) {
        return last;
    }
    if (reference_find(book, model, stages) != NULL && stages.known) {
        cells_fault(cells, row, R_MODEL, "'model' is '%.*s' again, expected its rows to stand together",
                    cell_shown(model), model);
    }
    last = arena_push(cells->arena, &book->items, &book->count, sizeof *book->items);
    if (last == NULL) {
        cells_no_memory(cells);
        return NULL;
    }
    last->model = model;
    last->stages = stages;
    last->units = quantity_or(cells_quantity(cells, row, R_UNITS, &units_range), 1.0);
    return last;
}

static void take_means(struct cells *cells, size_t row, struct reference_curves *curves, size_t node)
{
    for (int c = 0; c < CURVES; c++) {
        struct quantity q = cells_quantity(cells, row, R_MEAN + c, &any_range);
        if (node > 0 && q.known != curves->known[c]) {
            cells_fault(cells, row, R_MEAN + c, "'%s' is stated at some of the model's nodes, expected all or none",
                        reference_fields[R_MEAN + c].name);
        }
        curves->known[c] = q.known;
        curves->mean.of[c][node] = quantity_or(q, 0.0);
    }
    if (!curves->known[GOOD_HEAD]) {
        (void)cells_required(cells, row, R_MEAN + GOOD_HEAD);
    }
}

static void take_spreads(struct cells *cells, size_t row, struct reference_curves *curves, size_t node)
{
    for (size_t s = 0; s < REFERENCE_SPREADS_MAX; s++) {
        for (size_t c = 0; c < CURVES; c++) {
            struct quantity q = cells_quantity(cells, row, (int)(R_SPREAD + CURVES * s + c), &any_range);
            curves->spread[s].of[c][node] = quantity_or(q, 0.0);
            if (q.known && curves->spread_count < s + 1) {
                curves->spread_count = s + 1;
            }
        }
    }
}

static void take_node(struct cells *cells, size_t row, struct reference_book *book)
{
    struct reference_curves *curves = curves_of_row(cells, row, book);
    if (curves == NULL) {
        return;
    }
    if (curves->node_count == REFERENCE_NODES_MAX) {
        cells_fault(cells, row, R_FLOW, "more than %d nodes of one model, expected %d to %d", REFERENCE_NODES_MAX,
                    REFERENCE_NODES_MIN, REFERENCE_NODES_MAX);
        return;
    }
    size_t node = curves->node_count++;
    struct quantity flow = cells_quantity(cells, row, R_FLOW, &flow_range);
    curves->flow_m3s[node] = quantity_or(flow, 0.0);
    if (flow.known && node > 0 && !(flow.value > curves->flow_m3s[node - 1])) {
        cells_fault(cells, row, R_FLOW, "'flow' does not rise, expected the nodes of a model by rising flow");
    }
    take_means(cells, row, curves, node);
    take_spreads(cells, row, curves, node);
}

static void check_nodes(struct cells *cells, const struct reference_book *book)
{
    for (size_t i = 0; i < book->count && cells->status == OK; i++) {
        if (book->items[i].node_count < REFERENCE_NODES_MIN) {
            struct place at = {.file = cells->table.file};
            cells->status = faults_add(cells->faults, E_INPUT, at, "model '%.*s' has %zu nodes, expected %d to %d",
                                       cell_shown(book->items[i].model), book->items[i].model,
                                       book->items[i].node_count, REFERENCE_NODES_MIN, REFERENCE_NODES_MAX);
        }
    }
}

enum status reference_book_read(const char *path, struct arena *arena, struct reference_book *book, struct notes *notes,
                                struct faults *faults)
{
    struct cells cells;
    *book = (struct reference_book){0};
    cells_read(&cells, path, reference_fields, R_COUNT, arena, faults);
    cells_note_unknown(&cells, notes);
    for (size_t i = 0; i < cells.table.row_count; i++) {
        take_node(&cells, i, book);
    }
    check_nodes(&cells, book);
    cells_keep(&cells, &book->kept);
    return cells.status;
}

const struct reference_curves *reference_find(const struct reference_book *book, const char *model,
                                              struct quantity stages)
{
    const struct reference_curves *any = NULL;
    for (size_t i = 0; i < book->count; i++) {
        const struct reference_curves *curves = &book->items[i];
        if (name_equal(curves->model, model)) {
            if (same_stages(curves->stages, stages)) {
                return curves;
            }
            any = curves->stages.known ? any : curves;
        }
    }
    return any;
}

static bool write_heading(FILE *to)
{
    bool good =
        fputs(
            "# Good units of each model: mean curves at rated speed, and the ways in which units differ (one standard deviation each).\n"
            "model,stages,units,flow [m3/h],head [m],input power [kW],current [A]",
            to) >= 0;
    for (int s = 1; s <= REFERENCE_SPREADS_MAX; s++) {
        good = fprintf(to, ",head spread %d [m],input power spread %d [kW],current spread %d [A]", s, s, s) > 0 && good;
    }
    return fputs("\n", to) >= 0 && good;
}

/* A cell of text, quoted as RFC 4180 has it. */
static bool write_text(const char *text, FILE *to)
{
    bool good = fputc('"', to) != EOF;
    for (; *text != '\0'; text++) {
        good = (*text != '"' || fputc('"', to) != EOF) && fputc(*text, to) != EOF && good;
    }
    return fputc('"', to) != EOF && good;
}

static bool write_values(const struct reference_values *values, const bool known[CURVES], size_t node, FILE *to)
{
    static const double unit[CURVES] = {1.0, 1000.0, 1.0};
    bool good = true;
    for (int c = 0; c < CURVES; c++) {
        good = (known[c] ? fprintf(to, ",%.6g", values->of[c][node] / unit[c]) : fprintf(to, ",")) > 0 && good;
    }
    return good;
}

static bool write_node(const struct reference_curves *curves, size_t node, FILE *to)
{
    static const bool nothing[CURVES] = {false};
    bool good = write_text(curves->model, to);
    good = (curves->stages.known ? fprintf(to, ",%.0f", curves->stages.value) : fprintf(to, ",")) > 0 && good;
    good = fprintf(to, ",%.0f,%.6g", curves->units, curves->flow_m3s[node] * 3600.0) > 0 && good;
    good = write_values(&curves->mean, curves->known, node, to) && good;
    for (size_t s = 0; s < REFERENCE_SPREADS_MAX; s++) {
        good = write_values(&curves->spread[s], s < curves->spread_count ? curves->known : nothing, node, to) && good;
    }
    return fputs("\n", to) >= 0 && good;
}

bool reference_book_write(const struct reference_book *book, FILE *to)
{
    bool good = write_heading(to);
    for (size_t i = 0; i < book->count; i++) {
        for (size_t node = 0; node < book->items[i].node_count; node++) {
            good = write_node(&book->items[i], node, to) && good;
        }
    }
    return good;
}
