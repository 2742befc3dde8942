#include "papers/label_document.h"

static json_t *margin_value(struct json_document *doc, const struct label_margin *margin, struct quantity hours)
{
    json_t *object = json_object();
    put_text(doc, object, "class", margin->class_name);
    put_quantity(doc, object, "index", margin->index);
    put_quantity(doc, object, "efficiency", margin->efficiency);
    put_quantity(doc, object, "margin", margin->margin);
    put_quantity(doc, object, "input_power_w", margin->power_w);
    if (hours.known && margin->power_w.known) {
        put_quantity(doc, object, "energy_kwh_a_year",
                     quantity_of(label_energy_kwh(margin->power_w.value, hours.value)));
    }
    return object;
}

static json_t *label_notes(struct json_document *doc, const struct label_result *label)
{
    json_t *array = json_array();
    for (size_t i = 0; i < label->note_count; i++) {
        append_value(doc, array, text_value(doc, label->notes[i]));
    }
    return array;
}

static void put_known(struct json_document *doc, json_t *object, const struct label_result *label,
                      struct quantity hours)
{
    put_text(doc, object, "efficiency_used", label->efficiency_name);
    put_text(doc, object, "period", label->period);
    put_quantity(doc, object, "measured", label->measured);
    put_quantity(doc, object, "threshold", label->threshold);
    put_quantity(doc, object, "index", label->index);
    put_quantity(doc, object, "index_printed", label->index_printed);
    put_quantity(doc, object, "index_low", label->index_low);
    put_quantity(doc, object, "index_high", label->index_high);
    put_value(doc, object, "less_is_better", json_boolean(label->less_is_better));
    put_text(doc, object, "class", label->class_name);
    put_value(doc, object, "undecided", json_boolean(label->undecided));
    if (label->duty_failed) {
        put_value(doc, object, "duty_failed", json_true());
    }
    put_text(doc, object, "class_low", label->class_low);
    put_text(doc, object, "class_high", label->class_high);
    put_quantity(doc, object, "to_next", label->to_next);
    if (label->here.class_name != NULL) {
        put_value(doc, object, "here", margin_value(doc, &label->here, hours));
    }
    if (label->next.class_name != NULL) {
        put_value(doc, object, "next", margin_value(doc, &label->next, hours));
    }
}

json_t *label_value(struct json_document *doc, const struct label_result *label, struct quantity hours)
{
    json_t *object = json_object();
    put_text(doc, object, "scheme", label->scheme);
    if (label->known) {
        put_known(doc, object, label, hours);
    }
    put_text(doc, object, "reason", label->why);
    put_text(doc, object, "source", label->source);
    if (label->note_count > 0) {
        put_value(doc, object, "notes", label_notes(doc, label));
    }
    return object;
}
