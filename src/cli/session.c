#include "cli/session.h"

#include "base/files.h"
#include "base/memory_stream.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum status drawing_start(struct drawing *drawing, struct faults *faults)
{
    if (drawing->press.gnuplot != NULL) {
        return OK;
    }
    if (drawing->refused) {
        return E_CHILD;
    }
    enum status status = scratch_make(drawing->parent, &drawing->arena, &drawing->scratch, faults);
    if (status == OK) {
        status = press_start(&drawing->press, drawing->scratch.path, faults);
    }
    drawing->refused = status != OK;
    return status;
}

/* Draws the plot into a file of the scratch folder. */
static enum status run_plot(struct drawing *drawing, const struct plot *plot, struct faults *faults)
{
    char *script = NULL;
    size_t length = 0;
    FILE *to = memory_stream_open(&script, &length);
    if (to == NULL) {
        return faults_memory(faults);
    }
    (void)fputs("set output 'plot.txt'\n", to);
    plot->script(plot->what, plot->columns, plot->rows, to);
    (void)fputs("\nset output\n", to); /* closes the file */
    bool written = ferror(to) == 0;
    written = fclose(to) == 0 && written;
    enum status status = written ? gnuplot_run(drawing->press.gnuplot, script, length, faults) : faults_memory(faults);
    free(script);
    return status;
}

/* Copies a page of characters without the blanks that gnuplot fills its lines with. */
static void copy_page(const char *text, size_t length, FILE *to)
{
    for (const char *line = text, *end = text + length; line < end;) {
        const char *stop = memchr(line, '\n', (size_t)(end - line)), *next = stop == NULL ? end : stop + 1;
        stop = stop == NULL ? end : stop;
        while (stop > line && strchr(" \f", stop[-1]) != NULL) {
            stop--;
        }
        (void)fwrite(line, 1, (size_t)(stop - line), to);
        (void)fputc('\n', to);
        line = next;
    }
}

enum status drawing_plot(struct drawing *drawing, const struct plot *plot, FILE *to, struct faults *faults)
{
    enum { LARGEST_PLOT = 1024 * 1024 };
    struct arena arena = {0};
    char *text = NULL;
    size_t length = 0;
    enum status status = drawing_start(drawing, faults);
    if (status == OK) {
        status = run_plot(drawing, plot, faults);
    }
    if (status == OK) {
        const char *path = arena_format(&arena, "%s/plot.txt", drawing->scratch.path);
        status = path == NULL ? faults_memory(faults) : file_read(path, LARGEST_PLOT, &arena, &text, &length, faults);
    }
    if (status == OK) {
        copy_page(text, length, to);
    }
    arena_release(&arena);
    return status;
}

static void tell_waiting(const char *what, const char *holder)
{
    (void)fprintf(stderr, "waiting: %s is in use by %s\n", what, holder);
}

enum status session_out(const char *path, const char *command, struct out *out, struct faults *faults)
{
    enum status status = out_open(path, command, out, faults);
    out->waiting = status == OK ? tell_waiting : NULL;
    return status;
}

const char *temporary_folder(void)
{
    const char *folder = getenv("TMPDIR");
    return folder != NULL && folder[0] != '\0' ? folder : "/tmp"; /* POSIX.1-2017, XBD 10.1 */
}

enum status drawing_stop(struct drawing *drawing, struct faults *faults)
{
    enum status stopped = press_stop(&drawing->press, faults);
    enum status removed = scratch_remove(&drawing->scratch, faults);
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
        return faults_add(
            faults, E_INPUT, (struct place){.file = file},
            "no rig.csv in its folder or any above it, name the bay's folder with --bay, or make one: dutyproof start .");
    }
    return bay_read(folder, arena, bay, faults);
}
