/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Drift with order. */
#include <shottrace/signal/distribution.h>
#include <shottrace/signal/trend.h>

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "signal/rank_value.h"

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

/* Larger values are kept at a part of themselves, so that no line through them overflows. */
static const double large = 1e149;

/* The values present, and their pairs. */
struct pairs {
    size_t values;
    double *place, *value; /* of each, in the order of the series [values] */
    double *work;          /* [2 values] */
    double count;          /* of pairs */
    double rising, falling;
    double part; /* of themselves that the values are kept at */
    double ties; /* sum of t(t - 1)(2t + 5) over groups of t equal values */
};

/* Sort x[0..n-1] rising by merging; the pairs of which the later one was smaller. */
static double sort_and_count_falls(double *x, size_t n, double *room) {
    if (n < 2)
        return 0;
    const size_t half = n / 2;
    double falls = sort_and_count_falls(x, half, room);
    falls += sort_and_count_falls(x + half, n - half, room);
    memcpy(room, x, half * sizeof *x);
    for (size_t i = 0, j = half, to = 0; i < half; to++)
        if (j < n && x[j] < room[i]) {
            falls += (double)(half - i);
            x[to] = x[j++];
        } else {
            x[to] = room[i++];
        }
    return falls;
}

/* The pairs that do not rise against a line of that slope: those that do not fall upside down. */
static double not_rising_against(double slope, const struct pairs *p) {
    for (size_t i = 0; i < p->values; i++)
        p->work[i] = -(p->value[i] - slope * p->place[i]);
    return p->count - sort_and_count_falls(p->work, p->values, p->work + p->values);
}

/* How many slopes of the pairs are up to a limit.  A line that hardly slopes is lost in rounding,
 * so that the level pairs have to be on the right side of it. */
static double slopes_up_to(double limit, void *context) {
    const struct pairs *p = context;
    if (fabs(limit) > 10 * large) /* no slope is; the line would overflow */
        return limit > 0 ? p->count : 0;
    const double count = not_rising_against(limit, p);
    return limit < 0 ? fmin(count, p->falling) : fmax(count, p->count - p->rising);
}

static double ties_of(const double *rising, size_t n) {
    double ties = 0;
    for (size_t i = 0, next; i < n; i = next) {
        for (next = i + 1; next < n && rising[next] == rising[i];)
            next++;
        const double t = (double)(next - i);
        ties += t * (t - 1) * (2 * t + 5);
    }
    return ties;
}

/* The part, a power of two, at which no value is large. */
static double part_of(const double *y, size_t n) {
    for (size_t i = 0; i < n; i++)
        if (fabs(y[i]) > large)
            return 0x1p-600;
    return 1;
}

static void collect(const double *y, size_t n, struct pairs *p) {
    p->part = part_of(y, n);
    for (size_t i = 0; i < n; i++)
        if (!isnan(y[i])) {
            p->place[p->values] = (double)i;
            p->value[p->values++] = y[i] * p->part;
        }
    p->count = (double)p->values * ((double)p->values - 1) / 2;
    p->rising = p->count - not_rising_against(0, p);
    memcpy(p->work, p->value, p->values * sizeof *p->work);
    p->falling = sort_and_count_falls(p->work, p->values, p->work + p->values);
    p->ties = ties_of(p->work, p->values);
}

/* The p value, and which of the sorted slopes ends the interval (1 is the smallest). */
static size_t judge(const struct pairs *p, double level, shot_mann_kendall *out) {
    double n = (double)p->values, each = (1 - level) / 2, pairs = p->count;
    double sd = sqrt((n * (n - 1) * (2 * n + 5) - p->ties) / 18);
    out->exact = p->values <= EXACT_UP_TO && p->ties == 0;
    if (!out->exact) {
        double off = fmax(fabs(out->s) - 1, 0);
        out->p = sd > 0 ? fmin(1, 2 * shot_normal_tail(off / sd)) : 1;
        double reach = shot_normal_quantile(1 - each) * sd; /* Sen 1968, section 4 */
        return (size_t)fmax(1, floor((pairs - reach) / 2));
    }
    double chance[MOST_INVERSIONS + 1], tail = 0;
    inversion_chances(p->values, chance);
    double fewest = (pairs - fabs(out->s)) / 2;
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
    struct pairs p = {.place = n <= SIZE_MAX / 4 / sizeof *p.place ? malloc(4 * n * sizeof *p.place)
                                                                   : NULL};
    if (p.place == NULL)
        return SHOT_ERR_MEMORY;
    p.value = p.place + n;
    p.work = p.value + n;
    collect(y, n, &p);
    if (p.values >= 3) {
        out->s = p.rising - p.falling;
        out->tau = out->s / p.count;
        const double end = (double)judge(&p, level, out);
        out->slope = rank_value_quantile(slopes_up_to, &p, p.count, 0.5) / p.part;
        out->low = rank_value(slopes_up_to, &p, end) / p.part;
        out->high = rank_value(slopes_up_to, &p, p.count + 1 - end) / p.part;
    }
    free(p.place);
    return p.values >= 3 ? SHOT_OK : SHOT_ERR_SINGULAR;
}
