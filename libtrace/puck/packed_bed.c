/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Kozeny-Carman permeability and Ergun's equation; see the header for the sources. */
#include <shottrace/puck/packed_bed.h>

double shot_packed_bed_permeability(double diameter, double porosity, double constant) {
    const double grains = 1 - porosity;
    return diameter * diameter * porosity * porosity * porosity / (constant * grains * grains);
}

shot_ergun shot_packed_bed_ergun(double diameter, double porosity, double velocity,
                                 double viscosity, double density) {
    const double grains = 1 - porosity;
    const double e3 = porosity * porosity * porosity;
    return (shot_ergun){
        .viscous = 150 * viscosity * grains * grains * velocity / (e3 * diameter * diameter),
        .inertial = 1.75 * density * grains * velocity * velocity / (e3 * diameter),
        .reynolds = density * velocity * diameter / (viscosity * grains),
    };
}
