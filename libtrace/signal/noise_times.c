/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Spacing and spans, and the weights of neighbours in each span. */
#include "signal/noise_times.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "signal/median_of_present.h"
#include "signal/pseudo_residual.h"
#include "signal/wide.h"

/* At least three distances, and more while they are within the time in which a shot's curves stay
 * straight. */
enum { LEAST_SPANS = 3 };

size_t noise_spans(double spacing) {
    size_t spans = LEAST_SPANS;
    while (spans < NOISE_MOST_SPANS &&
           spacing * (double)((size_t)1 << spans) <= NOISE_STRAIGHT_TIME)
        spans++;
    return spans;
}

double noise_median_spacing(const double *restrict t, size_t n, double *restrict work) {
    for (size_t i = 1; i < n; i++)
        work[i - 1] = t[i] - t[i - 1];
    return median_of_present(work, n - 1);
}

static bool make_room(noise_times *times, size_t room) {
    if (room <= times->room)
        return true;
    double *t = room > SIZE_MAX / sizeof *t ? NULL : realloc(times->t, room * sizeof *t);
    if (t == NULL)
        return false;
    times->t = t;
    times->room = room;
    return true;
}

SHOT_WIDE static void find_weights(const double *restrict t, size_t n, size_t span,
                                   double *restrict share, double *restrict scale) {
    for (size_t i = 0; i + 2 * span < n; i++) {
        share[i] = pseudo_residual_share(t + i, span);
        scale[i] = pseudo_residual_scale(share[i]);
    }
}

static double *share_of(const noise_times *times, size_t k) {
    return times->t + (1 + 2 * k) * times->n;
}

bool noise_times_hold(noise_times *times, const double *t, size_t n) {
    if (times->n == n && memcmp(times->t, t, n * sizeof *t) == 0)
        return true;
    times->n = 0;
    if (n > SIZE_MAX / 2 / (1 + 2 * NOISE_MOST_SPANS) || !make_room(times, 2 * n))
        return false;
    times->spacing = noise_median_spacing(t, n, times->t);
    times->spans = noise_spans(times->spacing);
    if (!make_room(times, (1 + 2 * times->spans) * n))
        return false;
    memcpy(times->t, t, n * sizeof *t);
    times->n = n;
    for (size_t k = 0; k < times->spans; k++)
        find_weights(t, n, (size_t)1 << k, share_of(times, k), share_of(times, k) + n);
    return true;
}

SHOT_WIDE static void find_residuals(const double *restrict y, size_t n, size_t span,
                                     const double *restrict share, const double *restrict scale,
                                     double *restrict out) {
    for (size_t i = 0; i + 2 * span < n; i++)
        out[i] = pseudo_residual_of(y + i, span, share[i], scale[i]);
}

void noise_times_residuals(const noise_times *times, const double *y, size_t k, double *out) {
    const double *share = share_of(times, k);
    find_residuals(y, times->n, (size_t)1 << k, share, share + times->n, out);
}

void noise_times_free(noise_times *times) {
    free(times->t);
    *times = (noise_times){0};
}
