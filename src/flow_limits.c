#include "flow_limits.h"

#include <stdio.h>

void limit_say(struct flow_limits *limits, const char *text)
{
    if (limits != NULL && limits->count < FLOW_LIMITS_KEPT) {
        (void)snprintf(limits->text[limits->count++], FLOW_LIMIT_TEXT, "%s", text);
    }
}

void limit_range(struct flow_limits *limits, struct limited what, double low, double high)
{
    bool too_low = !(what.value >= low * (1.0 - limit_rounding));
    bool too_high = !(what.value <= high * (1.0 + limit_rounding));
    if (too_low || too_high) {
        char text[FLOW_LIMIT_TEXT];
        (void)snprintf(text, sizeof text, "%s = %.6g%s is %s %.6g%s (%s)", what.name, what.value, what.unit,
                       too_low ? "below" : "above", too_low ? low : high, what.unit, what.source);
        limit_say(limits, text);
    }
}
