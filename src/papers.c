#include "dutyproof/papers.h"

#include "dutyproof/files.h"
#include "dutyproof/render.h"
#include "dutyproof/text.h"

#include <dirent.h>
#include <errno.h>
#include <jansson.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <unistd.h>

/* What the steps of writing one unit's papers share. */
struct work {
    const struct result *result;
    struct arena *arena;
    struct faults *faults;
    const char *folder;
};

static const char *const paper_names[] = {"points.csv", "curves.dat", "curves.gp",
                                          "sheet.txt",  "sheet.pdf",  "result.json"};
enum { PAPERS = sizeof paper_names / sizeof paper_names[0] };

/* A path inside a folder. Returns: NULL when memory is out. */
static char *path_in(const struct work *work, const char *folder, const char *name)
{
    return arena_format(work->arena, "%s/%s", folder, name);
}

/* True when out holds an entry that differs from name by the case of its letters only: on some file systems it is the
 * same. */
static bool case_twin(const char *out, const char *name)
{
    DIR *folder = opendir(out);
    if (folder == NULL) {
        return false; /* not there yet; what else may be wrong, writing will tell */
    }
    bool twin = false;
    for (struct dirent *entry; !twin && (entry = readdir(folder)) != NULL;) {
        twin = strcasecmp(entry->d_name, name) == 0 && strcmp(entry->d_name, name) != 0;
    }
    (void)closedir(folder);
    return twin;
}

/* Chooses and makes the unit's folder. */
static enum status choose_folder(struct work *work, const char *out)
{
    const char *plain = name_safe(work->arena, work->result->serial);
    const char *marked = name_safe_marked(work->arena, work->result->serial);
    const char *marked_path = marked == NULL ? NULL : path_in(work, out, marked);
    if (plain == NULL || marked_path == NULL) {
        return faults_memory(work->faults);
    }
    bool use_marked = access(marked_path, F_OK) == 0 || case_twin(out, plain);
    work->folder = use_marked ? marked_path : path_in(work, out, plain);
    return work->folder == NULL ? faults_memory(work->faults) : folder_make(work->folder, work->faults);
}

/* Whose papers a folder holds. sha256 NULL: nobody's. */
struct owner {
    const char *serial, *sha256;
};

static enum status read_owner(const struct work *work, struct owner *owner)
{
    enum { LARGEST_DOCUMENT = 256 * 1024 * 1024 };
    char *bytes = NULL, *path = path_in(work, work->folder, "result.json");
    size_t length = 0;
    if (path == NULL) {
        return faults_memory(work->faults);
    }
    if (access(path, F_OK) != 0 && errno == ENOENT) {
        return OK;
    }
    enum status status = file_read(path, LARGEST_DOCUMENT, work->arena, &bytes, &length, work->faults);
    if (status != OK) {
        return status;
    }
    json_t *root = json_loadb(bytes, length, JSON_REJECT_DUPLICATES, NULL);
    const char *serial = json_string_value(json_object_get(root, "serial"));
    const char *sha256 = json_string_value(json_object_get(json_object_get(root, "log"), "sha256"));
    bool ours = serial != NULL && sha256 != NULL && strlen(sha256) == 64 && strspn(sha256, "0123456789abcdef") == 64;
    if (ours) {
        owner->serial = arena_text(work->arena, serial, strlen(serial));
        owner->sha256 = arena_text(work->arena, sha256, strlen(sha256));
    }
    json_decref(root);
    if (!ours) {
        return faults_add(work->faults, E_FILE, (struct place){.file = path},
                          "is not a result document of this program: it is not overwritten, move it away");
    }
    return owner->serial == NULL || owner->sha256 == NULL ? faults_memory(work->faults) : OK;
}

/* The result document holds the serial as it is, or made UTF-8. */
static bool same_serial(struct arena *arena, const char *stored, const char *serial)
{
    enum { LONGEST_SERIAL = 10000 };
    const char *shown = text_shown(arena, serial, LONGEST_SERIAL);
    return strcmp(stored, serial) == 0 || (shown != NULL && strcmp(stored, shown) == 0);
}

/* Moves the papers of another log out of the way. result.json goes last, so that a move that was cut short starts
 * again. */
static enum status keep_earlier(struct work *work, struct papers *papers)
{
    struct owner owner = {0};
    enum status status = read_owner(work, &owner);
    if (status != OK || owner.sha256 == NULL || strcmp(owner.sha256, work->result->log.sha256) == 0) {
        return status;
    }
    if (!same_serial(work->arena, owner.serial, work->result->serial)) {
        return faults_add(work->faults, E_FILE, (struct place){.file = work->folder},
                          "holds the papers of serial '%.80s'", owner.serial);
    }
    char *kept = arena_format(work->arena, "%s/earlier-%.8s", work->folder, owner.sha256);
    status = kept == NULL ? faults_memory(work->faults) : folder_make(kept, work->faults);
    for (size_t i = 0; i < PAPERS && status == OK; i++) {
        char *from = path_in(work, work->folder, paper_names[i]), *to = path_in(work, kept, paper_names[i]);
        status = from == NULL || to == NULL ? faults_memory(work->faults) : file_move(from, to, work->faults);
    }
    papers->kept = status == OK ? kept : NULL;
    return status;
}

static enum status sheet_text(const struct result *result, FILE *to)
{
    return render_sheet_text(result, false, to);
}

static enum status points_csv(const struct result *result, FILE *to)
{
    render_points_csv(result, to);
    return OK;
}

static enum status curves_data(const struct result *result, FILE *to)
{
    render_curves_data(result, to);
    return OK;
}

static enum status curves_script(const struct result *result, FILE *to)
{
    render_curves_script(result, to);
    return OK;
}

static enum status sheet_script(const struct result *result, FILE *to)
{
    render_sheet_script(result, "sheet.pdf", to);
    return OK;
}

/* Renders into memory. *text is freed by the caller, also upon failure. */
static enum status rendered(const struct work *work, enum status (*render)(const struct result *, FILE *), char **text,
                            size_t *length)
{
    FILE *to = open_memstream(text, length);
    if (to == NULL) {
        return faults_memory(work->faults);
    }
    bool good = render(work->result, to) == OK && ferror(to) == 0;
    good = fclose(to) == 0 && good;
    return good ? OK : faults_memory(work->faults);
}

static enum status write_text(const struct work *work, const char *name,
                              enum status (*render)(const struct result *, FILE *))
{
    char *text = NULL, *path = path_in(work, work->folder, name);
    size_t length = 0;
    enum status status = path == NULL ? faults_memory(work->faults) : rendered(work, render, &text, &length);
    if (status == OK) {
        status = file_write(path, text, length, work->faults);
    }
    free(text);
    return status;
}

static enum status write_json(const struct work *work)
{
    char *text = NULL, *path = path_in(work, work->folder, "result.json");
    size_t length = 0;
    if (path == NULL || render_json(work->result, false, &text, &length) != OK) {
        return faults_memory(work->faults);
    }
    enum status status = file_write(path, text, length, work->faults);
    free(text);
    return status;
}

/* Draws sheet.pdf. Where it cannot be drawn the one of an earlier run goes too: it may not stand beside newer papers.
 */
static enum status write_pdf(const struct work *work, struct gnuplot *gnuplot, const char *scratch)
{
    char *path = path_in(work, work->folder, "sheet.pdf");
    if (path == NULL) {
        return faults_memory(work->faults);
    }
    if (gnuplot == NULL) {
        return file_remove(path, work->faults);
    }
    char *script = NULL, *drawn = path_in(work, scratch, "sheet.pdf");
    size_t length = 0;
    enum status status = drawn == NULL ? faults_memory(work->faults) : rendered(work, sheet_script, &script, &length);
    if (status == OK) {
        status = gnuplot_run(gnuplot, script, length, work->faults);
    }
    free(script);
    if (status == OK && access(drawn, F_OK) != 0) {
        status = faults_add(work->faults, E_CHILD, (struct place){.file = path},
                            "was not drawn, though gnuplot reports no error");
    }
    if (status == OK) {
        return file_publish(drawn, path, work->faults);
    }
    (void)file_remove(path, work->faults);
    return status;
}

enum status papers_write(const struct result *result, const char *out, struct gnuplot *gnuplot, const char *scratch,
                         struct arena *arena, struct papers *papers, struct faults *faults)
{
    struct work work = {.result = result, .arena = arena, .faults = faults};
    *papers = (struct papers){0};
    enum status status = choose_folder(&work, out);
    papers->folder = work.folder;
    if (status == OK) {
        status = keep_earlier(&work, papers);
    }
    if (status == OK) {
        status = write_text(&work, "points.csv", points_csv);
    }
    if (status == OK) {
        status = write_text(&work, "curves.dat", curves_data);
    }
    if (status == OK) {
        status = write_text(&work, "curves.gp", curves_script);
    }
    if (status == OK) {
        status = write_text(&work, "sheet.txt", sheet_text);
    }
    enum status drawn = status == OK ? write_pdf(&work, gnuplot, scratch) : OK;
    if (status == OK && (drawn == OK || drawn == E_CHILD)) {
        status = write_json(&work);
    }
    return status != OK ? status : drawn;
}
