#include "certainty/uncertainty_budget.h"

struct spread *budget_error(const struct uncertainty_budget *budget, size_t form)
{
    return &budget->certainty->duties[form / NUMBER_COUNT].error[form % NUMBER_COUNT];
}
