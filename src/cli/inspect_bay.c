/* dutyproof inspect BAY: all tables without a log */
#include "cli/inspect_bay.h"

#include "cli/console.h"

#include "base/files.h"
#include "batch/batch_list.h"
#include "papers/render_readiness.h"

#include <stdlib.h>
#include <unistd.h>

/* The bay's own batch, where it has one. */
static enum status read_units(const char *folder, struct bay *bay, struct arena *arena, struct faults *faults)
{
    struct batch_list list;
    const char *path = arena_format(arena, "%s/units.csv", folder);
    if (path == NULL) {
        return faults_memory(faults);
    }
    if (access(path, F_OK) != 0) {
        return OK;
    }
    struct table table;
    struct faults unused = {0};
    bool empty = table_read(path, 0, arena, &table, &unused) == OK && table.row_count == 0;
    return !empty ? batch_list_read(path, bay, arena, &list, &bay->notes, faults) : OK;
}

static enum status print(const struct readiness *readiness, const struct bay *bay, bool json)
{
    char *text = NULL;
    size_t length = 0;
    if (!json) {
        return render_readiness_text(readiness, bay, stdout);
    }
    enum status status = render_readiness_json(readiness, bay, &text, &length);
    if (status == OK) {
        (void)fwrite(text, 1, length, stdout); /* checked at the end, by console_end */
        free(text);
    }
    return status;
}

enum exit_status inspect_bay(const char *folder, bool json)
{
    struct arena arena = {0};
    struct bay bay = {0};
    struct readiness readiness = {0};
    struct faults faults = {0};
    enum status status = bay_read_unfilled(folder, &arena, &bay, &faults);
    enum status units = status == E_MEMORY ? status : read_units(folder, &bay, &arena, &faults);
    status = status == OK ? units : status;
    if (status == OK && (readiness_find(&bay, &arena, &readiness) != OK || print(&readiness, &bay, json) != OK)) {
        status = faults_memory(&faults);
    }
    for (size_t i = 0; i < bay.notes.count && status != OK && status != E_MEMORY; i++) {
        (void)fprintf(stderr, "input: %s\n", bay.notes.items[i].text);
    }
    enum exit_status end = readiness_count(&readiness, READY_TO_FILL) > 0 ? EXIT_NOT_PASSED : EXIT_PASSED;
    arena_release(&arena);
    return status == OK ? end : console_trouble(&faults, NULL);
}
