/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A small sharp-edged hole in the way of the water: the restrictor ("jet") of a brewing machine.
 *
 *     double q = shot_orifice_flow(9e5, 0.6e-3, 0.60, 998.2);     7.20e-6 m3/s
 *
 * Q = Cd A sqrt(2 dp / rho).  Sharp edges have a discharge coefficient Cd of about 0.60 to 0.62
 * at high Reynolds number (ISO 5167-2); a drilled jet has 0.6 to 0.8 depending on its edge and
 * length (common practice, no source), so that a flow computed here is good to 20 % at best.
 * SI units throughout.
 */
#ifndef SHOTTRACE_PUCK_ORIFICE_H
#define SHOTTRACE_PUCK_ORIFICE_H

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Flow in m3/s, of the sign of the pressure difference.
 *   dp          pressure difference in Pa
 *   diameter    of the hole in m, > 0
 *   discharge   discharge coefficient, > 0
 *   density     kg/m3, > 0 */
SHOT_API double shot_orifice_flow(double dp, double diameter, double discharge, double density);

/* The coefficient K of dp = K Q^2, in Pa s2/m6: K = rho / (2 (Cd A)^2). */
SHOT_API double shot_orifice_coefficient(double diameter, double discharge, double density);

/* Flow in m3/s through an orifice (coefficient K >= 0) and a linear resistance (R >= 0 in Pa s/m3,
 * not both 0) in series, driven by dp >= 0 Pa: the positive root of K Q^2 + R Q = dp. */
SHOT_API double shot_orifice_series_flow(double dp, double coefficient, double resistance);

#ifdef __cplusplus
}
#endif
#endif
