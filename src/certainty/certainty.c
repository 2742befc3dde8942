#include "certainty/certainty.h"

struct guard guard_answer(const struct certainty *certainty, struct quantity asked)
{
    struct quantity probability = certainty->conformance_probability;
    return (struct guard){.asked = asked,
                          .answered = probability.known,
                          .conforms = probability.known && probability.value >= asked.value};
}
