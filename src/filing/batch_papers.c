#include "filing/batch_papers.h"
#include "base/files.h"
#include "base/memory_stream.h"
#include "batch/batch.h"
#include "batch/batch_stats.h"
#include "filing/papers.h"
#include "filing/scratch.h"
#include "papers/render_batch.h"

#include <stdlib.h>

static const char *const names[] = {"batch.csv", "batch.json", "certificate.pdf"};
enum { NAMES = sizeof names / sizeof names[0] };

struct work {
    const struct batch *batch;
    const struct batch_summary *summary;
    const char *out;
    struct scratch scratch;
    struct arena arena;
    struct gnuplot *gnuplot;
    struct faults *faults;
};

static enum status stage(struct work *work, const char *name, const char *text, size_t length)
{
    const char *path = arena_format(&work->arena, "%s/%s", work->scratch.path, name);
    return path == NULL ? faults_memory(work->faults) : file_stage(path, text, length, work->faults);
}

static enum status stage_csv(struct work *work)
{
    char *text = NULL;
    size_t length = 0;
    FILE *to = memory_stream_open(&text, &length);
    if (to == NULL) {
        return faults_memory(work->faults);
    }
    bool good = render_batch_csv(work->batch, to) == OK && ferror(to) == 0;
    good = fclose(to) == 0 && good;
    enum status status = good ? stage(work, names[0], text, length) : faults_memory(work->faults);
    free(text);
    return status;
}

static enum status stage_json(struct work *work)
{
    char *text = NULL;
    size_t length = 0;
    if (render_batch_json(work->batch, work->summary, &text, &length) != OK) {
        return faults_memory(work->faults);
    }
    enum status status = stage(work, names[1], text, length);
    free(text);
    return status;
}

static enum status draw_certificate(struct work *work)
{
    char *script = NULL;
    size_t length = 0;
    FILE *to = memory_stream_open(&script, &length);
    if (to == NULL) {
        return faults_memory(work->faults);
    }
    bool good = render_certificate_script(work->batch, work->summary, names[2], to) == OK && ferror(to) == 0;
    good = fclose(to) == 0 && good;
    enum status status = good ? stage(work, "certificate.gp", script, length) : faults_memory(work->faults);
    free(script);
    return status == OK ? gnuplot_load(work->gnuplot, "certificate.gp", work->faults) : status;
}

/* Starts it before the tables are made: it takes its time to be ready. */
static enum status start_gnuplot(struct work *work)
{
    return gnuplot_start(work->scratch.path, &work->gnuplot, work->faults);
}

static enum status stage_certificate(struct work *work)
{
    char *bytes = NULL;
    size_t length = 0;
    const char *path = arena_format(&work->arena, "%s/%s", work->scratch.path, names[2]);
    enum status status = path == NULL ? faults_memory(work->faults) : draw_certificate(work);
    if (status == OK) {
        status = pdf_finish(path, &work->summary->last_tested, &work->arena, &bytes, &length, work->faults);
    }
    return status;
}

static enum status place_all(struct work *work)
{
    enum status status = files_sync(work->scratch.path, work->faults);
    for (int i = 0; i < NAMES && status == OK; i++) {
        const char *from = arena_format(&work->arena, "%s/%s", work->scratch.path, names[i]);
        const char *to = arena_format(&work->arena, "%s/%s", work->out, names[i]);
        status = from == NULL || to == NULL ? faults_memory(work->faults) : file_place(from, to, work->faults);
    }
    return status == OK ? files_sync(work->out, work->faults) : status;
}

enum status batch_papers_write(const struct batch *batch, const struct batch_summary *summary, const char *out,
                               struct faults *faults)
{
    struct work work = {.batch = batch, .summary = summary, .out = out, .faults = faults};
    enum status status = scratch_make(out, &work.arena, &work.scratch, faults);
    enum status (*const steps[])(struct work *) = {start_gnuplot, stage_csv, stage_json, stage_certificate, place_all};
    for (size_t i = 0; i < sizeof steps / sizeof steps[0] && status == OK; i++) {
        status = steps[i](&work);
    }
    enum status stopped = gnuplot_stop(work.gnuplot, faults);
    enum status removed = scratch_remove(&work.scratch, faults);
    arena_release(&work.arena);
    status = status != OK ? status : stopped;
    return status != OK ? status : removed;
}
