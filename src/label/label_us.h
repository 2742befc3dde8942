/* label_us.h - the pump energy index
 */
#ifndef DUTYPROOF_LABEL_US_H
#define DUTYPROOF_LABEL_US_H

#include "label/label_parts.h"

/* Fills the label of a unit, or refuses. */
void label_us(struct labelling *labelling);

struct us_motor {
    double rated_power_w, efficiency; /* of full load, fraction */
};

/* Efficiency of the standard pump at best efficiency, fraction. Source: 10 CFR 431 subpart Y, appendix A (from memory,
 * confirm). */
double us_standard_efficiency(double speed_rpm, double stages, double flow_m3s, double head_m, double c);

/* Losses of the motor at a shaft power. Source: the same (from memory, confirm). */
double us_motor_loss_w(const struct us_motor *motor, double shaft_power_w);

/* Mean driver input power over the loads: of the pump (bare-pump route), and of the standard pump. */
double us_rating_w(const struct us_motor *motor, const struct label_loads *loads);
double us_standard_rating_w(const struct us_motor *motor, const struct label_loads *loads, double standard_efficiency);

#endif
