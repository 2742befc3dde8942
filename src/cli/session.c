#include "session.h"

#include "dutyproof/files.h"

#include <errno.h>
#include <string.h>
#include <unistd.h>

enum status drawing_start(struct drawing *drawing, struct faults *faults)
{
    if (drawing->gnuplot != NULL) {
        return OK;
    }
    if (drawing->refused) {
        return E_CHILD;
    }
    enum status status = scratch_make(drawing->parent, &drawing->arena, &drawing->scratch, faults);
    if (status == OK) {
        status = gnuplot_start(drawing->scratch, &drawing->gnuplot, faults);
    }
    drawing->refused = status != OK;
    return status;
}

enum status drawing_stop(struct drawing *drawing, struct faults *faults)
{
    enum status stopped = gnuplot_stop(drawing->gnuplot, faults);
    enum status removed = scratch_remove(drawing->scratch, faults);
    arena_release(&drawing->arena);
    *drawing = (struct drawing){.parent = drawing->parent};
    return stopped != OK ? stopped : removed;
}

enum status session_bay(const struct options *options, const char *file, struct arena *arena, struct bay *bay,
                        struct faults *faults)
{
    if (access(file, R_OK) != 0) {
        return faults_add(faults, E_FILE, (struct place){.file = file}, "cannot be read: %s", strerror(errno));
    }
    const char *folder = option_given(options, OPTION_BAY) ? options->value[OPTION_BAY] : bay_find(file, arena);
    if (folder == NULL) {
        return faults_add(faults, E_INPUT, (struct place){.file = file},
                          "no rig.csv in its folder or any above it, name the bay's folder with --bay");
    }
    return bay_read(folder, arena, bay, faults);
}
