/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One frequency of a Fourier transform. */
#include <shottrace/signal/goertzel.h>

#include <math.h>

#include "signal/pi.h"

/* The recurrence s_i = x_i + 2 cos(w) s_{i-1} - s_{i-2} is run on s_i and on its difference to the
 * sample before (w near 0) or its sum with it (w near pi), because 2 cos(w) rounds away what
 * distinguishes w from 0 or pi. */
shot_status shot_goertzel_init(shot_goertzel *g, double frequency) {
    if (!isfinite(frequency))
        return SHOT_ERR_RANGE;
    const double f = frequency - floor(frequency);
    const double half = SHOT_PI * f;
    const int upper = cos(2 * half) < 0;
    *g = (shot_goertzel){
        .frequency = f,
        .factor = upper ? 4 * cos(half) * cos(half) : -4 * sin(half) * sin(half),
        .upper = upper,
    };
    return SHOT_OK;
}

void shot_goertzel_push(shot_goertzel *g, double x) {
    if (g->upper) {
        g->step = x + g->factor * g->state - g->step;
        g->state = g->step - g->state;
    } else {
        g->step = x + g->factor * g->state + g->step;
        g->state = g->state + g->step;
    }
    g->count++;
}

void shot_goertzel_find(const shot_goertzel *g, double *re, double *im) {
    /* y = s_{n-1} - exp(-jw) s_{n-2} = sum x_i exp(jw (n - 1 - i)), written with the step. */
    const double w = 2 * SHOT_PI * g->frequency;
    const double sign = g->upper ? -1 : 1;
    const double y_re = -sign * g->factor / 2 * g->state + sign * cos(w) * g->step;
    const double y_im = sign * (sin(w) * g->state - sin(w) * g->step);
    if (g->count == 0) {
        *re = *im = 0;
        return;
    }
    const double cycles = fmod(g->frequency * (double)(g->count - 1), 1);
    const double c = cos(2 * SHOT_PI * cycles), s = sin(2 * SHOT_PI * cycles);
    *re = y_re * c + y_im * s;
    *im = y_im * c - y_re * s;
}
