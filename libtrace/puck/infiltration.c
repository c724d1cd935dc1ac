/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A sharp wetting front; see the header for the sources. */
#include <shottrace/puck/infiltration.h>

#include <math.h>

double shot_infiltration_time(double dp, double permeability, double porosity, double length,
                              double viscosity) {
    return viscosity * porosity * length * length / (2 * permeability * dp);
}

double shot_infiltration_depth(double dp, double permeability, double porosity, double time,
                               double viscosity) {
    return sqrt(2 * permeability * dp * time / (viscosity * porosity));
}
