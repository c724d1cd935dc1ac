/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Change of level in a short series. */
#include <shottrace/signal/balanced_order.h>
#include <shottrace/signal/pettitt.h>
#include <shottrace/signal/random.h>
#include <shottrace/signal/sample_quantile.h>

#include <math.h>
#include <stdlib.h>

/* score[i] = number of values below less number above the i-th one: U_t is the sum of the first t
 * scores, since the pairs within them cancel (Pettitt 1979, eq. 3 with ranks). */
static void score_values(const double *value, double *score, size_t n) {
    for (size_t i = 0; i < n; i++) {
        score[i] = 0;
        for (size_t j = 0; j < n; j++)
            score[i] += (value[j] < value[i]) - (value[j] > value[i]);
    }
}

/* max |U_t| over t = 1 .. n - 1 of the values in that order, and the t where it is reached first.
 */
static double statistic(const double *score, const size_t *order, size_t n, size_t *place) {
    double u = 0, largest = -1;
    for (size_t t = 1; t < n; t++) {
        u += score[order[t - 1]];
        if (fabs(u) > largest) {
            largest = fabs(u);
            *place = t;
        }
    }
    return largest;
}

static void find_p(const double *score, size_t *order, size_t n, uint64_t draws, uint64_t seed,
                   shot_pettitt *out) {
    shot_random random = shot_random_at(seed, 0);
    double hits = 1, total = (double)draws + 1; /* the order seen is one of them */
    size_t place;
    for (uint64_t draw = 0; draw < draws; draw++) {
        shot_shuffle(order, n, &random);
        hits += statistic(score, order, n, &place) >= out->k;
    }
    out->p = hits / total;
    out->se = sqrt(out->p * (1 - out->p) / total);
}

static double median(double *x, size_t n) {
    return shot_sample_quantile(x, shot_sample_quantile_sort(x, n), 0.5);
}

shot_status shot_pettitt_find(const double *y, size_t n, uint64_t draws, uint64_t seed,
                              shot_pettitt *out) {
    if (draws == 0)
        return SHOT_ERR_RANGE;
    if (n < 4)
        return SHOT_ERR_SINGULAR;
    double *value = malloc(2 * n * sizeof *value);
    size_t *order = malloc(n * sizeof *order);
    if (value == NULL || order == NULL) {
        free(value);
        free(order);
        return SHOT_ERR_MEMORY;
    }
    double *score = value + n;
    size_t present = 0, place = 0;
    for (size_t i = 0; i < n; i++) {
        order[i] = i;
        if (!isnan(y[i]))
            value[present++] = y[i];
    }
    if (present >= 4) {
        score_values(value, score, present);
        *out = (shot_pettitt){.k = statistic(score, order, present, &place)};
        find_p(score, order, present, draws, seed, out);
        out->before = median(value, place);
        out->after = median(value + place, present - place);
        for (size_t i = 0, seen = 0; i < n; i++)
            if (!isnan(y[i]) && seen++ == place)
                out->first = i;
    }
    free(value);
    free(order);
    return present >= 4 ? SHOT_OK : SHOT_ERR_SINGULAR;
}
