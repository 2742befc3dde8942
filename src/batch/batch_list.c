
#include "batch/batch_list.h"

#include "base/files.h"
#include "base/text.h"
#include "tables/cells.h"

#include <stdlib.h>
#include <string.h>

enum { U_SERIAL, U_MODEL, U_LOG, U_TESTED, U_TESTER, U_REMARKS, U_COUNT };

static const struct table_field unit_fields[U_COUNT] = {
    [U_SERIAL] = {"serial", DIM_NONE, false}, [U_MODEL] = {"model", DIM_NONE, false},
    [U_LOG] = {"log", DIM_NONE, true},        [U_TESTED] = {"tested", DIM_NONE, false},
    [U_TESTER] = {"tester", DIM_NONE, false}, [U_REMARKS] = {"remarks", DIM_NONE, false},
};

static const struct table_help unit_help[U_COUNT] = {
    [U_SERIAL] = {.about = "number of the unit", .otherwise = "what the log says"},
    [U_MODEL] = {.about = "as models.csv names it", .otherwise = "what the log says"},
    [U_LOG] = {.about = "its log, from the folder of units.csv"},
    [U_TESTED] = {.about = "date, as 2026-03-01 or 2026-03-01T14:05", .otherwise = "what the log says"},
    [U_TESTER] = {.about = "who tested", .otherwise = "what the log says"},
    [U_REMARKS] = {.about = "stands on the papers"},
};

const struct table_form units_form = {"units", "units.csv: a batch, a row a test; a line '# batch: NAME' names it",
                                      unit_fields, unit_help, U_COUNT};

static const char *folder_of(const char *path, struct arena *arena)
{
    size_t length = (size_t)(file_base(path) - path);
    return arena_text(arena, path, length);
}

static void check_model(struct cells *cells, size_t row, const char *model, const struct bay *bay)
{
    enum { NAMES = 256 };
    const char *names[NAMES];
    size_t count = 0;
    if (*model == '\0' || bay_model(bay, model) != NULL) {
        return;
    }
    for (; count < bay->model_count && count < NAMES; count++) {
        names[count] = bay->models[count].name;
    }
    const char *near = name_nearest(model, names, count);
    cells_fault(cells, row, U_MODEL, "model '%.*s' is not in models.csv%s%.60s%s", cell_shown(model), model,
                near != NULL ? ", did you mean '" : "", near != NULL ? near : "", near != NULL ? "'?" : "");
}

static void read_row(struct cells *cells, size_t row, const struct bay *bay, struct batch_list *list)
{
    struct batch_row *made = arena_push(cells->arena, &list->rows, &list->count, sizeof *made);
    if (made == NULL) {
        cells_no_memory(cells);
        return;
    }
    *made = (struct batch_row){
        .serial = cells_text(cells, row, U_SERIAL),
        .model = cells_text(cells, row, U_MODEL),
        .log = cells_required(cells, row, U_LOG),
        .tester = cells_text(cells, row, U_TESTER),
        .remarks = cells_text(cells, row, U_REMARKS),
        .line = cells->table.rows[row].line,
    };
    check_model(cells, row, made->model, bay);
    const char *tested = cells_text(cells, row, U_TESTED);
    if (*tested != '\0' && !date_parse(tested, &made->tested)) {
        cells_fault(cells, row, U_TESTED, "'tested' is '%.*s', expected a date as 2026-03-01 or 2026-03-01T14:05",
                    cell_shown(tested), tested);
    }
    made->log_path = arena_format(cells->arena, "%s%s", made->log[0] == '/' ? "" : list->folder, made->log);
    if (made->log_path == NULL) {
        cells_no_memory(cells);
    }
}

static int compare_logs(const void *a, const void *b)
{
    const struct batch_row *const *p = a, *const *q = b;
    int order = strcmp((*p)->log, (*q)->log);
    return order != 0 ? order : (*p)->line < (*q)->line ? -1 : 1;
}

/* A log belongs to one test: listed twice, one of the rows names the wrong log. */
static void check_logs(struct cells *cells, const struct batch_list *list)
{
    struct arena scratch = {0};
    const struct batch_row **sorted = arena_alloc(&scratch, list->count, sizeof *sorted);
    if (sorted == NULL) {
        cells_no_memory(cells);
        return;
    }
    for (size_t i = 0; i < list->count; i++) {
        sorted[i] = &list->rows[i];
    }
    qsort(sorted, list->count, sizeof *sorted, compare_logs);
    for (size_t i = 1; i < list->count; i++) {
        if (sorted[i]->log[0] != '\0' && strcmp(sorted[i]->log, sorted[i - 1]->log) == 0) {
            cells_fault(cells, (size_t)(sorted[i] - list->rows), U_LOG,
                        "log '%.*s' is that of line %zu, expected each log once", cell_shown(sorted[i]->log),
                        sorted[i]->log, sorted[i - 1]->line);
        }
    }
    arena_release(&scratch);
}

/* `# batch: NAME`, else the file's name without its ending. */
static void read_name(struct cells *cells, struct batch_list *list)
{
    const char *base = file_base(list->file);
    list->name = arena_text(cells->arena, base, log_name_length(base));
    for (size_t i = 0; i < cells->table.remark_count; i++) {
        const struct table_remark *remark = &cells->table.remarks[i];
        if (strcmp(remark->key, "batch") == 0 && remark->value[0] != '\0') {
            list->name = remark->value;
        }
    }
    if (list->name == NULL) {
        cells_no_memory(cells);
    }
}

enum status batch_list_read(const char *path, const struct bay *bay, struct arena *arena, struct batch_list *list,
                            struct notes *notes, struct faults *faults)
{
    enum { LARGEST_LIST = 256 * 1024 * 1024 };
    char *text = NULL;
    size_t length = 0;
    struct cells cells;
    *list = (struct batch_list){.file = path, .folder = folder_of(path, arena)};
    if (list->folder == NULL) {
        return faults_memory(faults);
    }
    enum status status = file_read(path, LARGEST_LIST, arena, &text, &length, faults);
    if (status != OK) {
        return status;
    }
    sha256_hex(text, length, list->sha256);
    cells_parse(&cells, path, text, length, unit_fields, U_COUNT, arena, faults);
    for (size_t row = 0; row < cells.table.row_count && cells.status != E_MEMORY; row++) {
        read_row(&cells, row, bay, list);
    }
    cells_note_unknown(&cells, notes);
    if (cells.status != E_MEMORY) {
        read_name(&cells, list);
    }
    if (list->count > 1 && cells.status != E_MEMORY) {
        check_logs(&cells, list);
    }
    if (list->count == 0 && cells.status == OK) {
        return faults_add(faults, E_INPUT, (struct place){.file = path}, "lists no unit, expected a row for each test");
    }
    return cells.status;
}
