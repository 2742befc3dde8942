/* label_loads.h - the loads at which a pump index is taken
 */
#ifndef DUTYPROOF_LABEL_LOADS_H
#define DUTYPROOF_LABEL_LOADS_H

#include "label/label.h"

/* The share of required efficiency at 75, 100 and 110 % of best-efficiency flow, and those shares of flow. */
extern const double label_load_share[LABEL_LOADS], label_load_flow[LABEL_LOADS];

/* A pump at the loads, at nominal speed. */
struct label_loads {
    double flow_m3s[LABEL_LOADS], head_m[LABEL_LOADS], shaft_power_w[LABEL_LOADS], input_power_w[LABEL_LOADS];
};

#endif
