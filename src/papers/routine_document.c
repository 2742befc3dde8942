#include "papers/routine_document.h"

/* Values are in SI; a rise of temperature has the unit K of its own. */
static const char *si_unit(const struct unit *unit)
{
    switch (unit->dimension) {
    case DIM_RESISTANCE: return "ohm";
    case DIM_VOLTAGE: return "V";
    case DIM_CURRENT: return "A";
    case DIM_POWER: return "W";
    case DIM_PRESSURE: return "Pa";
    case DIM_RATIO: return "fraction";
    default: return unit->name;
    }
}

static json_t *check_value(struct json_document *doc, const struct routine_check *check)
{
    json_t *object = json_object();
    put_text(doc, object, "item", check->name);
    put_quantity(doc, object, "value", check->value);
    put_quantity(doc, object, "limit_low", check->limit_low);
    put_quantity(doc, object, "limit_high", check->limit_high);
    put_text(doc, object, "unit", si_unit(check->unit));
    put_text(doc, object, "verdict", verdict_name(check->verdict));
    put_text(doc, object, "reason", check->reason);
    put_text(doc, object, "detail", check->detail);
    put_text(doc, object, "source", check->source);
    return object;
}

json_t *routine_value(struct json_document *doc, const struct routine_result *routine)
{
    json_t *object = json_object(), *checks = json_array();
    put_date(doc, object, "tested", &routine->row->tested);
    put_text(doc, object, "tester", routine->row->tester);
    for (size_t i = 0; i < routine->check_count; i++) {
        append_value(doc, checks, check_value(doc, &routine->checks[i]));
    }
    put_value(doc, object, "checks", checks);
    put_text(doc, object, "verdict", verdict_name(routine->verdict));
    return object;
}
