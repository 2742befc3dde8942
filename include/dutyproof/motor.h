/* motor.h - shaft power, speed and current of a motor from its load curve
 */
#ifndef DUTYPROOF_MOTOR_H
#define DUTYPROOF_MOTOR_H

#include "dutyproof/bay.h"

/* Shaft power, W, at an input power within the curve (monotone interpolation, Steffen 1990, by GSL). Absent outside it: never
 * extrapolated. */
struct quantity motor_shaft_power(const struct motor *motor, double input_power_w);

/* Speed, rpm, at an input power, at rated frequency. Absent outside the curve or where the curve states no speed. */
struct quantity motor_speed(const struct motor *motor, double input_power_w);

/* Input power, W, at which the motor delivers a shaft power. Absent outside the curve. */
struct quantity motor_input_power(const struct motor *motor, double shaft_power_w);

#endif
