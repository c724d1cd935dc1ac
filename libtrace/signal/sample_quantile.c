/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Quantiles of a sample. */
#include <shottrace/signal/sample_quantile.h>

#include <math.h>

static void swap(double *a, double *b) {
    double keep = *a;
    *a = *b;
    *b = keep;
}

/* Let x[root] sink until no child within x[0..n-1] is larger. */
static void sift(double *x, size_t root, size_t n) {
    for (size_t child; (child = 2 * root + 1) < n; root = child) {
        if (child + 1 < n && x[child + 1] > x[child])
            child++;
        if (x[root] >= x[child])
            return;
        swap(&x[root], &x[child]);
    }
}

size_t shot_sample_quantile_sort(double *x, size_t n) {
    size_t present = 0;
    for (size_t i = 0; i < n; i++)
        if (!isnan(x[i]))
            swap(&x[i], &x[present++]);
    for (size_t i = present / 2; i-- > 0;)
        sift(x, i, present);
    for (size_t last = present; last > 1; last--) {
        swap(&x[0], &x[last - 1]);
        sift(x, 0, last - 1);
    }
    return present;
}

double shot_sample_quantile(const double *sorted, size_t n, double p) {
    if (n == 0 || !(p >= 0 && p <= 1))
        return NAN;
    double place = (double)(n - 1) * p;
    size_t i = (size_t)place;
    if (i + 1 >= n)
        return sorted[n - 1];
    return sorted[i] + (place - (double)i) * (sorted[i + 1] - sorted[i]);
}
