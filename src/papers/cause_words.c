#include "papers/cause_words.h"

#include <string.h>

/* What the first check can do to a person. Common practice of a test bay; local codes and licensed persons come first.
 */
static const char *caution_words(const struct document *document, enum cause_caution caution)
{
    switch (caution) {
    case CAUTION_TERMINALS:
        return say(document,
                   " (terminals: licensed persons only; isolate, lock off and prove dead before any is touched)");
    case CAUTION_OPEN:
        return say(document,
                   " (before it is opened: isolate, lock off, prove dead, vent the pipe, lift with rated gear)");
    case CAUTION_ROTATE:
        return say(document, " (before the shaft is turned: isolate, lock off, prove dead; never run the set dry)");
    default: return "";
    }
}

/* Names of the twins, "a, b". */
static const char *twins_text(const struct cause_found *found, struct arena *arena)
{
    const char *text = "";
    for (size_t i = 0; i < found->twin_count && text != NULL; i++) {
        text = arena_format(arena, "%s%s%s", text, i > 0 ? ", " : "", found->twins[i]->name);
    }
    return text;
}

static const char *severity_text(const struct cause_found *found, struct arena *arena)
{
    if (!found->severity.known || *found->row->severity_means == '\0') {
        return "";
    }
    return arena_format(arena, " (%s: %.3g)", found->row->severity_means, found->severity.value);
}

const char *cause_text(const struct document *document, const struct cause_found *found, struct arena *arena)
{
    const char *severity = severity_text(found, arena), *twins = twins_text(found, arena);
    if (severity == NULL || twins == NULL) {
        return NULL;
    }
    if (found->seen) {
        return arena_format(arena, say(document, "%s, read directly%s; told by: %s"), found->row->name, severity,
                            found->row->told_by);
    }
    if (found->row->family == FAMILY_NONE) {
        return arena_format(arena, say(document, "no single known cause explains these curves (%.0f %%)"),
                            100.0 * found->probability);
    }
    if (found->twin_count > 0) {
        return arena_format(arena, say(document, "%s, %.0f %%%s; not told from %s. Told by: %s"), found->row->name,
                            100.0 * found->probability, severity, twins, found->row->told_by);
    }
    return arena_format(arena, say(document, "%s, %.0f %%%s"), found->row->name, 100.0 * found->probability, severity);
}

/* A step whose words are these alone. */
static const char *plain_words(const struct document *document, enum step_code code)
{
    switch (code) {
    case STEP_RECORD_RIGHT:
        return say(
            document,
            "put the impossible reading right in the record, or strike it out in corrections.csv, and reduce again");
    case STEP_CALIBRATE:
        return say(document,
                   "calibrate the instruments that are overdue, then test again or state the new certificate");
    case STEP_DATE_RIGHT: return say(document, "the calibration is dated after the test: put the dates right");
    case STEP_FOLLOWS_SUPPLY:
        return say(document,
                   "the unbalance stays with the line: look at fuses, contactor, joints and transformer of the supply");
    case STEP_FOLLOWS_MOTOR:
        return say(document, "the unbalance moves with the lead: look at the motor's winding and its cable joint");
    case STEP_NO_SINGLE_CAUSE:
        return say(
            document,
            "no single known cause explains these curves: read two of the points again, then look for two faults at once");
    case STEP_ROUTINE:
        return say(document,
                   "a routine test of the motor or body fails: do not energise the set before that is put right");
    case STEP_TEST_AGAIN: return say(document, "test again; nothing in the readings says more");
    default: return NULL;
    }
}

struct words {
    const struct document *document;
    const struct next_step *step;
    const struct figure_units *units;
    struct arena *arena;
};

/* A sentence with the value, the limit and their difference in it, in that order. */
static const char *measured(const struct words *words, enum figure figure, const char *fmt)
{
    char value[FIGURE_TEXT], limit[FIGURE_TEXT];
    (void)figure_text(figure, words->units, words->step->value, value);
    (void)figure_text(figure, words->units, words->step->limit, limit);
    return arena_format(words->arena, fmt, value, limit);
}

static const char *overload(const struct words *words, enum figure figure, const char *what)
{
    char over[FIGURE_TEXT], value[FIGURE_TEXT], limit[FIGURE_TEXT], head[FIGURE_TEXT];
    const struct next_step *step = words->step;
    (void)figure_text(figure, words->units, quantity_of(step->value.value - step->limit.value), over);
    (void)figure_text(figure, words->units, step->value, value);
    (void)figure_text(figure, words->units, step->limit, limit);
    (void)figure_text(FIGURE_HEAD, words->units, step->at_head_m, head);
    return step->at_head_m.known
               ? arena_format(
                     words->arena,
                     say(words->document,
                         "at %s the %s is %s over (%s, at most %s): look at trim and friction, or state a higher lowest head"),
                     head, what, over, value, limit)
               : arena_format(words->arena,
                              say(words->document, "the %s is %s over (%s, at most %s): look at trim and friction"),
                              what, over, value, limit);
}

static const char *too_high(const struct words *words)
{
    char above[FIGURE_TEXT];
    (void)figure_text(FIGURE_HEAD, words->units, words->step->value, above);
    return arena_format(
        words->arena,
        say(words->document, "head is %s above the limit: count the stages, check the trim; mind overload at low head"),
        above);
}

static const char *numbered(const struct words *words)
{
    const struct document *document = words->document;
    const struct next_step *step = words->step;
    switch (step->code) {
    case STEP_READ_POINT_AGAIN:
        return arena_format(words->arena, say(document, "read point %zu again: it lies off the curve of the others"),
                            step->point);
    case STEP_MORE_POINTS:
        return arena_format(words->arena,
                            say(document, "%.0f points could be used, a curve needs %.0f: read more points"),
                            step->value.value, step->limit.value);
    case STEP_SUPPLY_RIGHT:
        return arena_format(
            words->arena,
            say(document,
                "the voltage was %.1f %% of rated: put the supply right and test again before the set is opened"),
            100.0 * step->value.value);
    case STEP_FREQUENCY_RIGHT:
        return arena_format(
            words->arena,
            say(document,
                "the frequency was %.1f %% of rated: put the supply right and test again before the set is opened"),
            100.0 * step->value.value);
    case STEP_FEW_GOOD_UNITS:
        return arena_format(
            words->arena,
            say(document,
                "the curves are off, but only %.0f good units of this model are known and %.0f are needed to name more causes; look first at what costs minutes: gauge and its zero, rotation, supply, non-return valve, the set's weight and length"),
            step->value.value, step->limit.value);
    case STEP_MARGINAL:
        return arena_format(
            words->arena,
            say(document,
                "the fail is within the test's own uncertainty (it conforms with %.0f %%): test again before the set is opened"),
            100.0 * step->value.value);
    default: return NULL;
    }
}

static const char *reached(const struct words *words)
{
    const struct document *document = words->document;
    switch (words->step->code) {
    case STEP_LOWER_HEAD:
        return measured(words, FIGURE_HEAD, say(document, "lowest head reached %s, needed %s: open the valve further"));
    case STEP_HIGHER_HEAD:
        return measured(words, FIGURE_HEAD,
                        say(document, "highest head reached %s, needed %s: close the valve further"));
    case STEP_HIGHER_FLOW:
        return measured(words, FIGURE_FLOW,
                        say(document, "highest flow reached %s, needed %s: open the valve further"));
    case STEP_LOWER_FLOW:
        return measured(words, FIGURE_FLOW,
                        say(document, "lowest flow reached %s, needed %s: close the valve further"));
    case STEP_LOW_EFFICIENCY:
        return measured(
            words, FIGURE_EFFICIENCY,
            say(document,
                "efficiency alone is low (%s, at least %s): look at friction, at the rings and at the motor's own losses"));
    case STEP_OVERLOAD_CURRENT: return overload(words, FIGURE_CURRENT, say(document, "current"));
    case STEP_OVERLOAD_POWER: return overload(words, FIGURE_POWER, say(document, "input power"));
    case STEP_TOO_HIGH: return too_high(words);
    default: return NULL;
    }
}

const char *step_text(const struct document *document, const struct next_step *step, const struct figure_units *units,
                      struct arena *arena)
{
    struct words words = {document, step, units, arena};
    const char *text = plain_words(document, step->code);
    if (step->code == STEP_CHECK_CAUSE) {
        text = arena_format(arena, "%s: %s", step->cause->name, step->cause->check_first);
    } else if (text == NULL) {
        text = numbered(&words);
        text = text != NULL ? text : reached(&words);
    }
    return text == NULL ? NULL : arena_format(arena, "%s%s", text, caution_words(document, step->caution));
}
