#include "papers/label_words.h"
#include "base/text.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

char *label_class_text(const struct label_result *label, char out[LABEL_TEXT])
{
    if (label->scheme == NULL) {
        out[0] = '\0';
    } else if (!label->known) {
        (void)snprintf(out, LABEL_TEXT, "none: %.500s", label->why != NULL ? label->why : "");
    } else {
        const char *failed = label->duty_failed ? "; the unit fails its guarantee: no claim to it" : "";
        (void)(label->undecided ? snprintf(out, LABEL_TEXT, "%.60s, undecided (%.60s to %.60s)%s", label->class_name,
                                           label->class_low, label->class_high, failed)
                                : snprintf(out, LABEL_TEXT, "%.60s%s", label->class_name, failed));
    }
    return out;
}

char *label_index_text(const struct label_result *label, char out[FIGURE_TEXT])
{
    char printed[FIGURE_TEXT];
    if (!label->known) {
        return text_put(out, FIGURE_TEXT, "-");
    }
    /* Cut towards the worse, so that no edge shows as reached that is not; 1e-4 of the last digit is arithmetic. */
    double scaled = label->index.value * 1e5;
    double cut = label->less_is_better ? ceil(scaled - 1e-4) : floor(scaled + 1e-4);
    (void)snprintf(out, FIGURE_TEXT, "%.20s (%.5f)", figure_index(label->index_printed, printed), cut / 1e5);
    return out;
}

char *label_summary(const struct label_result *label, char out[LABEL_TEXT])
{
    char class[LABEL_TEXT], index[FIGURE_TEXT];
    (void)label_class_text(label, class);
    if (label->known) {
        (void)snprintf(out, LABEL_TEXT, "%.200s, index %s, by %.100s", class, figure_index(label->index_printed, index),
                       label->scheme);
    } else {
        (void)snprintf(out, LABEL_TEXT, "%.500s", class);
    }
    return out;
}

char *label_margin_text(const struct label_margin *margin, struct quantity hours, char out[LABEL_TEXT])
{
    if (margin->class_name == NULL || !margin->margin.known || !margin->efficiency.known) {
        out[0] = '\0';
        return out;
    }
    double points = fabs(margin->margin.value) * 100.0;
    int decimals = 2;
    while (decimals < 6 && points > 0.0 && points * pow(10.0, decimals) < 0.5) {
        decimals++;
    }
    int used = snprintf(out, LABEL_TEXT, "%.60s needs %.*f %%: %.*f points", margin->class_name, decimals,
                        margin->efficiency.value * 100.0, decimals, points);
    if (margin->power_w.known) {
        used +=
            snprintf(out + used, LABEL_TEXT - (size_t)used, ", %.0f W at the duty point", fabs(margin->power_w.value));
    }
    if (margin->power_w.known && hours.known) {
        used += snprintf(out + used, LABEL_TEXT - (size_t)used, ", %.0f kWh in %.0f h a year",
                         fabs(label_energy_kwh(margin->power_w.value, hours.value)), hours.value);
    }
    (void)snprintf(out + used, LABEL_TEXT - (size_t)used, margin->margin.value < 0.0 ? " short" : " to spare");
    return out;
}

char *points_text(struct quantity difference, char out[FIGURE_TEXT])
{
    if (!difference.known) {
        return text_put(out, FIGURE_TEXT, "-");
    }
    return figure_signed(difference.value * 100.0, 2, out);
}
