/* The star label of agricultural pump sets: measured set efficiency over the minimum for the same duty. */
#include "label/label_star.h"

struct star {
    double minimum, measured, input_power_w;
};

static double index_at(const void *context, double efficiency)
{
    const struct star *star = context;
    return efficiency / star->minimum;
}

static double efficiency_at(const void *context, double index)
{
    const struct star *star = context;
    return index * star->minimum;
}

/* The same water power at the edge's efficiency. */
static double spare_power_w(const void *context, double index)
{
    const struct star *star = context;
    return star->input_power_w * (star->measured / (index * star->minimum) - 1.0);
}

void label_star(struct labelling *labelling)
{
    const struct label_input *input = labelling->input;
    struct label_result *label = labelling->label;
    if (!label_in_scope(labelling, 0.0, 0.0)) {
        return;
    }
    if (!input->model->label_minimum_efficiency.known) {
        (void)label_refuse(labelling,
                           "models.csv does not state 'label minimum efficiency' of model %.60s: "
                           "the smallest set efficiency that the product standard gives for its duty",
                           input->model->name);
        return;
    }
    if (!input->set_efficiency.known || !input->input_power_w.known) {
        (void)label_refuse(labelling, "the set efficiency at the guaranteed flow is not known");
        return;
    }
    struct star star = {.minimum = input->model->label_minimum_efficiency.value,
                        .measured = input->set_efficiency.value,
                        .input_power_w = input->input_power_w.value};
    struct label_scale scale = {.index = index_at(&star, star.measured),
                                .measured = star.measured,
                                .index_at = index_at,
                                .efficiency_at = efficiency_at,
                                .spare_power_w = spare_power_w,
                                .context = &star};
    label->efficiency_name = "set efficiency (wire to water) at the guaranteed flow";
    label_place(labelling, &scale);
    const char *source = input->model->label_minimum_source;
    label_note(labelling, "minimum efficiency %.2f %%: %.200s", star.minimum * 100.0,
               source[0] != '\0' ? source : "its source is not stated in models.csv");
}
