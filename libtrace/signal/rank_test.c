/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rank-sum test with the Hodges-Lehmann shift. */
#include <shottrace/signal/distribution.h>
#include <shottrace/signal/rank_test.h>
#include <shottrace/signal/sample_quantile.h>

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "signal/rank_value.h"

enum { EXACT_UP_TO = 50 };

/* Twice the midrank of each of the pooled values: whole numbers.  The first n are of group a. */
struct ranks {
    size_t n, m;
    double *value;   /* [n + m], each group rising */
    size_t *doubled; /* [n + m] */
    double ties;     /* sum of t^3 - t over the groups of equal values */
};

/* How many of the rising values lie under a limit, or up to it. */
static size_t count_until(const double *rising, size_t n, double limit, bool up_to) {
    size_t low = 0, high = n;
    while (low < high) {
        const size_t middle = low + (high - low) / 2;
        if (rising[middle] < limit || (up_to && rising[middle] == limit))
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

static size_t count_pooled(const struct ranks *r, double limit, bool up_to) {
    return count_until(r->value, r->n, limit, up_to) +
           count_until(r->value + r->n, r->m, limit, up_to);
}

static void rank(struct ranks *r) {
    r->ties = 0;
    for (size_t i = 0; i < r->n + r->m; i++) {
        const size_t below = count_pooled(r, r->value[i], false);
        const size_t equal = count_pooled(r, r->value[i], true) - below;
        r->doubled[i] = 2 * below + equal + 1;
        r->ties += (double)equal * (double)equal - 1; /* each of t values adds t^2 - 1 */
    }
}

/* ways[k * (top + 1) + s]: of all choices of k of the given scores, how many add up to s?
 * Counts beyond 2^53 are rounded, which keeps 15 digits of the p values. */
static double *count_sums(const size_t *score, size_t scores, size_t k, size_t top) {
    double *ways = calloc((k + 1) * (top + 1), sizeof *ways);
    if (ways == NULL)
        return NULL;
    ways[0] = 1;
    for (size_t i = 0; i < scores; i++)
        for (size_t members = i + 1 < k ? i + 1 : k; members > 0; members--) {
            double *with = ways + members * (top + 1);
            const double *without = with - (top + 1);
            for (size_t s = score[i]; s <= top; s++)
                with[s] += without[s - score[i]];
        }
    return ways;
}

/* P(sum of k scores <= seen) and P(>= seen). */
static shot_status exact_tails(const size_t *score, size_t scores, size_t k, size_t seen,
                               double *lower, double *upper) {
    size_t top = 2 * scores * k;
    double *ways = count_sums(score, scores, k, top);
    if (ways == NULL)
        return SHOT_ERR_MEMORY;
    const double *with_k = ways + k * (top + 1);
    double below = 0, total = 0, above = 0;
    for (size_t s = 0; s <= top; s++) {
        total += with_k[s];
        below += s <= seen ? with_k[s] : 0;
        above += s >= seen ? with_k[s] : 0;
    }
    *lower = below / total;
    *upper = above / total;
    free(ways);
    return SHOT_OK;
}

/* Hollander & Wolfe 1973, eq. 4.9 to 4.11, with the correction for continuity. */
static void normal_tails(const struct ranks *r, double w, double *lower, double *upper) {
    double n = (double)r->n, m = (double)r->m, all = n + m;
    double variance = n * m / 12 * (all + 1 - r->ties / (all * (all - 1)));
    double off = w - n * m / 2, sd = sqrt(variance);
    *lower = sd > 0 ? shot_normal_cdf((off + 0.5) / sd) : 1;
    *upper = sd > 0 ? shot_normal_tail((off - 0.5) / sd) : 1;
}

static shot_status test(const struct ranks *r, shot_rank_test *out) {
    size_t sum = 0;
    double lower, upper;
    for (size_t i = 0; i < r->n; i++)
        sum += r->doubled[i];
    out->w = (double)sum / 2 - (double)r->n * ((double)r->n + 1) / 2;
    out->exact = r->n <= EXACT_UP_TO && r->m <= EXACT_UP_TO;
    if (out->exact)
        SHOT_TRY(exact_tails(r->doubled, r->n + r->m, r->n, sum, &lower, &upper));
    else
        normal_tails(r, out->w, &lower, &upper);
    out->p = fmin(1, 2 * fmin(lower, upper));
    out->p_greater = upper;
    return SHOT_OK;
}

/* Which of the sorted differences ends the interval (1 is the smallest), so that the shift lies
 * beyond it with a chance of at most `each`; and that chance.  The number of differences below the
 * true shift is distributed as w: Hollander & Wolfe 1973, section 4.3. */
static shot_status find_end(const struct ranks *r, double each, size_t *end, double *chance) {
    double pairs = (double)r->n * (double)r->m;
    *chance = each;
    if (r->n > EXACT_UP_TO || r->m > EXACT_UP_TO) {
        double sd = sqrt(pairs * (double)(r->n + r->m + 1) / 12);
        *end = (size_t)fmax(1, floor(pairs / 2 + shot_normal_quantile(each) * sd));
        return SHOT_OK;
    }
    size_t score[2 * EXACT_UP_TO], all = r->n + r->m, least = r->n * (r->n + 1) / 2;
    for (size_t i = 0; i < all; i++)
        score[i] = i + 1;
    size_t top = least + r->n * r->m;
    double *ways = count_sums(score, all, r->n, top);
    if (ways == NULL)
        return SHOT_ERR_MEMORY;
    const double *of_w = ways + r->n * (top + 1) + least;
    double total = 0, beyond = of_w[0];
    for (size_t w = 0; w <= r->n * r->m; w++)
        total += of_w[w];
    for (*end = 1; (beyond + of_w[*end]) / total <= each; ++*end)
        beyond += of_w[*end];
    *chance = beyond / total;
    free(ways);
    return SHOT_OK;
}

/* How many of the differences a_i - b_j are <= limit: as a_i rises, fewer b_j bring it there. */
static double differences_up_to(double limit, void *context) {
    const struct ranks *r = context;
    const double *a = r->value, *b = r->value + r->n;
    size_t above = 0; /* the b_j from which a_i is further than the limit */
    double count = 0;
    for (size_t i = 0; i < r->n; i++) {
        while (above < r->m && a[i] - b[above] > limit)
            above++;
        count += (double)(r->m - above);
    }
    return count;
}

static shot_status shift(struct ranks *r, double level, shot_rank_test *out) {
    const double pairs = (double)r->n * (double)r->m;
    size_t end;
    double chance;
    SHOT_TRY(find_end(r, (1 - level) / 2, &end, &chance));
    out->shift = rank_value_quantile(differences_up_to, r, pairs, 0.5);
    out->low = rank_value(differences_up_to, r, (double)end);
    out->high = rank_value(differences_up_to, r, pairs + 1 - (double)end);
    out->level = 1 - 2 * chance;
    return SHOT_OK;
}

/* What is present of x, rising. */
static size_t gather(double *to, const double *x, size_t n) {
    memcpy(to, x, n * sizeof *to);
    return shot_sample_quantile_sort(to, n);
}

shot_status shot_rank_test_find(const double *a, size_t n, const double *b, size_t m, double level,
                                shot_rank_test *out) {
    if (!(level > 0 && level < 1))
        return SHOT_ERR_RANGE;
    if (n == 0 || m == 0)
        return SHOT_ERR_SINGULAR;
    struct ranks r = {.value = malloc((n + m) * sizeof *r.value),
                      .doubled = malloc((n + m) * sizeof *r.doubled)};
    shot_rank_test found;
    shot_status status = r.value != NULL && r.doubled != NULL ? SHOT_OK : SHOT_ERR_MEMORY;
    if (status == SHOT_OK) {
        r.n = gather(r.value, a, n);
        r.m = gather(r.value + r.n, b, m);
        status = r.n > 0 && r.m > 0 ? SHOT_OK : SHOT_ERR_SINGULAR;
    }
    if (status == SHOT_OK) {
        rank(&r);
        status = test(&r, &found);
    }
    if (status == SHOT_OK)
        status = shift(&r, level, &found);
    free(r.value);
    free(r.doubled);
    if (status == SHOT_OK)
        *out = found;
    return status;
}
