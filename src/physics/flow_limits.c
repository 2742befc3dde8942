#include "physics/flow_limits.h"

#include <stdio.h>

static void limit_keep(struct flow_limits *limits, struct flow_limit limit)
{
    if (limits != NULL && limits->count < FLOW_LIMITS_KEPT) {
        limits->items[limits->count++] = limit;
    }
}

void limit_say(struct flow_limits *limits, const char *sentence)
{
    limit_keep(limits, (struct flow_limit){.name = sentence, .unit = ""});
}

void limit_range(struct flow_limits *limits, struct limited what, double low, double high)
{
    bool too_low = !(what.value >= low * (1.0 - limit_rounding));
    bool too_high = !(what.value <= high * (1.0 + limit_rounding));
    if (too_low || too_high) {
        limit_keep(limits, (struct flow_limit){.name = what.name,
                                               .unit = what.unit,
                                               .source = what.source,
                                               .value = what.value,
                                               .limit = too_low ? low : high,
                                               .above = !too_low});
    }
}

char *flow_limit_text(const struct flow_limit *limit, double highest, char out[FLOW_LIMIT_TEXT])
{
    char value[48];
    if (limit->source == NULL) {
        (void)snprintf(out, FLOW_LIMIT_TEXT, "%s", limit->name);
        return out;
    }
    int used = snprintf(value, sizeof value, "%.6g", limit->value);
    if (highest > limit->value) {
        (void)snprintf(value + used, sizeof value - (size_t)used, " to %.6g", highest);
    }
    (void)snprintf(out, FLOW_LIMIT_TEXT, "%s = %s%s is %s %.6g%s (%s)", limit->name, value, limit->unit,
                   limit->above ? "above" : "below", limit->limit, limit->unit, limit->source);
    return out;
}
