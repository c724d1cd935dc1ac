/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The walk that piecewise interpolants share: a place in rising sample times that only moves
 * forward. */
#ifndef SHOT_SIGNAL_CURSOR_H
#define SHOT_SIGNAL_CURSOR_H

#include <stddef.h>

/* Move *i forward to the interval that holds `at`: t[*i] <= at, and at < t[*i + 1] or *i is the
 * last sample.  0 where `at` lies before the first or after the last of the n samples. */
static inline int cursor_seek(const double *t, size_t n, double at, size_t *i) {
    while (*i + 1 < n && t[*i + 1] <= at)
        ++*i;
    return n > 0 && at >= t[0] && (*i + 1 < n || at == t[*i]);
}

#endif
