/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Fisher's exact test of a table of two by two. */
#include <shottrace/signal/fisher_exact.h>

#include <math.h>

/* Weights of all tables on one side of the one seen, which weighs 1: the ratio of neighbours is one
 * of whole numbers.  Those no likelier than it, up to rounding, are in *extreme. */
static void walk(double hits, double a_n, double b_n, double k, double last, double step,
                 double *all, double *extreme) {
    const double rounding = 1e-7;
    double weight = 1;
    while (k != last) {
        const double more = step > 0 ? k : k - 1; /* of the pair `more`, `more` + 1 hits */
        const double up = (a_n - more) * (hits - more) / ((more + 1) * (b_n - hits + more + 1));
        weight *= step > 0 ? up : 1 / up;
        k += step;
        *all += weight;
        *extreme += weight <= 1 + rounding ? weight : 0;
    }
}

shot_status shot_fisher_exact(size_t a_hits, size_t a_n, size_t b_hits, size_t b_n, double *p) {
    if (a_n == 0 || b_n == 0 || a_hits > a_n || b_hits > b_n)
        return SHOT_ERR_RANGE;
    const double hits = (double)a_hits + (double)b_hits, k = (double)a_hits;
    double all = 1, extreme = 1;
    walk(hits, (double)a_n, (double)b_n, k, fmin(hits, (double)a_n), 1, &all, &extreme);
    walk(hits, (double)a_n, (double)b_n, k, fmax(0, hits - (double)b_n), -1, &all, &extreme);
    *p = fmin(extreme / all, 1);
    return SHOT_OK;
}
