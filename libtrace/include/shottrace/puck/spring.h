/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A spring on a piston: the pressure of a spring lever falls linearly with the volume delivered,
 * whatever the flow (Hooke's law).
 *
 *     double p = shot_spring_pressure(9e5, 1e4, area, 36e-6);
 *
 * In time the fall is linear only at constant flow; over a bed of constant resistance R it is
 * exponential, p0 exp(-t / (R C)) with the compliance C = A^2 / k.  SI units throughout.
 */
#ifndef SHOTTRACE_PUCK_SPRING_H
#define SHOTTRACE_PUCK_SPRING_H

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Pressure in Pa after `delivered` m3; never below 0.
 *   start       pressure before anything is delivered, Pa
 *   stiffness   of the spring, N/m, > 0
 *   area        of the piston, m2, > 0 */
SHOT_API double shot_spring_pressure(double start, double stiffness, double area, double delivered);

/* Compliance C = A^2 / k in m3/Pa: the volume delivered for each pascal lost. */
SHOT_API double shot_spring_compliance(double stiffness, double area);

#ifdef __cplusplus
}
#endif
#endif
