/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Density and viscosity of liquid water; see the header for the sources. */
#include <shottrace/puck/water.h>

#include <math.h>

#include <shottrace/signal/portable.h>

static int liquid(double celsius) {
    return celsius >= 0 && celsius <= 110;
}

double shot_water_density(double celsius) {
    if (!liquid(celsius))
        return NAN;
    const double t = 1.00024 * celsius; /* scale of 1968 */
    static const double over[] = {
        -280.54253e-12, 105.56302e-9, -46.170461e-6, -7.9870401e-3, 16.945176, 999.83952,
    };
    double sum = 0;
    for (int i = 0; i < 6; i++)
        sum = sum * t + over[i];
    return sum / (1 + 16.879850e-3 * t);
}

double shot_water_viscosity(double celsius) {
    if (!liquid(celsius))
        return NAN;
    static const struct {
        double factor, power;
    } term[] = {{280.68, -1.9}, {511.45, -7.7}, {61.131, -19.6}, {0.45903, -40}};
    const double log_x = shot_portable_log((celsius + 273.15) / 300);
    double micro = 0;
    for (int i = 0; i < 4; i++)
        micro += term[i].factor * shot_portable_exp(term[i].power * log_x);
    return micro * 1e-6;
}
