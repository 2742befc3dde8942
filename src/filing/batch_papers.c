#include "filing/batch_papers.h"

#include "base/files.h"
#include "base/memory_stream.h"
#include "filing/seal.h"
#include "filing/tree.h"
#include "papers/press.h"
#include "papers/render_batch.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static const char *const names[] = {"batch.csv", "batch.json", "batch.html", "certificate.pdf"};
enum { NAMES = sizeof names / sizeof names[0] };

static const char earlier[] = "earlier";

struct work {
    const struct batch *batch;
    const struct batch_summary *summary;
    struct out *out;
    const char *staged; /* a path from OUT */
    const char *folder; /* the same from where the program runs */
    struct arena arena;
    struct press press;
    struct batch_digest digest; /* of batch.json */
    struct faults *faults;
};

static enum status stage(struct work *work, const char *name, const char *text, size_t length)
{
    const char *path = arena_format(&work->arena, "%s/%s", work->folder, name);
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
    sha256_hex(text, length, work->digest.sha256);
    work->digest.of_what = "SHA-256 of batch.json, which holds the results that this certificate sums up";
    free(text);
    return status;
}

/* Starts it before the tables are made: it takes its time to be ready. */
static enum status start_press(struct work *work)
{
    return press_start(&work->press, work->folder, work->faults);
}

static enum status stage_certificate(struct work *work)
{
    struct rendered_batch rendered = {0};
    enum status status =
        render_certificate_drawn(work->batch, work->summary, &work->digest, &work->press, &rendered, work->faults);
    status = status == OK ? stage(work, names[2], rendered.html, rendered.html_length) : status;
    status = status == OK ? stage(work, names[3], rendered.pdf, rendered.pdf_length) : status;
    free(rendered.pdf);
    free(rendered.html);
    return status;
}

/* --- setting aside what stands --- */

static enum status cannot(const struct out *out, const char *what, struct faults *faults)
{
    return faults_add(faults, E_FILE, (struct place){.file = out->path}, "an earlier batch's papers cannot be %s: %s",
                      what, strerror(errno));
}

/* What stands, as a seal: its digest is a name for it. Status: E_FILE, E_MEMORY. */
static enum status seal_standing(const struct out *out, struct arena *arena, struct seal *seal, struct faults *faults)
{
    enum { LARGEST = 512 * 1024 * 1024 };
    enum status status = OK;
    for (int i = 0; i < NAMES && status == OK; i++) {
        struct arena scratch = {0};
        char *bytes = NULL, hex[65];
        size_t length = 0;
        if (tree_read(out->folder, names[i], LARGEST, &scratch, &bytes, &length)) {
            sha256_hex(bytes, length, hex);
            status = seal_add(seal, arena, names[i], hex) == OK ? OK : faults_memory(faults);
        } else if (errno != ENOENT) {
            status = cannot(out, "read", faults);
        }
        arena_release(&scratch);
    }
    return status;
}

/* Brings what stands into the staged folder, and that to its name in earlier/. */
static enum status keep(struct out *out, const char *staged, const char *kept, const struct seal *seal,
                        struct faults *faults)
{
    int to = tree_open(out->folder, staged);
    bool good = to >= 0;
    for (size_t i = 0; i < seal->count && good; i++) {
        good = tree_bring(out->folder, seal->papers[i].name, to, seal->papers[i].name);
    }
    good = good && (mkdirat(out->folder, earlier, 0777) == 0 || errno == EEXIST);
    good = good && (renameat(out->folder, staged, out->folder, kept) == 0 || errno == EEXIST || errno == ENOTEMPTY);
    enum status status = good ? OK : cannot(out, "kept", faults);
    if (to >= 0) {
        (void)close(to);
    }
    return status == OK ? files_sync(out->path, faults) : status;
}

/* The certificate goes first: without it the tables certify nothing. */
static enum status take_away(struct out *out, struct faults *faults)
{
    for (int i = NAMES; i-- > 0;) {
        if (unlinkat(out->folder, names[i], 0) != 0 && errno != ENOENT) {
            return cannot(out, "moved", faults);
        }
    }
    return OK;
}

/* The name in earlier/ for papers of a batch. Returns: NULL when memory is out. */
static const char *kept_name(const struct seal *seal, struct arena *arena)
{
    char hex[65];
    return seal_digest(seal, hex) == OK ? arena_format(arena, "%s/batch-%.16s", earlier, hex) : NULL;
}

static enum status retire(struct out *out, const struct seal *seal, struct arena *arena, struct faults *faults)
{
    const char *staged = NULL;
    struct stat facts;
    if (fstatat(out->folder, earlier, &facts, AT_SYMLINK_NOFOLLOW) == 0 && !S_ISDIR(facts.st_mode)) {
        return faults_add(faults, E_FILE, (struct place){.file = out->path},
                          "its '%s' is %s, a folder is needed there: move it away", earlier,
                          S_ISLNK(facts.st_mode) ? "a link" : "no folder");
    }
    const char *kept = kept_name(seal, arena);
    enum status status = kept == NULL ? faults_memory(faults) : OK;
    status = status == OK ? out_stage_folder(out, arena, &staged, faults) : status;
    status = status == OK ? keep(out, staged, kept, seal, faults) : status;
    return status == OK ? take_away(out, faults) : status;
}

enum status batch_papers_retire(struct out *out, struct faults *faults)
{
    struct arena arena = {0};
    struct seal seal = {0};
    enum status status = seal_standing(out, &arena, &seal, faults);
    status = status == OK && seal.count > 0 ? retire(out, &seal, &arena, faults) : status;
    arena_release(&arena);
    return status;
}

/* --- placing --- */

/* What was set aside for these very papers is not earlier than they are. */
static enum status drop_twin(struct work *work, const struct seal *placed)
{
    const char *kept = kept_name(placed, &work->arena);
    if (kept == NULL) {
        return faults_memory(work->faults);
    }
    if (!tree_remove(work->out->folder, kept)) {
        return cannot(work->out, "removed", work->faults);
    }
    (void)unlinkat(work->out->folder, earlier, AT_REMOVEDIR); /* it goes when it is empty */
    return OK;
}

/* Writes the seal of what is staged to compare it with what stands. */
static enum status seal_staged(struct work *work, struct seal *seal)
{
    struct out inside = {.path = work->folder, .folder = tree_open(work->out->folder, work->staged)};
    enum status status = inside.folder < 0 ? cannot(work->out, "compared", work->faults)
                                           : seal_standing(&inside, &work->arena, seal, work->faults);
    if (inside.folder >= 0) {
        (void)close(inside.folder);
    }
    return status;
}

static enum status place(struct work *work)
{
    for (int i = 0; i < NAMES; i++) {
        const char *from = arena_format(&work->arena, "%s/%s", work->staged, names[i]);
        if (from == NULL) {
            return faults_memory(work->faults);
        }
        if (renameat(work->out->folder, from, work->out->folder, names[i]) != 0) {
            return faults_add(work->faults, E_FILE, (struct place){.file = work->out->path}, "%s cannot be written: %s",
                              names[i], strerror(errno));
        }
    }
    return OK;
}

static enum status place_all(struct work *work)
{
    struct seal standing = {0}, staged = {0};
    enum status status = seal_standing(work->out, &work->arena, &standing, work->faults);
    status = status == OK ? seal_staged(work, &staged) : status;
    if (status != OK || seal_same(&standing, &staged)) {
        return status;
    }
    status = files_sync(work->out->path, work->faults);
    status = status == OK && standing.count > 0 ? retire(work->out, &standing, &work->arena, work->faults) : status;
    status = status == OK ? place(work) : status;
    status = status == OK ? drop_twin(work, &staged) : status;
    return status == OK ? files_sync(work->out->path, work->faults) : status;
}

static enum status make_room(struct work *work)
{
    enum status status = out_stage_folder(work->out, &work->arena, &work->staged, work->faults);
    work->folder = status == OK ? arena_format(&work->arena, "%s/%s", work->out->path, work->staged) : NULL;
    return status == OK && work->folder == NULL ? faults_memory(work->faults) : status;
}

enum status batch_papers_write(const struct batch *batch, const struct batch_summary *summary, struct out *out,
                               struct faults *faults)
{
    struct work work = {.batch = batch, .summary = summary, .out = out, .faults = faults};
    enum status (*const steps[])(struct work *) = {make_room,  start_press,       stage_csv,
                                                   stage_json, stage_certificate, place_all};
    enum status status = OK;
    for (size_t i = 0; i < sizeof steps / sizeof steps[0] && status == OK; i++) {
        status = steps[i](&work);
    }
    enum status stopped = press_stop(&work.press, faults);
    arena_release(&work.arena);
    return status != OK ? status : stopped;
}
