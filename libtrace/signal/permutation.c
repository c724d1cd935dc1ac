/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Permutation tests. */
#include <shottrace/signal/permutation.h>
#include <shottrace/signal/random.h>

#include <math.h>
#include <stdlib.h>

const shot_permutation_effort shot_permutation_usual = {1000000, 20000, 1};

static const double tie = 1e-9;

/* Values to deal out, and the bounds from which a statistic of them is as extreme as the one seen.
 */
struct deal {
    double *x;
    size_t n, k;      /* values; how many of them make the sum */
    bool studentized; /* the sum is divided by the standard error that its groups show */
    double squares;   /* of all values */
    double large, far;
    uint64_t extreme, greater, total;
};

/* With the common mean taken off, the sum S over k values with the squares q says all of both
 * groups: those of the other about their own mean are Q - q - S^2/(n - k). */
static double statistic(const struct deal *d, double sum, double squares) {
    if (!d->studentized)
        return sum;
    const double k = (double)d->k, m = (double)(d->n - d->k);
    const double own = squares - sum * sum / k, other = d->squares - squares - sum * sum / m;
    const double variance = own / (k * (k - 1)) + other / (m * (m - 1));
    if (variance > 1e-12 * d->squares) /* else all of either group are alike, but for rounding */
        return sum / sqrt(variance);
    return fabs(sum) > tie * sqrt(d->squares) ? copysign(INFINITY, sum) : 0;
}

static void count(struct deal *d, double sum, double squares) {
    const double value = statistic(d, sum, squares);
    d->greater += value >= d->large;
    d->extreme += fabs(value) >= d->far;
    d->total++;
}

/* What counts as a tie with the statistic seen: of a sum a part of the largest value, of what is
 * studentized a part of itself, and at least of 1. */
static void set_bounds(struct deal *d, double seen) {
    double largest = 0;
    for (size_t i = 0; i < d->n; i++)
        largest = fmax(largest, fabs(d->x[i]));
    const double slack = tie * (!d->studentized ? largest : isinf(seen) ? 0 : fmax(1, fabs(seen)));
    d->large = seen - slack;
    d->far = fabs(seen) - slack;
}

static shot_permutation result(const struct deal *d, bool exact) {
    double add = exact ? 0 : 1; /* the arrangement seen is one of those that were drawn */
    double total = (double)d->total + add;
    shot_permutation r = {.exact = exact, .extreme = d->extreme, .greater = d->greater};
    r.total = d->total;
    r.p = ((double)d->extreme + add) / total;
    r.p_greater = ((double)d->greater + add) / total;
    r.se = exact ? 0 : sqrt(r.p * (1 - r.p) / total);
    return r;
}

/* Copy the values present behind those already in d->x, and return their sum. */
static double gather(struct deal *d, const double *x, size_t n) {
    double sum = 0;
    for (size_t i = 0; i < n; i++) {
        if (isnan(x[i]))
            continue;
        d->x[d->n++] = x[i];
        sum += x[i];
    }
    return sum;
}

/* --- two groups ------------------------------------------------------------------------------- */

/* n over k, or the largest number where it does not fit. */
static uint64_t combinations(uint64_t n, uint64_t k) {
    uint64_t c = 1;
    for (uint64_t i = 1; i <= k; i++) {
        if (c > UINT64_MAX / (n - k + i))
            return UINT64_MAX;
        c = c * (n - k + i) / i; /* whole at each step: c is (n - k + i over i) */
    }
    return c;
}

/* Sum and squares of the first members of a subset. */
struct sums {
    double sum, squares;
};

/* All k-subsets in lexicographic order.  above[i] is of the first i members, so that no rounding
 * gathers from one subset to the next. */
static shot_status enumerate_subsets(struct deal *d) {
    size_t *member = malloc(d->k * sizeof *member);
    struct sums *above = malloc((d->k + 1) * sizeof *above);
    if (member == NULL || above == NULL) {
        free(member);
        free(above);
        return SHOT_ERR_MEMORY;
    }
    above[0] = (struct sums){0, 0};
    size_t place = 0;
    member[0] = 0;
    for (;;) {
        for (; place < d->k; place++) {
            const double x = d->x[member[place]];
            above[place + 1] = (struct sums){above[place].sum + x, above[place].squares + x * x};
            if (place + 1 < d->k)
                member[place + 1] = member[place] + 1;
        }
        count(d, above[d->k].sum, above[d->k].squares);
        while (place > 0 && member[place - 1] == d->n - d->k + place - 1)
            place--;
        if (place == 0)
            break;
        member[--place]++;
    }
    free(member);
    free(above);
    return SHOT_OK;
}

static void draw_subsets(struct deal *d, const shot_permutation_effort *effort) {
    shot_random random = shot_random_at(effort->seed, 0);
    for (uint64_t draw = 0; draw < effort->draws; draw++) {
        double sum = 0, squares = 0;
        for (size_t i = 0; i < d->k; i++) {
            size_t j = i + (size_t)shot_random_below(&random, d->n - i);
            double chosen = d->x[j];
            d->x[j] = d->x[i];
            d->x[i] = chosen;
            sum += chosen;
            squares += chosen * chosen;
        }
        count(d, sum, squares);
    }
}

/* With the common mean taken off, the difference of the means is the sum over one group times a
 * positive constant; the smaller group is the one dealt. */
static shot_status deal_groups(struct deal *d, size_t first, const shot_permutation_effort *effort,
                               bool *exact) {
    double mean = 0, seen = 0, squares = 0;
    for (size_t i = 0; i < d->n; i++)
        mean += d->x[i] / (double)d->n;
    for (size_t i = 0; i < d->n; i++)
        d->x[i] -= mean;
    bool dealt_first = first <= d->n - first;
    d->k = dealt_first ? first : d->n - first;
    for (size_t i = 0; i < d->n; i++) {
        if (!dealt_first)
            d->x[i] = -d->x[i];
        d->squares += d->x[i] * d->x[i];
        if ((i < first) == dealt_first) {
            seen += d->x[i];
            squares += d->x[i] * d->x[i];
        }
    }
    d->studentized = d->studentized && d->k >= 2;
    set_bounds(d, statistic(d, seen, squares));
    *exact = combinations(d->n, d->k) <= effort->enumerate;
    if (*exact)
        return enumerate_subsets(d);
    draw_subsets(d, effort);
    return SHOT_OK;
}

static shot_status deal_two(const double *a, size_t n, const double *b, size_t m, bool studentized,
                            const shot_permutation_effort *effort, shot_permutation *out) {
    if (n == 0 || m == 0)
        return SHOT_ERR_SINGULAR;
    struct deal d = {.x = malloc((n + m) * sizeof *d.x), .studentized = studentized};
    if (d.x == NULL)
        return SHOT_ERR_MEMORY;
    gather(&d, a, n);
    size_t first = d.n;
    gather(&d, b, m);
    bool exact;
    shot_status status = SHOT_ERR_SINGULAR;
    if (first > 0 && first < d.n)
        status = deal_groups(&d, first, effort, &exact);
    if (status == SHOT_OK)
        *out = result(&d, exact);
    free(d.x);
    return status;
}

shot_status shot_permutation_two_sample(const double *a, size_t n, const double *b, size_t m,
                                        const shot_permutation_effort *effort,
                                        shot_permutation *out) {
    return deal_two(a, n, b, m, false, effort, out);
}

shot_status shot_permutation_studentized(const double *a, size_t n, const double *b, size_t m,
                                         const shot_permutation_effort *effort,
                                         shot_permutation *out) {
    return deal_two(a, n, b, m, true, effort, out);
}

/* --- pairs ------------------------------------------------------------------------------------ */

/* All signs, as a binary counter with its lowest bit on the last value.  above[i] is the signed
 * sum of the first i values: a step of the counter touches two of them on average. */
static shot_status enumerate_signs(struct deal *d) {
    double *above = malloc((d->n + 1) * sizeof *above);
    if (above == NULL)
        return SHOT_ERR_MEMORY;
    above[0] = 0;
    size_t changed = 0;
    for (uint64_t pattern = 0; pattern >> d->n == 0; pattern++) {
        for (size_t i = changed; i < d->n; i++) {
            bool minus = pattern >> (d->n - 1 - i) & 1;
            above[i + 1] = above[i] + (minus ? -d->x[i] : d->x[i]);
        }
        count(d, above[d->n], 0);
        changed = d->n - 1;
        for (uint64_t ones = pattern; ones & 1 && changed > 0; ones >>= 1)
            changed--;
    }
    free(above);
    return SHOT_OK;
}

static void draw_signs(struct deal *d, const shot_permutation_effort *effort) {
    shot_random random = shot_random_at(effort->seed, 0);
    for (uint64_t draw = 0; draw < effort->draws; draw++) {
        double sum = 0;
        uint64_t bits = 0;
        for (size_t i = 0; i < d->n; i++, bits >>= 1) {
            if (i % 64 == 0)
                bits = shot_random_bits(&random);
            sum += bits & 1 ? -d->x[i] : d->x[i];
        }
        count(d, sum, 0);
    }
}

shot_status shot_permutation_sign_flip(const double *difference, size_t n,
                                       const shot_permutation_effort *effort,
                                       shot_permutation *out) {
    if (n == 0)
        return SHOT_ERR_SINGULAR;
    struct deal d = {.x = malloc(n * sizeof *d.x)};
    if (d.x == NULL)
        return SHOT_ERR_MEMORY;
    double seen = gather(&d, difference, n);
    set_bounds(&d, seen);
    bool exact = d.n < 63 && (uint64_t)1 << d.n <= effort->enumerate;
    shot_status status = d.n == 0 ? SHOT_ERR_SINGULAR : SHOT_OK;
    if (status == SHOT_OK && exact)
        status = enumerate_signs(&d);
    else if (status == SHOT_OK)
        draw_signs(&d, effort);
    if (status == SHOT_OK)
        *out = result(&d, exact);
    free(d.x);
    return status;
}
