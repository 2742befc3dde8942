#include "filing/papers.h"

#include "base/files.h"
#include "base/memory_stream.h"
#include "base/text.h"
#include "papers/render.h"

#include <dirent.h>
#include <errno.h>
#include <jansson.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <unistd.h>

/* What the steps of writing one unit's papers share. */
struct work {
    const struct papers_order *order;
    const struct result *result;
    struct papers *papers;
    FILE *seal;
    struct arena *arena;
    struct faults *faults;
    const char *folder;
};

static const char *const paper_names[] = {"points.csv", "curves.dat", "curves.gp",  "sheet.txt",
                                          "sheet.html", "sheet.pdf",  "result.json"};
enum { PAPERS = sizeof paper_names / sizeof paper_names[0], LARGEST_PAPER = 256 * 1024 * 1024 };

/* A list of the papers with their SHA-256, in the form that sha256sum reads. */
static const char seal_name[] = "papers.sha256", pdf_name[] = "sheet.pdf", html_name[] = "sheet.html",
                  json_name[] = "result.json";

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

enum status papers_folder(const char *out, const char *serial, struct arena *arena, const char **folder,
                          struct faults *faults)
{
    const char *plain = name_safe(arena, serial), *marked = name_safe_marked(arena, serial);
    const char *marked_path = marked == NULL ? NULL : arena_format(arena, "%s/%s", out, marked);
    if (plain == NULL || marked_path == NULL) {
        return faults_memory(faults);
    }
    bool use_marked = access(marked_path, F_OK) == 0 || case_twin(out, plain);
    *folder = use_marked ? marked_path : arena_format(arena, "%s/%s", out, plain);
    return *folder == NULL ? faults_memory(faults) : OK;
}

/* Whose papers a folder holds. sha256 NULL: nobody's. */
struct owner {
    const char *serial, *sha256;
};

static enum status read_owner(const struct work *work, struct owner *owner)
{
    char *bytes = NULL, *path = path_in(work, work->folder, "result.json");
    size_t length = 0;
    if (path == NULL) {
        return faults_memory(work->faults);
    }
    if (access(path, F_OK) != 0 && errno == ENOENT) {
        return OK;
    }
    enum status status = file_read(path, LARGEST_PAPER, work->arena, &bytes, &length, work->faults);
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
static enum status keep_earlier(struct work *work)
{
    struct owner owner = {0};
    enum status status = read_owner(work, &owner);
    if (status != OK || owner.sha256 == NULL || strcmp(owner.sha256, work->papers->sha256) == 0) {
        return status;
    }
    if (!same_serial(work->arena, owner.serial, work->papers->serial)) {
        return faults_add(work->faults, E_FILE, (struct place){.file = work->folder},
                          "holds the papers of serial '%.80s'", owner.serial);
    }
    char *kept = arena_format(work->arena, "%s/earlier-%.8s", work->folder, owner.sha256);
    status = kept == NULL ? faults_memory(work->faults) : folder_make(kept, work->faults);
    for (size_t i = 0; i < PAPERS && status == OK; i++) {
        char *from = path_in(work, work->folder, paper_names[i]), *to = path_in(work, kept, paper_names[i]);
        status = from == NULL || to == NULL ? faults_memory(work->faults) : file_move(from, to, work->faults);
    }
    work->papers->kept = status == OK ? kept : NULL;
    return status;
}

/* --- staging --- */

static enum status sheet_text(const struct result *result, FILE *to)
{
    return render_sheet_text(result, false, to);
}

static enum status points_csv(const struct result *result, FILE *to)
{
    render_points_csv(result, to);
    return OK;
}

/* Renders into memory. *text is freed by the caller, also upon failure. */
static enum status rendered(const struct work *work, enum status (*render)(const struct result *, FILE *), char **text,
                            size_t *length)
{
    FILE *to = memory_stream_open(text, length);
    if (to == NULL) {
        return faults_memory(work->faults);
    }
    bool good = render(work->result, to) == OK && ferror(to) == 0;
    good = fclose(to) == 0 && good;
    return good ? OK : faults_memory(work->faults);
}

static char *staged_path(const struct work *work, const char *name)
{
    return arena_format(work->arena, "%s/%zu.%s", work->order->scratch, work->order->number, name);
}

static void seal_paper(const struct work *work, const char *name, const char *bytes, size_t length)
{
    char hex[65];
    sha256_hex(bytes, length, hex);
    (void)fprintf(work->seal, "%s  %s\n", hex, name); /* into memory: checked when it is closed */
}

static enum status stage(const struct work *work, const char *name, const char *bytes, size_t length)
{
    const char *path = staged_path(work, name);
    return path == NULL ? faults_memory(work->faults) : file_stage(path, bytes, length, work->faults);
}

static enum status stage_text(const struct work *work, const char *name,
                              enum status (*render)(const struct result *, FILE *))
{
    char *text = NULL;
    size_t length = 0;
    enum status status = rendered(work, render, &text, &length);
    if (status == OK) {
        status = stage(work, name, text, length);
        seal_paper(work, name, text, length);
    }
    free(text);
    return status;
}

static enum status stage_json(const struct work *work)
{
    char *text = NULL;
    size_t length = 0;
    if (render_json(work->result, false, &text, &length) != OK) {
        return faults_memory(work->faults);
    }
    enum status status = stage(work, json_name, text, length);
    seal_paper(work, json_name, text, length);
    free(text);
    return status;
}

/* Where the digits of a PDF's creation date begin; NULL when it has none. */
static char *creation_date(char *bytes, size_t length)
{
    static const char key[] = "/CreationDate (D:";
    enum { DIGITS = 14 };
    for (char *at = bytes; at != NULL;) {
        size_t left = length - (size_t)(at - bytes);
        if (left > sizeof key + DIGITS && memcmp(at, key, sizeof key - 1) == 0) {
            return at + sizeof key - 1;
        }
        at = left > 1 ? memchr(at + 1, key[0], left - 1) : NULL;
    }
    return NULL;
}

enum status pdf_finish(const char *path, const struct date *date, struct arena *arena, char **bytes, size_t *length,
                       struct faults *faults)
{
    if (access(path, F_OK) != 0) {
        return faults_add(faults, E_CHILD, (struct place){.file = path},
                          "was not drawn, though gnuplot reports no error");
    }
    enum status status = file_read(path, LARGEST_PAPER, arena, bytes, length, faults);
    if (status != OK) {
        return status;
    }
    /* gnuplot does not always tell of a write that failed at the end. */
    if (*length < 16 || memcmp(*bytes, "%PDF-", 5) != 0 || memcmp(*bytes + *length - 6, "%%EOF\n", 6) != 0) {
        return faults_add(faults, E_FILE, (struct place){.file = path}, "cannot be written: it came out cut short");
    }
    char *digits = creation_date(*bytes, *length), stamp[64] = "20000101000000";
    if (digits == NULL) {
        return OK;
    }
    if (date->known) {
        (void)snprintf(stamp, sizeof stamp, "%04d%02d%02d000000", date->year, date->month, date->day);
    }
    memcpy(digits, stamp, 14);
    return file_patch(path, (size_t)(digits - *bytes), stamp, 14, faults);
}

/* The sheet's drawn papers: its plot is drawn once for both. */
static enum status stage_drawn(const struct work *work)
{
    char *pdf = NULL, *html = NULL;
    size_t pdf_length = 0, html_length = 0;
    enum status status =
        render_sheet_drawn(work->result, work->order->press, &pdf, &pdf_length, &html, &html_length, work->faults);
    if (status == OK) {
        status = stage(work, pdf_name, pdf, pdf_length);
        seal_paper(work, pdf_name, pdf, pdf_length);
    }
    if (status == OK) {
        status = stage(work, html_name, html, html_length);
        seal_paper(work, html_name, html, html_length);
        work->papers->drawn = status == OK;
    }
    free(pdf);
    free(html);
    return status;
}

static enum status stage_all(struct work *work)
{
    static const struct {
        const char *name;
        enum status (*render)(const struct result *, FILE *);
    } texts[] = {{"points.csv", points_csv},
                 {"curves.dat", render_curves_data},
                 {"curves.gp", render_curves_script},
                 {"sheet.txt", sheet_text}};
    enum status status = OK;
    for (size_t i = 0; i < sizeof texts / sizeof texts[0] && status == OK; i++) {
        status = stage_text(work, texts[i].name, texts[i].render);
    }
    if (status == OK) {
        status = stage_json(work);
    }
    bool drawn = work->order->press != NULL && work->order->press->gnuplot != NULL;
    return status == OK && drawn ? stage_drawn(work) : status;
}

/* The result's own texts may go before the papers are published. */
static bool remember(struct work *work)
{
    struct papers *papers = work->papers;
    *papers = (struct papers){
        .folder = arena_text(work->arena, work->order->folder, strlen(work->order->folder)),
        .serial = arena_text(work->arena, work->result->serial, strlen(work->result->serial)),
        .scratch = work->order->scratch,
        .number = work->order->number,
        .sealed = work->order->inputs != NULL,
    };
    memcpy(papers->sha256, work->result->log.sha256, sizeof papers->sha256);
    return papers->folder != NULL && papers->serial != NULL;
}

enum status papers_stage(const struct papers_order *order, struct arena *arena, struct papers *papers,
                         struct faults *faults)
{
    char *seal = NULL;
    size_t length = 0;
    struct work work = {.order = order, .result = order->result, .papers = papers, .arena = arena, .faults = faults};
    if (!remember(&work) || (work.seal = memory_stream_open(&seal, &length)) == NULL) {
        return faults_memory(faults);
    }
    if (order->inputs != NULL) {
        (void)fprintf(work.seal, "# inputs %s\n", order->inputs);
    }
    enum status status = stage_all(&work);
    bool good = ferror(work.seal) == 0;
    good = fclose(work.seal) == 0 && good;
    if (status == OK && papers->sealed) {
        status = good ? stage(&work, seal_name, seal, length) : faults_memory(faults);
    }
    free(seal);
    return status;
}

/* --- publishing --- */

static struct work publishing(struct papers *papers, struct papers_order *order, struct arena *arena,
                              struct faults *faults)
{
    *order = (struct papers_order){.scratch = papers->scratch, .number = papers->number};
    return (struct work){.order = order, .papers = papers, .folder = papers->folder, .arena = arena, .faults = faults};
}

static enum status place(const struct work *work, const char *name)
{
    const char *from = staged_path(work, name), *to = path_in(work, work->folder, name);
    return from == NULL || to == NULL ? faults_memory(work->faults) : file_place(from, to, work->faults);
}

static enum status take_away(const struct work *work, const char *name)
{
    const char *path = path_in(work, work->folder, name);
    return path == NULL ? faults_memory(work->faults) : file_remove(path, work->faults);
}

enum status papers_publish(struct papers *papers, struct arena *arena, struct faults *faults)
{
    struct papers_order order;
    struct work work = publishing(papers, &order, arena, faults);
    enum status status = folder_make(papers->folder, faults);
    status = status == OK ? take_away(&work, seal_name) : status;
    status = status == OK ? keep_earlier(&work) : status;
    for (size_t i = 0; i < PAPERS && status == OK; i++) {
        if (strcmp(paper_names[i], json_name) != 0) {
            bool drawn = strcmp(paper_names[i], pdf_name) == 0 || strcmp(paper_names[i], html_name) == 0;
            bool missing = !papers->drawn && drawn;
            status = missing ? take_away(&work, paper_names[i]) : place(&work, paper_names[i]);
        }
    }
    return status;
}

enum status papers_seal(struct papers *papers, struct arena *arena, struct faults *faults)
{
    struct papers_order order;
    struct work work = publishing(papers, &order, arena, faults);
    enum status status = place(&work, json_name);
    return status == OK && papers->sealed ? place(&work, seal_name) : status;
}

/* One line of a seal: 64 digits, two spaces, a name. Returns: the name, or NULL when the paper is not as sealed. */
static const char *sealed_paper(const char *folder, char *line, struct arena *arena)
{
    char hex[65], *bytes = NULL;
    size_t length = 0;
    if (strlen(line) < 67 || line[64] != ' ' || line[65] != ' ' || strchr(line + 66, '/') != NULL) {
        return NULL;
    }
    const char *path = arena_format(arena, "%s/%s", folder, line + 66);
    if (path == NULL || file_read(path, LARGEST_PAPER, arena, &bytes, &length, &(struct faults){0}) != OK) {
        return NULL;
    }
    sha256_hex(bytes, length, hex);
    return strncmp(hex, line, 64) == 0 ? line + 66 : NULL;
}

bool papers_whole(const char *folder, const char *inputs)
{
    struct arena arena = {0};
    char *text = NULL, first[96];
    size_t length = 0, whole = 0;
    (void)snprintf(first, sizeof first, "# inputs %s", inputs);
    const char *path = arena_format(&arena, "%s/%s", folder, seal_name);
    bool good = path != NULL && access(path, F_OK) == 0 &&
                file_read(path, LARGEST_PAPER, &arena, &text, &length, &(struct faults){0}) == OK;
    char *rest = text, *line = good ? strtok_r(rest, "\n", &rest) : NULL;
    good = line != NULL && strcmp(line, first) == 0;
    while (good && (line = strtok_r(rest, "\n", &rest)) != NULL) {
        good = sealed_paper(folder, line, &arena) != NULL;
        whole++;
    }
    arena_release(&arena);
    return good && whole == PAPERS;
}

enum status papers_write(const struct result *result, const char *out, struct press *press, const char *scratch,
                         struct arena *arena, struct papers *papers, struct faults *faults)
{
    struct papers_order order = {.result = result, .press = press, .scratch = scratch};
    *papers = (struct papers){0};
    enum status status = papers_folder(out, result->serial, arena, &order.folder, faults);
    if (status == OK) {
        status = papers_stage(&order, arena, papers, faults);
    }
    enum status drawn = status == E_CHILD ? status : OK;
    status = drawn == OK ? status : OK;
    status = status == OK ? files_sync(scratch, faults) : status;
    status = status == OK ? papers_publish(papers, arena, faults) : status;
    status = status == OK ? files_sync(scratch, faults) : status;
    status = status == OK ? papers_seal(papers, arena, faults) : status;
    status = status == OK ? files_sync(scratch, faults) : status;
    return status != OK ? status : drawn;
}
