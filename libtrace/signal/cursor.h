/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The walk that piecewise interpolants share: a place in rising sample times that only moves
 * forward. */
#ifndef SHOT_SIGNAL_CURSOR_H
#define SHOT_SIGNAL_CURSOR_H

#include <math.h>
#include <stddef.h>

/* Whether t[0..n) are finite and each is above the one before. */
static inline int times_rise(const double *t, size_t n) {
    size_t bad = 0;
    for (size_t i = 1; i < n; i++)
        bad += !(t[i] > t[i - 1]);
    return bad == 0 && (n == 0 || (isfinite(t[0]) && isfinite(t[n - 1])));
}

/* Whether at[0..m) are finite and none is below the one before. */
static inline int times_do_not_fall(const double *at, size_t m) {
    size_t bad = 0;
    for (size_t k = 1; k < m; k++)
        bad += !(at[k] >= at[k - 1]);
    return bad == 0 && (m == 0 || (isfinite(at[0]) && isfinite(at[m - 1])));
}

/* Move *i forward to the interval that holds `at`: t[*i] <= at, and at < t[*i + 1] or *i is the
 * last sample.  0 where `at` lies before the first or after the last of the n samples. */
static inline int cursor_seek(const double *t, size_t n, double at, size_t *i) {
    while (*i + 1 < n && t[*i + 1] <= at)
        ++*i;
    return n > 0 && at >= t[0] && (*i + 1 < n || at == t[*i]);
}

#endif
