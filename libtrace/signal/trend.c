/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Drift with order. */
#include <shottrace/signal/distribution.h>
#include <shottrace/signal/sample_quantile.h>
#include <shottrace/signal/trend.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* --- common slope ------------------------------------------------------------------------------
 */

/* Sums of squares and products about the means of the groups. */
struct sums {
    double pairs, groups, xx, xy, yy;
};

static size_t label(const size_t *group, size_t i) {
    return group == NULL ? 0 : group[i];
}

/* Add the group that the pair `first` belongs to, and mark its pairs as done. */
static void add_group(const double *x, const double *y, const size_t *group, size_t n, size_t first,
                      bool *done, struct sums *s) {
    double count = 0, mx = 0, my = 0;
    for (size_t i = first; i < n; i++) {
        if (done[i] || label(group, i) != label(group, first))
            continue;
        count++;
        mx += (x[i] - mx) / count;
        my += (y[i] - my) / count;
    }
    for (size_t i = first; i < n; i++) {
        if (done[i] || label(group, i) != label(group, first))
            continue;
        done[i] = true;
        s->xx += (x[i] - mx) * (x[i] - mx);
        s->xy += (x[i] - mx) * (y[i] - my);
        s->yy += (y[i] - my) * (y[i] - my);
    }
    s->pairs += count;
    s->groups++;
}

shot_status shot_trend_slope(const double *x, const double *y, const size_t *group, size_t n,
                             double level, shot_slope *out) {
    if (!(level > 0 && level < 1))
        return SHOT_ERR_RANGE;
    if (n == 0)
        return SHOT_ERR_SINGULAR;
    bool *done = malloc(n * sizeof *done);
    if (done == NULL)
        return SHOT_ERR_MEMORY;
    struct sums s = {0};
    for (size_t i = 0; i < n; i++)
        done[i] = isnan(x[i]) || isnan(y[i]);
    for (size_t i = 0; i < n; i++)
        if (!done[i])
            add_group(x, y, group, n, i, done, &s);
    free(done);
    double df = s.pairs - s.groups - 1, slope = s.xy / s.xx;
    double rest = s.yy - slope * s.xy;
    if (!(df >= 1) || !(s.xx > 0) || !(rest > 1e-13 * s.yy)) /* else rest is rounding */
        return SHOT_ERR_SINGULAR;
    double se = sqrt(rest / df / s.xx), t = slope / se;
    double half = se * shot_student_quantile((1 + level) / 2, df);
    *out = (shot_slope){slope,        se,          df, t, 2 * shot_student_tail(fabs(t), df),
                        slope - half, slope + half};
    return SHOT_OK;
}

/* --- Mann and Kendall --------------------------------------------------------------------------
 */

enum { EXACT_UP_TO = 50, MOST_INVERSIONS = EXACT_UP_TO * (EXACT_UP_TO - 1) / 2 };

/* chance[k]: of all orders of n different values, the share with k falling pairs.  One more value
 * adds 0 to n - 1 of them, each as likely: Kendall 1975, ch. 5. */
static void inversion_chances(size_t n, double chance[MOST_INVERSIONS + 1]) {
    double before[MOST_INVERSIONS + 1];
    memset(chance, 0, (MOST_INVERSIONS + 1) * sizeof *chance);
    chance[0] = 1;
    for (size_t values = 2; values <= n; values++) {
        memcpy(before, chance, sizeof before);
        for (size_t k = 0; k <= values * (values - 1) / 2; k++) {
            chance[k] = 0;
            for (size_t added = 0; added < values && added <= k; added++)
                chance[k] += before[k - added] / (double)values;
        }
    }
}

/* Pairs of the values present, with the sum of t(t - 1)(2t + 5) over groups of t equal values. */
struct pairs {
    size_t values, count;
    double s, ties;
    double *slope;
};

static void collect(const double *y, size_t n, struct pairs *p) {
    for (size_t i = 0; i < n; i++) {
        if (isnan(y[i]))
            continue;
        double equal = 0;
        for (size_t j = 0; j < n; j++) {
            equal += y[j] == y[i];
            if (j <= i || isnan(y[j]))
                continue;
            p->s += (y[j] > y[i]) - (y[j] < y[i]);
            p->slope[p->count++] = (y[j] - y[i]) / (double)(j - i);
        }
        p->ties += (equal - 1) * (2 * equal + 5); /* each of t values adds its share */
        p->values++;
    }
}

/* The p value, and which of the sorted slopes ends the interval (1 is the smallest). */
static size_t judge(const struct pairs *p, double level, shot_mann_kendall *out) {
    double n = (double)p->values, each = (1 - level) / 2, pairs = (double)p->count;
    double sd = sqrt((n * (n - 1) * (2 * n + 5) - p->ties) / 18);
    out->exact = p->values <= EXACT_UP_TO && p->ties == 0;
    if (!out->exact) {
        double off = fmax(fabs(p->s) - 1, 0);
        out->p = sd > 0 ? fmin(1, 2 * shot_normal_tail(off / sd)) : 1;
        double reach = shot_normal_quantile(1 - each) * sd; /* Sen 1968, section 4 */
        return (size_t)fmax(1, floor((pairs - reach) / 2));
    }
    double chance[MOST_INVERSIONS + 1], tail = 0;
    inversion_chances(p->values, chance);
    double fewest = (pairs - fabs(p->s)) / 2;
    for (size_t k = 0; (double)k <= fewest; k++)
        tail += chance[k];
    out->p = fmin(1, 2 * tail);
    size_t end = 1;
    for (double beyond = chance[0] + chance[1]; beyond <= each; beyond += chance[end])
        end++;
    return end;
}

shot_status shot_trend_mann_kendall(const double *y, size_t n, double level,
                                    shot_mann_kendall *out) {
    if (!(level > 0 && level < 1))
        return SHOT_ERR_RANGE;
    if (n < 3)
        return SHOT_ERR_SINGULAR;
    struct pairs p = {.slope = malloc(n * (n - 1) / 2 * sizeof *p.slope)};
    if (p.slope == NULL)
        return SHOT_ERR_MEMORY;
    collect(y, n, &p);
    if (p.values >= 3) {
        size_t end = judge(&p, level, out);
        shot_sample_quantile_sort(p.slope, p.count);
        out->s = p.s;
        out->tau = p.s / (double)p.count;
        out->slope = shot_sample_quantile(p.slope, p.count, 0.5);
        out->low = p.slope[end - 1];
        out->high = p.slope[p.count - end];
    }
    free(p.slope);
    return p.values >= 3 ? SHOT_OK : SHOT_ERR_SINGULAR;
}
