/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Darcy's law; see the header for the sources. */
#include <shottrace/puck/darcy.h>

double shot_darcy_flow(double dp, double permeability, double area, double length,
                       double viscosity) {
    return permeability * area * dp / (viscosity * length);
}

double shot_darcy_permeability(double flow, double dp, double area, double length,
                               double viscosity) {
    return flow * viscosity * length / (area * dp);
}

double shot_darcy_resistance(double permeability, double area, double length, double viscosity) {
    return viscosity * length / (permeability * area);
}
