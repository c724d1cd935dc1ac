/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "detect/settling.h"

#include <math.h>

static const double lags[SETTLING_LAGS] = {0.25, 0.35, 0.5, 0.7, 1, 1.4, 2, 2.8}; /* s, T */
static const double airs[SETTLING_AIRS] = {0,    0.12, 0.17, 0.24, 0.34,
                                           0.48, 0.68, 0.96, 1.36, 1.92}; /* s */
static const double gives[SETTLING_GIVES] = {0.05, 0.15, 0.4};            /* s */

static double lagged(int shape, double u) {
    return u > 0 ? -expm1(-u / lags[shape]) : 0;
}

/* dx/dt. */
static double filling(const settling_jet *jet, double air, double give, double x) {
    const double into_bed = jet->settled * x / (1 - jet->settled * jet->settled);
    const double squeezed = 1 + jet->b * x;
    return (sqrt(fmax(0, 1 - x)) - into_bed) / (give + air * jet->b / (squeezed * squeezed));
}

/* By the midpoint rule. */
static void fill_room(const settling_jet *jet, double air, double give, double *share) {
    double x = 0;
    for (int i = 0; i <= SETTLING_STEPS; i++) {
        share[i] = (1 - sqrt(fmax(0, 1 - x))) / (1 - jet->settled);
        const double middle = x + 0.5 * SETTLING_STEP * filling(jet, air, give, x);
        x += SETTLING_STEP * filling(jet, air, give, middle);
    }
}

void settling_curves_fill(const settling_jet *jet, settling_curves *out) {
    for (int shape = 0; shape < SETTLING_LAGS; shape++)
        for (int i = 0; i <= SETTLING_STEPS; i++)
            out->share[shape][i] = lagged(shape, i * SETTLING_STEP);
    for (int k = 0; k < SETTLING_ROOMS; k++)
        fill_room(jet, airs[k % SETTLING_AIRS], gives[k / SETTLING_AIRS],
                  out->share[SETTLING_LAGS + k]);
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

/* The area under a curve up to each of its points. */
static void sum_up(const double *share, double *area) {
    area[0] = 0;
    for (int i = 1; i <= SETTLING_STEPS; i++)
        area[i] = area[i - 1] + SETTLING_STEP * (share[i - 1] + share[i]) / 2;
}

void settling_curves_over_gate(const settling_curves *plain, double gate, settling_curves *out) {
    double area[SETTLING_STEPS + 1];
    for (int shape = 0; shape < SETTLING_SHAPES; shape++) {
        const double *share = plain->share[shape];
        sum_up(share, area);
        for (int i = 0; i <= SETTLING_STEPS; i++)
            out->share[shape][i] =
                gate > 0 ? (area[i] - share_at(area, i * SETTLING_STEP - gate)) / gate : share[i];
    }
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
