/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Liquid water at about atmospheric pressure, 0 to 110 degC.
 *
 *     double mu = shot_water_viscosity(93);     3.037e-4 Pa s
 *
 * Between 1 and 10 bar the density changes by 0.05 % and the viscosity by less than 0.1 %, so the
 * pressure of a brewing machine is left out.
 */
#ifndef SHOTTRACE_PUCK_WATER_H
#define SHOTTRACE_PUCK_WATER_H

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Density in kg/m3 at `celsius` (ITS-90).  NaN outside 0 to 110 degC.
 * Source: Kell 1975, 'Density, thermal expansivity, and compressibility of liquid water from 0 to
 * 150 degC', J. Chem. Eng. Data 20(1):97-105, eq. 16, which is on the scale of 1968;
 * t68 = 1.00024 t90 (Saunders 1990, WOCE Newsletter 10).  Within 0.005 kg/m3 of IAPWS-95. */
SHOT_API double shot_water_density(double celsius);

/* Viscosity in Pa s at `celsius` and 0.1 MPa.  NaN outside 0 to 110 degC.
 * Source: IAPWS SR6-08(2011), 'Revised Supplementary Release on Properties of Liquid Water at
 * 0.1 MPa', viscosity equation; its stated uncertainty is 1 %. */
SHOT_API double shot_water_viscosity(double celsius);

#ifdef __cplusplus
}
#endif
#endif
