/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Knows how the states of several series move through the same filter, side by side in the lanes of
 * vectors. */
#ifndef SHOT_DETECT_CONDUCTANCE_LANES_H
#define SHOT_DETECT_CONDUCTANCE_LANES_H

#include "detect/conductance.h"
#include "signal/wide.h"

enum { STATES = 4, LANES = CONDUCTANCE_LANES };

/* y = by_g g + by_c c + e, of the states (g, d, c, e). */
typedef struct observation {
    double by_g, by_c;
} observation;

static inline observation observe(const conductance_data *data, size_t i) {
    return data->summed ? (observation){0, 1} : (observation){data->pressure[i], data->rate[i]};
}

/* States of several series. */
typedef struct lanes {
    double g[LANES], d[LANES], c[LANES], e[LANES];
} lanes;

static inline void move_lanes(const conductance_step *f, lanes *x) {
    for (int k = 0; k < LANES; k++) {
        x->c[k] += f->by_level * x->g[k] + f->by_slope * x->d[k];
        x->g[k] += f->dt * x->d[k];
        x->e[k] *= f->left;
    }
}

/* The gains of a sample in one lane, for all. */
typedef struct lane_gains {
    double by[STATES * LANES];
} lane_gains;

static inline lane_gains gains_of_one(const double *gain) {
    lane_gains out;
    for (int s = 0; s < STATES; s++)
        for (int k = 0; k < LANES; k++)
            out.by[s * LANES + k] = gain[s * LANES];
    return out;
}

static inline void correct(const double gain[LANES], const double v[LANES], double state[LANES]) {
    for (int k = 0; k < LANES; k++)
        state[k] += gain[k] * v[k];
}

/* From figures to innovations, in place.  gain [STATES][LANES].  Series and states that nobody else
 * can point to become vectors. */
static inline void innovate(observation h, const double *gain, lanes *x, double series[LANES]) {
    double v[LANES];
    for (int k = 0; k < LANES; k++)
        v[k] = series[k] - (h.by_g * x->g[k] + h.by_c * x->c[k] + x->e[k]);
    correct(gain, v, x->g);
    correct(gain + LANES, v, x->d);
    correct(gain + 2 * LANES, v, x->c);
    correct(gain + 3 * LANES, v, x->e);
    for (int k = 0; k < LANES; k++)
        series[k] = v[k];
}

#endif
