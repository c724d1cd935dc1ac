/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Trapped air above the bed: the soft cushion that makes pressure rise late and with a knee.
 *
 *     double v = shot_gas_volume(20e-6, 101325, 1001325);     2.02e-6 m3
 *
 * Isothermal compression (Boyle): p V is constant.  Pressures are absolute.  SI units or any
 * others that fit each other.
 */
#ifndef SHOTTRACE_PUCK_GAS_H
#define SHOTTRACE_PUCK_GAS_H

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Volume that is left of `volume` at absolute pressure `from` when it is brought to `to` (> 0). */
SHOT_API double shot_gas_volume(double volume, double from, double to);

/* Compliance -dV/dp at absolute pressure `to`, of a gas that had `volume` at `from`:
 * from volume / to^2. */
SHOT_API double shot_gas_compliance(double volume, double from, double to);

#ifdef __cplusplus
}
#endif
#endif
