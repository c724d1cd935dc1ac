/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Water entering a dry bed behind a sharp front, at constant pressure.
 *
 *     double t = shot_infiltration_time(3e5, 1e-14, 0.4, 0.015, viscosity);
 *
 * The wet part alone resists, so that the front moves like the square root of time.
 * Source: Green & Ampt 1911, 'Studies on soil physics', J. Agric. Sci. 4(1):1-24 (without gravity
 * and capillarity); Washburn 1921, Phys. Rev. 17(3):273-283.  SI units throughout.
 */
#ifndef SHOTTRACE_PUCK_INFILTRATION_H
#define SHOTTRACE_PUCK_INFILTRATION_H

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Seconds until the front has gone `length` m into the bed: mu e L^2 / (2 k dp).
 *   dp             pressure behind the front, Pa, > 0
 *   permeability   of the wet bed, m2, > 0
 *   porosity       share of the volume that the water fills, 0 < e <= 1
 *   viscosity      Pa s, > 0 */
SHOT_API double shot_infiltration_time(double dp, double permeability, double porosity,
                                       double length, double viscosity);

/* Depth of the front in m after `time` s: the inverse of the above. */
SHOT_API double shot_infiltration_depth(double dp, double permeability, double porosity,
                                        double time, double viscosity);

#ifdef __cplusplus
}
#endif
#endif
