#include "dutyproof/batch.h"

#include "dutyproof/files.h"
#include "dutyproof/text.h"
#include "sheet.h"

#include <stdlib.h>
#include <string.h>

enum { U_SERIAL, U_MODEL, U_LOG, U_TESTED, U_TESTER, U_REMARKS, U_COUNT };

static const struct table_field unit_fields[U_COUNT] = {
    [U_SERIAL] = {"serial", DIM_NONE, false}, [U_MODEL] = {"model", DIM_NONE, false},
    [U_LOG] = {"log", DIM_NONE, true},        [U_TESTED] = {"tested", DIM_NONE, false},
    [U_TESTER] = {"tester", DIM_NONE, false}, [U_REMARKS] = {"remarks", DIM_NONE, false},
};

static const char *folder_of(const char *path, struct arena *arena)
{
    size_t length = (size_t)(file_base(path) - path);
    return arena_text(arena, path, length);
}

static void check_model(struct sheet *sheet, size_t row, const char *model, const struct bay *bay)
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
    sheet_fault(sheet, row, U_MODEL, "model '%.*s' is not in models.csv%s%.60s%s", cell_shown(model), model,
                near != NULL ? ", did you mean '" : "", near != NULL ? near : "", near != NULL ? "'?" : "");
}

static void read_row(struct sheet *sheet, size_t row, const struct bay *bay, struct batch_list *list)
{
    struct batch_row *made = arena_push(sheet->arena, &list->rows, &list->count, sizeof *made);
    if (made == NULL) {
        sheet_no_memory(sheet);
        return;
    }
    *made = (struct batch_row){
        .serial = sheet_text(sheet, row, U_SERIAL),
        .model = sheet_text(sheet, row, U_MODEL),
        .log = sheet_required(sheet, row, U_LOG),
        .tester = sheet_text(sheet, row, U_TESTER),
        .remarks = sheet_text(sheet, row, U_REMARKS),
        .line = sheet->table.rows[row].line,
    };
    check_model(sheet, row, made->model, bay);
    const char *tested = sheet_text(sheet, row, U_TESTED);
    if (*tested != '\0' && !date_parse(tested, &made->tested)) {
        sheet_fault(sheet, row, U_TESTED, "'tested' is '%.*s', expected a date as 2026-03-01 or 2026-03-01T14:05",
                    cell_shown(tested), tested);
    }
    made->log_path = arena_format(sheet->arena, "%s%s", made->log[0] == '/' ? "" : list->folder, made->log);
    if (made->log_path == NULL) {
        sheet_no_memory(sheet);
    }
}

static int compare_logs(const void *a, const void *b)
{
    const struct batch_row *const *p = a, *const *q = b;
    int order = strcmp((*p)->log, (*q)->log);
    return order != 0 ? order : (*p)->line < (*q)->line ? -1 : 1;
}

/* A log belongs to one test: listed twice, one of the rows names the wrong log. */
static void check_logs(struct sheet *sheet, const struct batch_list *list)
{
    struct arena scratch = {0};
    const struct batch_row **sorted = arena_alloc(&scratch, list->count, sizeof *sorted);
    if (sorted == NULL) {
        sheet_no_memory(sheet);
        return;
    }
    for (size_t i = 0; i < list->count; i++) {
        sorted[i] = &list->rows[i];
    }
    qsort(sorted, list->count, sizeof *sorted, compare_logs);
    for (size_t i = 1; i < list->count; i++) {
        if (sorted[i]->log[0] != '\0' && strcmp(sorted[i]->log, sorted[i - 1]->log) == 0) {
            sheet_fault(sheet, (size_t)(sorted[i] - list->rows), U_LOG,
                        "log '%.*s' is that of line %zu, expected each log once", cell_shown(sorted[i]->log),
                        sorted[i]->log, sorted[i - 1]->line);
        }
    }
    arena_release(&scratch);
}

/* `# batch: NAME`, else the file's name without its ending. */
static void read_name(struct sheet *sheet, struct batch_list *list)
{
    const char *base = file_base(list->file);
    list->name = arena_text(sheet->arena, base, strcspn(base, "."));
    for (size_t i = 0; i < sheet->table.remark_count; i++) {
        const struct table_remark *remark = &sheet->table.remarks[i];
        if (strcmp(remark->key, "batch") == 0 && remark->value[0] != '\0') {
            list->name = remark->value;
        }
    }
    if (list->name == NULL) {
        sheet_no_memory(sheet);
    }
}

enum status batch_list_read(const char *path, const struct bay *bay, struct arena *arena, struct batch_list *list,
                            struct notes *notes, struct faults *faults)
{
    enum { LARGEST_LIST = 256 * 1024 * 1024 };
    char *text = NULL;
    size_t length = 0;
    struct sheet sheet;
    *list = (struct batch_list){.file = path, .folder = folder_of(path, arena)};
    if (list->folder == NULL) {
        return faults_memory(faults);
    }
    enum status status = file_read(path, LARGEST_LIST, arena, &text, &length, faults);
    if (status != OK) {
        return status;
    }
    sha256_hex(text, length, list->sha256);
    sheet_parse(&sheet, path, text, length, unit_fields, U_COUNT, arena, faults);
    for (size_t row = 0; row < sheet.table.row_count && sheet.status != E_MEMORY; row++) {
        read_row(&sheet, row, bay, list);
    }
    sheet_note_unknown(&sheet, notes);
    if (sheet.status != E_MEMORY) {
        read_name(&sheet, list);
    }
    if (list->count > 1 && sheet.status != E_MEMORY) {
        check_logs(&sheet, list);
    }
    if (list->count == 0 && sheet.status == OK) {
        return faults_add(faults, E_INPUT, (struct place){.file = path}, "lists no unit, expected a row for each test");
    }
    return sheet.status;
}
