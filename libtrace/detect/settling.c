/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "detect/settling.h"

#include <math.h>

static const double times[SETTLING_TIMES] = {0.25, 0.35, 0.5, 0.7, 1, 1.4, 2, 2.8}; /* s, T */
static const double powers[SETTLING_POWERS] = {1, 1.4, 2};

static double settled(int shape, double u) {
    return u > 0 ? -expm1(-pow(u / times[shape % SETTLING_TIMES], powers[shape / SETTLING_TIMES]))
                 : 0;
}

void settling_curves_fill(settling_curves *out) {
    for (int shape = 0; shape < SETTLING_SHAPES; shape++)
        for (int i = 0; i <= SETTLING_STEPS; i++)
            out->share[shape][i] = settled(shape, i * SETTLING_STEP);
}

static double share_at(const double *share, double u) {
    const double place = u / SETTLING_STEP;
    if (place <= 0)
        return 0;
    if (place >= SETTLING_STEPS)
        return share[SETTLING_STEPS];
    const size_t i = (size_t)place;
    return share[i] + (place - (double)i) * (share[i + 1] - share[i]);
}

/* By Simpson's rule. */
void settling_curves_over_gate(const settling_curves *plain, double gate, settling_curves *out) {
    for (int shape = 0; shape < SETTLING_SHAPES; shape++)
        for (int i = 0; i <= SETTLING_STEPS; i++) {
            const double *share = plain->share[shape], u = i * SETTLING_STEP;
            out->share[shape][i] =
                (share[i] + 4 * share_at(share, u - gate / 2) + share_at(share, u - gate)) / 6;
        }
}

double settling_centre(int shape, double h) {
    double most = 0, at = 0;
    for (double u = 0; u <= h; u += SETTLING_STEP) {
        const double change = settled(shape, u + h) - 2 * settled(shape, u) + settled(shape, u - h);
        if (change > most) {
            most = change;
            at = u;
        }
    }
    return at;
}

settling_fit settling_fit_at(const settling_curves *curves, int shape, const double *t,
                             const double *x, size_t n, double start) {
    const double *share = curves->share[shape];
    const double count = (double)n;
    double g = 0, gg = 0, y = 0, yy = 0, gy = 0;
    for (size_t i = 0; i < n; i++) {
        const double value = share_at(share, t[i] - start);
        g += value;
        gg += value * value;
        y += x[i];
        yy += x[i] * x[i];
        gy += value * x[i];
    }
    const double own = gg - g * g / count;
    if (n < 5 || t[0] > start || !(own > 1e-9))
        return (settling_fit){.squares = INFINITY, .freedom = 1, .step_se = INFINITY};
    const double step = (gy - g * y / count) / own;
    return (settling_fit){.squares = fmax(0, yy - y * y / count - step * step * own),
                          .freedom = fmax(1, count - 4),
                          .before = (y - step * g) / count,
                          .step = step,
                          .step_se = sqrt(1 / own)};
}

double settling_echo(const settling_curves *curves, int shape, const double *t, const double *x,
                     size_t n, double start, const settling_fit *fit) {
    double last = 0, squares = 0, products = 0;
    for (size_t i = 0; i < n; i++) {
        const double left =
            x[i] - fit->before - fit->step * share_at(curves->share[shape], t[i] - start);
        squares += left * left;
        products += left * last;
        last = left;
    }
    return squares > 0 ? products / squares : 0;
}
