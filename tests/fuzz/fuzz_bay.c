/* bay_read: all tables of a bay, whatever they hold */
#include "fuzz.h"

#include "tables/bay.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    static struct faults faults;
    struct arena arena = {0};
    struct bay bay = {0};
    faults = (struct faults){0};
    enum status status = bay_read(fuzz_bay(data, size), &arena, &bay, &faults);
    MUST((status == OK) == (faults.count == 0) && status != E_MEMORY);
    for (size_t i = 0; status == OK && i < bay.model_count; i++) {
        const struct model *model = &bay.models[i];
        MUST(model->duty_count > 0 && model->name[0] != '\0' && bay_model(&bay, model->name) != NULL);
    }
    for (size_t i = 0; status == OK && i < bay.motor_count; i++) {
        for (size_t k = 1; k < bay.motors[i].count; k++) {
            MUST(bay.motors[i].input_power_w[k] > bay.motors[i].input_power_w[k - 1]);
            MUST(bay.motors[i].shaft_power_w[k] > bay.motors[i].shaft_power_w[k - 1]);
        }
    }
    arena_release(&arena);
    return 0;
}
