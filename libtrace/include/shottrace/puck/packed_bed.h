/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Beds of packed grains: permeability from grain size, and when Darcy's law stops to hold.
 *
 *     double k = shot_packed_bed_permeability(100e-6, 0.4, SHOT_KOZENY_CARMAN);
 *
 * SI units throughout; porosity is the share of the volume that is not grain.
 */
#ifndef SHOTTRACE_PUCK_PACKED_BED_H
#define SHOTTRACE_PUCK_PACKED_BED_H

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* The two constants in use differ by 20 %: name the one that you take. */
#define SHOT_KOZENY_CARMAN 180.0 /* Carman 1937, Trans. Inst. Chem. Eng. 15:150 */
#define SHOT_BLAKE_KOZENY  150.0 /* the viscous part of Ergun's equation */

/* Permeability in m2: k = d^2 e^3 / (C (1 - e)^2).
 *   diameter   of the grains in m, > 0
 *   porosity   0 < e < 1
 *   constant   SHOT_KOZENY_CARMAN or SHOT_BLAKE_KOZENY */
SHOT_API double shot_packed_bed_permeability(double diameter, double porosity, double constant);

/* The two parts of Ergun's pressure gradient, in Pa/m, and the Reynolds number that tells which
 * rules (inertia shows from about 10).
 * Source: Ergun 1952, 'Fluid flow through packed columns', Chem. Eng. Prog. 48(2):89-94:
 * dp/L = 150 mu (1-e)^2 U / (e^3 d^2) + 1.75 rho (1-e) U^2 / (e^3 d), Re = rho U d / (mu (1-e)). */
typedef struct shot_ergun {
    double viscous, inertial; /* Pa/m */
    double reynolds;
} shot_ergun;

/*   velocity   superficial velocity Q/A in m/s, >= 0 */
SHOT_API shot_ergun shot_packed_bed_ergun(double diameter, double porosity, double velocity,
                                          double viscosity, double density);

#ifdef __cplusplus
}
#endif
#endif
