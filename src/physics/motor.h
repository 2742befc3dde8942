/* motor.h - shaft power, speed and current of a motor from its load curve
 */
#ifndef DUTYPROOF_MOTOR_H
#define DUTYPROOF_MOTOR_H

#include "tables/bay.h"

/* Shaft power, W, at an input power within the curve: monotone interpolation (Steffen 1990), between two load points a
 * straight line. Absent outside the curve, never extrapolated; absent where the curve is no curve (fewer than two load
 * points, or powers that do not rise strictly). No allocation: it may be called as often as wanted. */
struct quantity motor_shaft_power(const struct motor *motor, double input_power_w);

/* Speed, rpm, at an input power, at rated frequency, from the load points that state one. Absent outside these. */
struct quantity motor_speed(const struct motor *motor, double input_power_w);

/* Input power, W, at which the motor delivers a shaft power: the inverse of motor_shaft_power. Absent outside the
 * curve. */
struct quantity motor_input_power(const struct motor *motor, double shaft_power_w);

#endif
