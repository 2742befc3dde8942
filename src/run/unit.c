#include "run/unit.h"

#include "certainty/monte_carlo.h"
#include "certainty/uncertainty.h"
#include "physics/chain.h"
#include "run/asked.h"
#include "run/cautions.h"
#include "run/identity.h"
#include "run/unit_causes.h"

#include <string.h>

/* What the stages of one unit share. */
struct work {
    const struct bay *bay;
    const struct unit_request *request;
    struct arena *arena;
    struct result *result;
    struct faults *faults;
    struct settled settled;
    struct chain chain;
};

/* Reads the log and finds its points. */
static enum status read_log(struct work *work)
{
    struct result *result = work->result;
    struct settler *settler = settle_new(&work->request->settle, work->arena);
    if (settler == NULL) {
        return faults_memory(work->faults);
    }
    struct log_sink sink = {.context = settler, .take = settle_take};
    enum status status =
        log_read(work->request->log_path, work->bay, sink, work->arena, &result->log, &result->notes, work->faults);
    if (status == OK) {
        status = settle_finish(settler, &result->log, &work->settled, &result->notes, work->faults);
    }
    settle_release(settler);
    result->kind = work->settled.kind;
    return status;
}

/* The mean readings of each point. Water temperature changes slowly and is often read once: its mean over the
 * test stands in at the points where it was not read, and the papers say so. */
static enum status take_means(struct work *work)
{
    struct chain *chain = &work->chain;
    double sum_c = 0.0;
    size_t read = 0;
    for (size_t i = 0; i < chain->count; i++) {
        const struct settled_point *point = &work->settled.points[i];
        for (int channel = 0; channel < CHANNEL_COUNT; channel++) {
            if (point->channels[channel].n > 0) {
                chain->means[i].value[channel] = point->channels[channel].mean;
                chain->means[i].present |= UINT32_C(1) << channel;
            }
        }
        chain->means[i].logged = work->result->log.channels;
        chain->usable[i] = point->steady;
        if (point->channels[CH_WATER_TEMPERATURE].n > 0) {
            sum_c += point->channels[CH_WATER_TEMPERATURE].mean;
            read++;
        }
    }
    if (read == 0 || read == chain->count) {
        return OK;
    }
    for (size_t i = 0; i < chain->count; i++) {
        if (work->settled.points[i].channels[CH_WATER_TEMPERATURE].n == 0) {
            chain->means[i].value[CH_WATER_TEMPERATURE] = sum_c / (double)read;
            chain->means[i].present |= UINT32_C(1) << CH_WATER_TEMPERATURE;
        }
    }
    return note_add(&work->result->notes, work->arena, NOTE_INPUT,
                    "water temperature was read at %zu of %zu points; its mean stands in at the others", read,
                    chain->count);
}

static enum status identify(struct work *work)
{
    return unit_identify(work->request, work->arena, work->result, work->faults);
}

/* Mean readings to curves. */
static enum status compute(struct work *work)
{
    struct result *result = work->result;
    struct chain *chain = &work->chain;
    result->site = site_of(&work->bay->rig);
    if (chain_init(chain, work->arena, work->settled.count) != OK || take_means(work) != OK) {
        return faults_memory(work->faults);
    }
    chain->bay = work->bay;
    chain->model = result->model;
    chain->site = &result->site;
    chain->basis = work->bay->rig.speed_basis;
    if (chain_run(chain) != OK) {
        return faults_memory(work->faults);
    }
    result->basis = chain->basis;
    result->curves = chain->curves;
    result->best_known = curves_best_efficiency(&result->curves, &result->best);
    return OK;
}

static const char *why_not_fitted(const struct settled_point *settled, const struct operating_point *as_tested,
                                  const struct rated_point *at_rated)
{
    if (!settled->steady) {
        return settled->why_unsteady != NULL ? settled->why_unsteady : "not steady";
    }
    if (!at_rated->translated) {
        return at_rated->why;
    }
    if (!as_tested->flow_m3s.known) {
        return "no flow";
    }
    return as_tested->head_m.known ? NULL : "no head";
}

static enum status list_points(struct work *work)
{
    struct result *result = work->result;
    const struct chain *chain = &work->chain;
    const struct grade *grade = result->model->duties[0].grade;
    const struct grade_class *grade_class = grade != NULL ? grade_class_of(&work->bay->grades, grade) : NULL;
    result->points = arena_alloc(work->arena, chain->count, sizeof *result->points);
    if (result->points == NULL) {
        return faults_memory(work->faults);
    }
    result->point_count = chain->count;
    for (size_t i = 0; i < chain->count; i++) {
        struct point *point = &result->points[i];
        point->settled = &work->settled.points[i];
        point->as_tested = chain->as_tested[i];
        point->at_rated = chain->at_rated[i];
        point->remarks = chain->remarks[i];
        point->fluctuation = point_fluctuation_of(chain, i, point->settled, grade_class);
        point->spread.within = true;
        if (grade != NULL && result->kind == LOG_READING_SHEET && point->settled->readings > 1) {
            point->spread = point_spread_of(chain, i, point->settled,
                                            grade_spread_of(&work->bay->grades, grade, point->settled->readings));
        }
        point->why_not_fitted = why_not_fitted(point->settled, &point->as_tested, &point->at_rated);
        point->fitted = point->why_not_fitted == NULL;
    }
    return OK;
}

/* The reason that most plainly explains why there is no head curve; NULL: the curve's own says it. */
static const char *why_no_curve(const struct result *result)
{
    for (size_t i = 0; i < result->point_count; i++) {
        if (!result->points[i].fitted && result->points[i].settled->steady) {
            const struct reduce_remarks *remarks = &result->points[i].remarks;
            if (remarks->flow != NULL) {
                return remarks->flow;
            }
            return remarks->head != NULL ? remarks->head : result->points[i].why_not_fitted;
        }
    }
    return NULL;
}

/* Holds the readings to what a set can give, and looks for the slip behind those that it cannot. */
static enum status refuse(struct work *work)
{
    struct result *result = work->result;
    enum status status =
        impossible_find(&work->chain, &work->settled, work->arena, &result->impossible, &result->doubtful);
    if (status == OK && result->impossible.count > 0) {
        struct arena scratch = {0};
        status = likely_slip_find(&work->chain, &work->settled, &result->impossible, &scratch, &result->slip);
        arena_release(&scratch);
    }
    return status == OK ? OK : faults_memory(work->faults);
}

static enum status judge(struct work *work)
{
    struct result *result = work->result;
    const struct model *model = result->model;
    result->duties = arena_alloc(work->arena, model->duty_count, sizeof *result->duties);
    if (result->duties == NULL) {
        return faults_memory(work->faults);
    }
    result->duty_count = model->duty_count;
    result->performance = VERDICT_PASS;
    bool refused = result->impossible.count > 0;
    const char *why = refused ? "the log holds readings that no such set can give" : why_no_curve(result);
    for (size_t i = 0; i < model->duty_count; i++) {
        result->duties[i] = judge_duty(model, &model->duties[i], refused ? NULL : &result->curves, why);
        result->performance = verdict_worse(result->performance, result->duties[i].verdict);
    }
    result->performance = refused ? VERDICT_NOT_JUDGED : result->performance;
    return OK;
}

/* Names the checks whose verdict is another where the curves take the degree that the points speak for nearly as well.
 */
static enum status doubt_degrees(struct work *work)
{
    struct result *result = work->result;
    const struct model *model = result->model;
    struct chain other = work->chain;
    bool rivals = false;
    for (int k = 0; k < CURVE_COUNT; k++) {
        const struct curve *curve = &result->curves.of[k];
        other.degree[k] = curve->rival > 0 ? curve->rival : curve->known ? curve->degree : 0;
        rivals = rivals || curve->rival > 0;
    }
    if (!rivals) {
        return OK;
    }
    if (chain_fit(&other) != OK) {
        return faults_memory(work->faults);
    }
    for (size_t d = 0; d < result->duty_count; d++) {
        struct duty_result judged = judge_duty(model, &model->duties[d], &other.curves, NULL);
        for (size_t c = 0; c < judged.check_count; c++) {
            enum verdict verdict = result->duties[d].checks[c].verdict;
            bool hangs = verdict != VERDICT_NOT_JUDGED && judged.checks[c].verdict != verdict;
            if (hangs && note_add(&result->notes, work->arena, NOTE_CAUTION,
                                  "the verdict of check %zu at duty point %zu hangs on the degree of the curves: "
                                  "with the degree that the points speak for nearly as well it is '%s'",
                                  c + 1, d + 1, verdict_name(judged.checks[c].verdict)) != OK) {
                return faults_memory(work->faults);
            }
        }
    }
    return OK;
}

/* Overdue when any instrument whose channel the log has was due before the test; else dated after the test when any
 * was; valid when all of them state a due date. */
static enum calibration calibration_of(const struct result *result)
{
    size_t used = 0, dated = 0;
    bool later = false;
    for (size_t i = 0; i < result->bay->instrument_count; i++) {
        const struct instrument *instrument = &result->bay->instruments[i];
        if (!result_uses_instrument(result, instrument)) {
            continue;
        }
        used++;
        if (instrument->due.known && result->tested.known) {
            dated++;
            if (date_compare_days(&result->tested, &instrument->due) > 0) {
                return CALIBRATION_OVERDUE;
            }
        }
        later = later || calibrated_after(result, instrument);
    }
    if (later) {
        return CALIBRATION_AFTER_TEST;
    }
    return used > 0 && dated == used ? CALIBRATION_VALID : CALIBRATION_NOT_STATED;
}

/* A number that the mean readings alone decide (FNV-1a over their bytes), so that a rerun draws the same random
 * numbers, from whatever file the readings came. */
static unsigned long seed_of(const struct chain *chain)
{
    uint32_t seed = UINT32_C(2166136261);
    for (size_t i = 0; i < chain->count; i++) {
        for (int c = 0; c < CHANNEL_COUNT; c++) {
            unsigned char bytes[sizeof(double)] = {0};
            if ((chain->means[i].present >> c & 1U) != 0) {
                memcpy(bytes, &chain->means[i].value[c], sizeof bytes);
            }
            for (size_t b = 0; b < sizeof bytes; b++) {
                seed = (seed ^ bytes[b]) * UINT32_C(16777619);
            }
        }
    }
    return seed;
}

/* Uncertainty stands beside the verdicts, and is found when they are. */
static enum status find_certainty(struct work *work)
{
    struct result *result = work->result;
    const struct grade *grade = result->model->duties[0].grade;
    struct certainty_input input = {.chain = &work->chain,
                                    .settled = &work->settled,
                                    .duties = result->duties,
                                    .duty_count = result->duty_count,
                                    .grade_class = grade != NULL ? grade_class_of(&work->bay->grades, grade) : NULL,
                                    .seed = seed_of(&work->chain)};
    struct certainty *certainty = &result->certainty;
    struct arena scratch = {0};
    enum status status = uncertainty_find(&input, work->arena, &scratch, certainty);
    arena_release(&scratch);
    certainty->guard = guard_answer(certainty, work->request->guard);
    for (size_t i = 0; status == OK && i < result->point_count; i++) {
        result->points[i].uncertainty = certainty->points[i];
    }
    size_t trials = work->request->monte_carlo_trials;
    if (status == OK && trials > 0 && result->impossible.count == 0) {
        status = monte_carlo_run(&input, certainty->scatter_by_residual, trials, &scratch, &certainty->monte_carlo);
        arena_release(&scratch);
    }
    return status == OK ? OK : faults_memory(work->faults);
}

static enum status find_label(struct work *work)
{
    struct label_test test = result_label_test(work->result);
    enum status status = label_find(&test, &(struct label_change){0}, work->arena, &work->result->label);
    return status == OK ? OK : faults_memory(work->faults);
}

static enum status find_routine(struct work *work)
{
    struct result *result = work->result;
    size_t rows;
    const struct routine *row = routine_of(work->bay, result->serial, &rows);
    enum status status = routine_judge(result->model, row, work->arena, &result->routine);
    result->routine.rows = rows;
    result->verdict = result_routine_fails(result) ? VERDICT_FAIL : result->performance;
    return status == OK ? OK : faults_memory(work->faults);
}

/* What was remarked on the bay's tables when they were read, and on the model's rows. */
static enum status note_tables(struct work *work)
{
    const struct model *model = work->result->model;
    for (size_t i = 0; i < model->duty_count; i++) {
        bool unstated = model->duties[i].efficiency.known && !model->duties[i].efficiency_of_stated;
        if (unstated && note_add(&work->result->notes, work->arena, NOTE_INPUT,
                                 "models.csv: 'efficiency of' is not stated for model %s, taken as that of the set",
                                 model->name) != OK) {
            return faults_memory(work->faults);
        }
    }
    const struct notes *notes = &work->bay->notes;
    for (size_t i = 0; i < notes->count; i++) {
        if (note_add(&work->result->notes, work->arena, notes->items[i].kind, "%s", notes->items[i].text) != OK) {
            return faults_memory(work->faults);
        }
    }
    return OK;
}

static enum status find_inputs(struct work *work)
{
    enum status status = inputs_find(work->result, work->arena, &work->result->inputs);
    work->result->asked = asked_text(work->request, work->arena);
    return status == OK && work->result->asked != NULL ? OK : faults_memory(work->faults);
}

enum status unit_reduce(const struct bay *bay, const struct unit_request *request, struct arena *arena,
                        struct result *result, struct faults *faults)
{
    *result = (struct result){.bay = bay};
    struct work work = {.bay = bay, .request = request, .arena = arena, .result = result, .faults = faults};
    enum status (*const stages[])(struct work *) = {read_log,   identify,     compute,       list_points,
                                                    refuse,     judge,        doubt_degrees, find_certainty,
                                                    find_label, find_routine, find_inputs,   note_tables};
    for (size_t i = 0; i < sizeof stages / sizeof stages[0]; i++) {
        enum status status = stages[i](&work);
        if (status != OK) {
            return status;
        }
    }
    result->calibration = calibration_of(result);
    if (cautions_add(result, arena) != OK || unit_causes_find(result, arena) != OK) {
        return faults_memory(faults);
    }
    return OK;
}
