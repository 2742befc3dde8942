/* alloc BAY LOG - fails every allocation in turn, once and from then on, through a unit's whole way: the bay, the log,
 * the result, every paper but the drawing. Each failure must be told, must leak nothing, and no result may come out
 * changed.
 *
 * malloc and its kin are replaced here, for the libraries too. Under a sanitizer, which replaces them itself, only the
 * project's own calls are met (ld's --wrap). What GSL itself loses when an allocation of its own fails is not counted.
 */
#define _GNU_SOURCE /* dladdr, RTLD_NEXT */

#include "base/memory_stream.h"
#include "papers/render.h"
#include "run/unit.h"

#include <dlfcn.h>
#include <errno.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_linalg.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#ifdef WRAPPED
#define REAL(name) __real_##name
#define OURS(name) __wrap_##name
#else
#define REAL(name) __libc_##name
#define OURS(name) name
#endif
void *REAL(malloc)(size_t size);
void *REAL(calloc)(size_t count, size_t size);
void *REAL(realloc)(void *memory, size_t size);
void REAL(free)(void *memory);
void *OURS(malloc)(size_t size);
void *OURS(calloc)(size_t count, size_t size);
void *OURS(realloc)(void *memory, size_t size);
void OURS(free)(void *memory);

static struct {
    size_t calls, fail_at;         /* 0: none fails */
    bool for_good, spared, in_gsl; /* in_gsl: the call that failed was one of GSL's own */
    long live;
} heap;

static bool from_gsl(void *caller)
{
    Dl_info about;
    return dladdr(caller, &about) != 0 && about.dli_fname != NULL && strstr(about.dli_fname, "libgsl") != NULL;
}

/* GSL 2.7 does not look whether its work vector here was allocated: the program would end by a signal. */
int gsl_linalg_bidiag_decomp(gsl_matrix *a, gsl_vector *tau_u, gsl_vector *tau_v)
{
    int (*next)(gsl_matrix *, gsl_vector *, gsl_vector *);
    void *found = dlsym(RTLD_NEXT, "gsl_linalg_bidiag_decomp");
    memcpy(&next, &found, sizeof next);
    heap.spared = true;
    int failed = next(a, tau_u, tau_v);
    heap.spared = false;
    return failed;
}

static bool fails(void *caller)
{
    if (heap.spared) {
        return false;
    }
    heap.calls++;
    bool now = heap.fail_at != 0 && (heap.calls == heap.fail_at || (heap.for_good && heap.calls > heap.fail_at));
    if (now && !heap.in_gsl) {
        heap.in_gsl = from_gsl(caller);
    }
    errno = now ? ENOMEM : errno;
    return now;
}

void *OURS(malloc)(size_t size)
{
    void *memory = fails(__builtin_return_address(0)) ? NULL : REAL(malloc)(size);
    heap.live += memory != NULL;
    return memory;
}

void *OURS(calloc)(size_t count, size_t size)
{
    void *memory = fails(__builtin_return_address(0)) ? NULL : REAL(calloc)(count, size);
    heap.live += memory != NULL;
    return memory;
}

void *OURS(realloc)(void *old, size_t size)
{
    void *memory = fails(__builtin_return_address(0)) ? NULL : REAL(realloc)(old, size);
    heap.live += memory != NULL && old == NULL;
    return memory;
}

void OURS(free)(void *memory)
{
    heap.live -= memory != NULL;
    REAL(free)(memory);
}

/* The papers of one run; text NULL: none came out. */
struct outcome {
    enum status status;
    struct faults faults;
    char *text;
    size_t length;
};

static bool render(const struct result *result, struct outcome *outcome)
{
    char *json = NULL;
    size_t json_length = 0;
    if (render_json(result, false, &json, &json_length) != OK) {
        return false;
    }
    FILE *to = memory_stream_open(&outcome->text, &outcome->length);
    bool good =
        to != NULL && fwrite(json, 1, json_length, to) == json_length && render_sheet_text(result, false, to) == OK;
    if (good) {
        render_points_csv(result, to);
        good = render_curves_data(result, to) == OK && render_curves_script(result, to) == OK &&
               render_sheet_html(result, to) == OK;
    }
    good = to != NULL && ferror(to) == 0 && good;
    good = to != NULL && fclose(to) == 0 && good;
    free(json);
    return good;
}

static void reduce(const char *folder, const char *log, struct outcome *outcome)
{
    struct arena arena = {0};
    struct bay bay = {0};
    struct result result = {0};
    struct unit_request request = {.log_path = log, .monte_carlo_trials = 10};
    *outcome = (struct outcome){0};
    outcome->status = bay_read(folder, &arena, &bay, &outcome->faults);
    if (outcome->status == OK) {
        outcome->status = unit_reduce(&bay, &request, &arena, &result, &outcome->faults);
    }
    if (outcome->status == OK && !render(&result, outcome)) {
        outcome->status = faults_memory(&outcome->faults);
    }
    arena_release(&arena);
    if (outcome->status != OK) {
        free(outcome->text);
        outcome->text = NULL;
    }
}

static const char *wrong(const struct outcome *outcome, const struct outcome *whole)
{
    if (outcome->status == OK) {
        bool same = outcome->length == whole->length && memcmp(outcome->text, whole->text, whole->length) == 0;
        bool told = strstr(outcome->text, "exit error 'out of memory") != NULL; /* a drawing that ends itself */
        return same || told ? NULL : "the papers came out changed, and nothing was told";
    }
    if (outcome->faults.count == 0) {
        return "it failed without a message";
    }
    for (size_t i = 0; i < outcome->faults.count && i < FAULTS_KEPT; i++) {
        const char *text = outcome->faults.text[i];
        if (strstr(text, "emory") == NULL) {
            return "the message is about something else than memory";
        }
    }
    return NULL;
}

/* Returns: the number of allocations that a whole run makes; 0 when something went wrong. */
static size_t torture(const char *folder, const char *log, bool for_good, const struct outcome *whole)
{
    static struct outcome outcome;
    size_t wrongs = 0;
    for (size_t n = 1;; n++) {
        long before = heap.live;
        heap.calls = 0;
        heap.for_good = for_good;
        heap.in_gsl = false;
        heap.fail_at = n;
        reduce(folder, log, &outcome);
        bool reached = heap.calls >= n;
        heap.fail_at = 0;
        const char *what = wrong(&outcome, whole);
        free(outcome.text);
        what = what == NULL && heap.live != before && !heap.in_gsl ? "memory is lost" : what;
        if (what != NULL) {
            (void)fprintf(
                stderr, "%s: allocation %zu failed%s: %s: status %d '%s'\n", log, n, for_good ? " for good" : "", what,
                (int)outcome.status,
                outcome.faults.text[outcome.faults.count == 0 ? 0 : (outcome.faults.count - 1) % FAULTS_KEPT]);
            wrongs++;
        }
        if (!reached) {
            return wrongs == 0 ? n - 1 : 0;
        }
    }
}

int main(int argc, char **argv)
{
    static struct outcome warm, whole;
    if (argc != 3) {
        (void)fputs("usage: alloc BAY LOG\n", stderr);
        return 2;
    }
    (void)gsl_set_error_handler_off();
    reduce(argv[1], argv[2], &warm); /* what the C library keeps for good is allocated now */
    reduce(argv[1], argv[2], &whole);
    if (whole.status != OK) {
        (void)faults_print(&whole.faults, stderr);
        return 2;
    }
    size_t once = torture(argv[1], argv[2], false, &whole), for_good = torture(argv[1], argv[2], true, &whole);
    (void)printf("torture: %s: %zu allocations, each failed once and for good\n", argv[2], once);
    free(warm.text);
    free(whole.text);
    return once > 0 && for_good > 0 ? 0 : 1;
}
