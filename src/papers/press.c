#include "papers/press.h"

#include "papers/pdf/pdf.h"
#include "papers/plot.h"

#include <dlfcn.h>
#include <limits.h>
#include <pthread.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#ifndef DUTYPROOF_LIBDIR
#define DUTYPROOF_LIBDIR "/usr/local/lib/dutyproof"
#endif

static const char module_name[] = "dutyproof_pdf.so";
static const double screen_width_px = 680.0; /* 180 mm, as on paper */

/* --- the module, loaded once --- */

/* The one thing that is shared by all threads: written once, under pthread_once, and only read afterwards. */
static pthread_once_t loaded = PTHREAD_ONCE_INIT;
static const struct pdf_module *module;
static char why_not[PDF_WHY + 80];

/* The folder of the program itself. Returns: false when the system does not say. */
static bool own_folder(char *path, size_t size)
{
    ssize_t length = readlink("/proc/self/exe", path, size - 1);
    if (length <= 0) {
        return false;
    }
    path[length] = '\0';
    char *slash = strrchr(path, '/');
    if (slash != NULL) {
        *slash = '\0';
    }
    return slash != NULL;
}

static void try_module(const char *path)
{
    if (module != NULL || access(path, R_OK) != 0) {
        return;
    }
    void *handle = dlopen(path, RTLD_NOW | RTLD_LOCAL);
    const struct pdf_module *found = handle == NULL ? NULL : dlsym(handle, "dutyproof_pdf");
    const char *said = handle == NULL || found == NULL ? dlerror() : NULL;
    if (found != NULL && found->age == PDF_MODULE_AGE) {
        module = found;
    } else {
        (void)snprintf(why_not, sizeof why_not, "%.*s", PDF_WHY, said != NULL ? said : "it is of another version");
    }
}

static void load_module(void)
{
    char folder[PATH_MAX], path[PATH_MAX + 64];
    const char *named = getenv("DUTYPROOF_PDF");
    if (named != NULL && named[0] != '\0') {
        try_module(named);
        return;
    }
    static const char *const beside[] = {"", "/..", "/../lib/dutyproof"};
    for (size_t i = 0; own_folder(folder, sizeof folder) && i < sizeof beside / sizeof beside[0]; i++) {
        (void)snprintf(path, sizeof path, "%s%s/%s", folder, beside[i], module_name);
        try_module(path);
    }
    try_module(DUTYPROOF_LIBDIR "/dutyproof_pdf.so");
}

static const struct pdf_module *find_module(struct faults *faults)
{
    (void)pthread_once(&loaded, load_module);
    if (module == NULL) {
        (void)faults_add(faults, E_CHILD, (struct place){0},
                         "PDF pages cannot be printed: %s%s; keep it beside the program, and install Pango, Cairo, "
                         "librsvg and libqrencode (Debian: libpangocairo-1.0-0 librsvg2-2 libqrencode4)",
                         why_not[0] != '\0' ? why_not : module_name, why_not[0] != '\0' ? "" : " is not there");
    }
    return module;
}

/* --- printing --- */

/* What the drawing of a plot needs, while a document is printed. */
struct print_work {
    struct press *press;
    struct arena *arena;
    struct faults *faults;
    enum status status;
};

static const char *draw(void *context, struct plot *plot, double width_px, double height_px, size_t *length)
{
    struct print_work *work = context;
    if (work->status == OK) {
        work->status = plot_draw(plot, work->press, width_px, height_px, work->arena, work->faults);
    }
    *length = work->status == OK ? plot->svg_length : 0;
    return work->status == OK ? plot->svg : NULL;
}

static void shape(const struct plot *plot, double *least, double *most)
{
    *least = plot->least;
    *most = plot->most;
}

enum status press_draw(struct press *press, const struct document *document, struct faults *faults)
{
    struct print_work work = {.press = press, .arena = document->arena, .faults = faults};
    for (const struct node *node = document->first; node != NULL; node = node->next) {
        size_t length = 0;
        if (node->kind == NODE_PLOT) {
            double share = (node->plot->least + node->plot->most) / 2.0;
            (void)draw(&work, node->plot, screen_width_px, screen_width_px * share, &length);
        }
    }
    return work.status;
}

enum status press_pdf(struct press *press, const struct document *document, char **bytes, size_t *length, size_t *pages,
                      struct faults *faults)
{
    const struct pdf_module *pdf = document->failed ? NULL : find_module(faults);
    if (pdf == NULL) {
        return document->failed ? faults_memory(faults) : E_CHILD;
    }
    press->printer = press->printer == NULL ? pdf->open() : press->printer;
    if (press->printer == NULL) {
        return faults_memory(faults);
    }
    struct print_work work = {.press = press, .arena = document->arena, .faults = faults};
    const struct pdf_order order = {.document = document, .draw = draw, .context = &work, .shape = shape};
    char why[PDF_WHY] = "";
    bool good = pdf->print(press->printer, &order, bytes, length, pages, why);
    if (work.status != OK) {
        return work.status;
    }
    return good ? OK : faults_add(faults, E_CHILD, (struct place){0}, "a PDF page was not printed: %s", why);
}

enum status press_start(struct press *press, const char *folder, struct faults *faults)
{
    press->folder = folder;
    return gnuplot_start(folder, &press->gnuplot, faults);
}

enum status press_stop(struct press *press, struct faults *faults)
{
    enum status status = gnuplot_stop(press->gnuplot, faults);
    if (press->printer != NULL) {
        module->close(press->printer);
    }
    *press = (struct press){0};
    return status;
}

void press_end(void)
{
    if (module != NULL) {
        module->end();
    }
}
