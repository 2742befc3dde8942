#include "run/identity.h"

#include "base/clock.h"
#include "base/files.h"
#include "base/text.h"

#include <string.h>

struct work {
    const struct unit_request *request;
    struct arena *arena;
    struct result *result;
    struct faults *faults;
};

static const char *first_stated(const char *a, const char *b)
{
    if (a != NULL && a[0] != '\0') {
        return a;
    }
    return b != NULL ? b : "";
}

/* A log that names no serial is known by its file's name, without folder and ending. */
static enum status name_by_file(struct work *work)
{
    const char *name = file_base(work->request->log_path);
    const char *serial = arena_text(work->arena, name, log_name_length(name));
    if (serial == NULL || note_add(&work->result->notes, work->arena, NOTE_INPUT,
                                   "the log states no serial; its file name stands in") != OK) {
        return faults_memory(work->faults);
    }
    work->result->serial = serial;
    return OK;
}

/* What a list and the log both state must agree: one of them is of another unit. */
static enum status agree(struct work *work)
{
    const struct unit_request *request = work->request;
    const struct log *log = &work->result->log;
    struct place at = {.file = request->log_path};
    const char *serial = first_stated(request->serial, log->serial), *model = first_stated(request->model, log->model);
    if (!request->listed) {
        return OK;
    }
    if (log->serial != NULL && strcmp(serial, log->serial) != 0) {
        return faults_add(work->faults, E_INPUT, at,
                          "serial is '%.60s' in the log and '%.60s' in the list, expected one", log->serial, serial);
    }
    if (log->model != NULL && !name_equal(model, log->model)) {
        return faults_add(work->faults, E_INPUT, at,
                          "model is '%.60s' in the log and '%.60s' in the list, expected one", log->model, model);
    }
    if (log->tested.known && request->tested.known && date_compare(&log->tested, &request->tested) != 0) {
        return faults_add(work->faults, E_INPUT, at,
                          "tested is %04d-%02d-%02d in the log and %04d-%02d-%02d in the list, expected one time",
                          log->tested.year, log->tested.month, log->tested.day, request->tested.year,
                          request->tested.month, request->tested.day);
    }
    return OK;
}

/* As requested, else as the log states, else as its time stamps tell. */
static enum status date_test(struct work *work)
{
    struct result *result = work->result;
    const struct log *log = &result->log;
    char now[CLOCK_TEXT];
    result->tested = work->request->tested.known ? work->request->tested : log->tested;
    if (!result->tested.known && log->first_stamp.known) {
        result->tested = log->first_stamp;
        if (note_add(&result->notes, work->arena, NOTE_INPUT, "the log's first time stamp dates the test") != OK) {
            return faults_memory(work->faults);
        }
    }
    if (!result->tested.known || !clock_is_ahead(&result->tested)) {
        return OK;
    }
    return faults_add(work->faults, E_INPUT, (struct place){.file = work->request->log_path},
                      "tested on %04d-%02d-%02d, but the clock shows %s: correct the date, or the computer's clock",
                      result->tested.year, result->tested.month, result->tested.day, clock_text(now));
}

/* Serial, model and tester: as requested, else as the log says. */
static enum status identify(struct work *work)
{
    struct result *result = work->result;
    const struct unit_request *request = work->request;
    result->serial = first_stated(request->serial, result->log.serial);
    if (result->serial[0] == '\0' && name_by_file(work) != OK) {
        return E_MEMORY;
    }
    result->tester = first_stated(request->tester, result->log.tester);
    result->remarks = first_stated(request->remarks, NULL);
    const char *name = first_stated(request->model, result->log.model);
    struct place at = {.file = request->log_path};
    if (name[0] == '\0') {
        if (work->result->bay->model_count != 1) {
            return faults_add(work->faults, E_INPUT, at,
                              "the model is not stated, expected a line '# model: NAME' or --model NAME");
        }
        name = work->result->bay->models[0].name;
        enum status status =
            note_add(&result->notes, work->arena, NOTE_INPUT, "the log states no model; the bay's only model is taken");
        if (status != OK) {
            return faults_memory(work->faults);
        }
    }
    result->model = bay_model(work->result->bay, name);
    if (result->model == NULL) {
        return faults_add(work->faults, E_INPUT, at, "model '%.80s' is not in models.csv", name);
    }
    return OK;
}

enum status unit_identify(const struct unit_request *request, struct arena *arena, struct result *result,
                          struct faults *faults)
{
    struct work work = {.request = request, .arena = arena, .result = result, .faults = faults};
    enum status status = agree(&work);
    status = status == OK ? date_test(&work) : status;
    return status == OK ? identify(&work) : status;
}
