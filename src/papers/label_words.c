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
    (void)snprintf(out, FIGURE_TEXT, "%.20s (%.5f)", figure_index(label->index_printed, printed), label->index.value);
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
    int used = snprintf(out, LABEL_TEXT, "%.60s needs %.2f %%: %.2f points", margin->class_name,
                        margin->efficiency.value * 100.0, fabs(margin->margin.value) * 100.0);
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
    (void)snprintf(out, FIGURE_TEXT, "%+.2f", difference.value * 100.0);
    return out;
}
