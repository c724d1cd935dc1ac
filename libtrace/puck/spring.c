/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A spring lever; see the header for the source. */
#include <shottrace/puck/spring.h>

double shot_spring_pressure(double start, double stiffness, double area, double delivered) {
    const double pressure = start - stiffness / (area * area) * delivered;
    return pressure > 0 ? pressure : 0;
}

double shot_spring_compliance(double stiffness, double area) {
    return area * area / stiffness;
}
