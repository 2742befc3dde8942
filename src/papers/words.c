#include "papers/words.h"

#include "papers/check_words.h"

#include <math.h>
#include <string.h>

const char *say(const struct document *document, const char *english)
{
    (void)document; /* English is the only catalogue yet */
    return english;
}

const char *verdict_mark(const struct document *document, enum verdict verdict)
{
    switch (verdict) {
    case VERDICT_PASS: return say(document, "✔ PASS");
    case VERDICT_FAIL: return say(document, "✘ FAIL");
    case VERDICT_NOT_JUDGED: return say(document, "– NOT JUDGED");
    }
    return "";
}

enum tone verdict_tone(enum verdict verdict)
{
    return verdict == VERDICT_PASS ? TONE_GOOD : verdict == VERDICT_FAIL ? TONE_BAD : TONE_UNSURE;
}

/* How far the curve passes the guaranteed point, in head and flow, each too low or too high. */
static void ellipse_words(const struct document *document, const struct duty_result *duty,
                          const struct figure_units *units, bool fails, char out[CHECK_WORDS])
{
    char head[FIGURE_TEXT], flow[FIGURE_TEXT];
    struct quantity head_m = duty->at_guaranteed_flow.head_m, flow_m3s = duty->at_guaranteed_head.flow_m3s;
    if (!head_m.known || !flow_m3s.known) {
        return;
    }
    double apart_m = head_m.value - duty->duty->head_m.value, apart_m3s = flow_m3s.value - duty->duty->flow_m3s.value;
    (void)figure_text(FIGURE_HEAD, units, quantity_of(fabs(apart_m)), head);
    (void)figure_text(FIGURE_FLOW, units, quantity_of(fabs(apart_m3s)), flow);
    const char *fmt =
        !fails && apart_m < 0.0
            ? say(document, "%s below the guaranteed head and %s below the guaranteed flow, within the tolerance")
        : !fails        ? say(document, "%s above the guaranteed head and %s above the guaranteed flow")
        : apart_m < 0.0 ? say(document, "%s and %s too low, outside the tolerance")
                        : say(document, "%s and %s too high, outside the tolerance");
    (void)snprintf(out, CHECK_WORDS, fmt, head, flow);
}

static void limit_words(const struct document *document, const struct check *check, const struct figure_units *units,
                        char out[CHECK_WORDS])
{
    struct check_figures figures;
    check_figures_of(check, units, &figures);
    const char *margin = figures.margin + (figures.margin[0] == '-' || figures.margin[0] == '+');
    bool low = check->limit_low.known && check->value.value < check->limit_low.value;
    const char *fmt =
        low ? say(document, "%s %s too low: %s, at least %s %s") : say(document, "%s %s too high: %s, at most %s %s");
    (void)snprintf(out, CHECK_WORDS, fmt, margin, figures.unit, figures.value, low ? figures.low : figures.high,
                   figures.unit);
}

char *check_words(struct document *document, const struct check *check, const struct duty_result *duty,
                  const struct figure_units *units, char out[CHECK_WORDS])
{
    bool ellipse = check->item == CHECK_FLOW_AND_HEAD && duty->tolerance.ellipse_flow_m3s > 0.0;
    struct check_words words;
    out[0] = '\0';
    document->failed = check_words_of(check, duty->duty, document->arena, &words) != OK || document->failed;
    if (check->verdict == VERDICT_NOT_JUDGED) {
        (void)snprintf(out, CHECK_WORDS, say(document, "not judged: %.500s"),
                       words.reason[0] != '\0' ? words.reason : say(document, "not measured"));
    } else if (ellipse) {
        ellipse_words(document, duty, units, check->verdict == VERDICT_FAIL, out);
    } else if (check->verdict == VERDICT_FAIL && check->value.known) {
        limit_words(document, check, units, out);
    } else if (check->verdict == VERDICT_FAIL) {
        (void)snprintf(out, CHECK_WORDS, "%.500s", words.where);
    }
    return out;
}

const char *flow_method_words(const struct document *document, enum flow_method method)
{
    switch (method) {
    case FLOW_METER: return say(document, "flow meter");
    case FLOW_ORIFICE: return say(document, "orifice plate");
    case FLOW_VENTURI: return say(document, "venturi tube");
    case FLOW_VENTURI_NOZZLE: return say(document, "venturi nozzle");
    case FLOW_NOZZLE: return say(document, "nozzle");
    case FLOW_V_NOTCH: return say(document, "V-notch weir");
    case FLOW_RECTANGULAR_NOTCH: return say(document, "rectangular notch");
    case FLOW_TANK_VOLUME: return say(document, "volumetric tank");
    case FLOW_TANK_MASS: return say(document, "weighing tank");
    }
    return "";
}

const char *note_words(const struct document *document, enum note_kind kind)
{
    switch (kind) {
    case NOTE_CAUTION: return say(document, "caution");
    case NOTE_INPUT: return say(document, "input");
    }
    return "";
}

const char *safety_words(const struct document *document)
{
    return say(document,
               "Safety: pipework is under pressure, terminals are live: vent, isolate, lock off, prove dead. "
               "Never run the set dry. Lift with rated gear only. Local codes and licensed persons come first.");
}
