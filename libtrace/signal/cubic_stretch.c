/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The monotone cubic at many places at once. */
#include "cubic_stretch.h"

SHOT_WIDE void cubic_inner_slopes(const double *restrict t, const double *restrict y, size_t n,
                                  double *restrict slope) {
    for (size_t i = 0; i + 2 < n; i++) {
        const double h0 = t[i + 1] - t[i], h1 = t[i + 2] - t[i + 1];
        slope[i] = cubic_inner_slope(h0, (y[i + 1] - y[i]) / h0, h1, (y[i + 2] - y[i + 1]) / h1);
    }
}

SHOT_WIDE void cubic_values(const cubic_pieces *restrict p, const double *restrict at, size_t m,
                            double *restrict value) {
    for (size_t i = 0; i < m; i++) {
        const double *t = p->t[i], *y = p->y[i], *slope = p->slope[i];
        const double between = cubic_hermite(t[0], t[1], y[0], y[1], slope[0], slope[1], at[i]);
        const double not_last = at[i] == t[1] ? y[1] : between;
        value[i] = at[i] == t[0] ? y[0] : not_last;
    }
}
