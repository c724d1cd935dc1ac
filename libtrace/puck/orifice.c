/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Flow through a sharp-edged orifice; see the header for the sources. */
#include <shottrace/puck/orifice.h>

#include <math.h>

#include "signal/pi.h"

double shot_orifice_flow(double dp, double diameter, double discharge, double density) {
    const double area = SHOT_PI * diameter * diameter / 4;
    const double q = discharge * area * sqrt(2 * fabs(dp) / density);
    return dp < 0 ? -q : q;
}

double shot_orifice_coefficient(double diameter, double discharge, double density) {
    const double effective = discharge * SHOT_PI * diameter * diameter / 4;
    return density / (2 * effective * effective);
}

double shot_orifice_series_flow(double dp, double coefficient, double resistance) {
    /* The root in the form that loses no digits when K is small or 0. */
    return 2 * dp / (resistance + sqrt(resistance * resistance + 4 * coefficient * dp));
}
