/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Darcy's law: slow flow through a porous bed is proportional to the pressure gradient.
 *
 *     double q = shot_darcy_flow(9e5, 1e-14, area, 0.015, viscosity);
 *
 * Q = k A dp / (mu L).  Source: Darcy 1856, 'Les fontaines publiques de la ville de Dijon';
 * Bear 1972, 'Dynamics of Fluids in Porous Media', ch. 5.  SI units throughout.
 */
#ifndef SHOTTRACE_PUCK_DARCY_H
#define SHOTTRACE_PUCK_DARCY_H

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Flow in m3/s.
 *   dp             pressure difference in Pa
 *   permeability   m2, > 0
 *   area, length   of the bed, m2 and m, > 0
 *   viscosity      Pa s, > 0 */
SHOT_API double shot_darcy_flow(double dp, double permeability, double area, double length,
                                double viscosity);

/* Permeability in m2 that explains a flow (m3/s) under dp (Pa). */
SHOT_API double shot_darcy_permeability(double flow, double dp, double area, double length,
                                        double viscosity);

/* Hydraulic resistance dp/Q in Pa s/m3: mu L / (k A).  1e11 of them are 1 bar.s/ml. */
SHOT_API double shot_darcy_resistance(double permeability, double area, double length,
                                      double viscosity);

#ifdef __cplusplus
}
#endif
#endif
