/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Median by selection. */
#include <shottrace/signal/median.h>

#include <math.h>
#include <stdbool.h>

#include <shottrace/signal/sample_quantile.h>

#include "signal/count_below.h"
#include "signal/median_of_present.h"
#include "signal/missing.h"
#include "signal/wide.h"

static void swap(double *a, double *b) {
    const double keep = *a;
    *a = *b;
    *b = keep;
}

/* The middle one of three spreads sorted and reversed data evenly. */
static double pivot_of(const double *x, size_t low, size_t high) {
    const double a = x[low], b = x[low + (high - low) / 2], c = x[high];
    const double less = a < b ? a : b, more = a < b ? b : a;
    return c < less ? less : c < more ? c : more;
}

/* Move the values for which `value < pivot`, or `value <= pivot`, to the front of x[low..high];
 * where they end.  Every value is swapped, wanted or not, since which are wanted cannot be
 * foreseen, and a branch guessed wrong costs more than a swap (Lomuto's partition without a
 * branch). */
static size_t gather_less(double *x, size_t low, size_t high, double pivot) {
    for (size_t i = low; i <= high; i++) {
        const double value = x[i];
        x[i] = x[low];
        x[low] = value;
        low += value < pivot;
    }
    return low;
}

static size_t gather_up_to(double *x, size_t low, size_t high, double pivot) {
    for (size_t i = low; i <= high; i++) {
        const double value = x[i];
        x[i] = x[low];
        x[low] = value;
        low += value <= pivot;
    }
    return low;
}

/* Put the value of rank k in its place x[k], smaller or equal ones before it, larger or equal ones
 * after it.  Values equal to the pivot gather behind the smaller ones, so that quantised data cost
 * no more.  Data made to defeat the pivot are sorted instead, after more rounds than other data
 * ever need. */
static double select_rank(double *x, size_t n, size_t k) {
    size_t low = 0, high = n - 1;
    for (int round = 0; round < 100; round++) {
        const double pivot = pivot_of(x, low, high);
        const size_t equal = gather_less(x, low, high, pivot);
        if (k < equal) {
            high = equal - 1;
            continue;
        }
        low = gather_up_to(x, equal, high, pivot);
        if (k < low)
            return pivot;
    }
    shot_sample_quantile_sort(x + low, high - low + 1);
    return x[k];
}

SHOT_WIDE static double largest(const double *x, size_t n) {
    double most = x[0];
#pragma omp simd reduction(max : most)
    for (size_t i = 1; i < n; i++)
        most = greater(x[i], most);
    return most;
}

/* How the values lie about a guess. */
typedef struct cut {
    double below;   /* how many are less */
    double largest; /* of those, -infinite if there are none */
    double least;   /* of the others, infinite if there are none */
} cut;

/* Take one value in. */
SHOT_INLINE void cut_one(double x, double guess, double *below, double *largest, double *least) {
    const double less = x < guess ? x : -INFINITY, other = x < guess ? INFINITY : x;
    *below += x < guess ? 1 : 0;
    *largest = greater(less, *largest);
    *least = lesser(other, *least);
}

enum { LANES = 8 }; /* side by side, since each step of one sum waits for the one before */

typedef struct lane_cuts {
    double below[LANES], largest[LANES], least[LANES];
} lane_cuts;

SHOT_INLINE void cut_lanes(const double *x, double guess, lane_cuts *cuts) {
#pragma omp simd
    for (size_t l = 0; l < LANES; l++)
        cut_one(x[l], guess, &cuts->below[l], &cuts->largest[l], &cuts->least[l]);
}

/* The last few values are filled up by ones above all. */
SHOT_WIDE static void cut_at(const double *restrict x, size_t n, double guess, cut *out) {
    lane_cuts cuts;
    double rest[LANES], below = 0, largest = -INFINITY, least = INFINITY;
    size_t i = 0;
    for (size_t l = 0; l < LANES; l++) {
        cuts.below[l] = 0;
        cuts.largest[l] = -INFINITY;
        cuts.least[l] = rest[l] = INFINITY;
    }
    for (; i + LANES <= n; i += LANES)
        cut_lanes(x + i, guess, &cuts);
    for (size_t l = 0; i + l < n; l++)
        rest[l] = x[i + l];
    cut_lanes(rest, guess, &cuts);
#pragma omp simd reduction(+ : below) reduction(max : largest) reduction(min : least)
    for (size_t l = 0; l < LANES; l++) {
        below += cuts.below[l];
        largest = greater(cuts.largest[l], largest);
        least = lesser(cuts.least[l], least);
    }
    *out = (cut){below, largest, least};
}

/* Two numbers, between which, themselves included, the value of rank k lies; infinite until a guess
 * has fallen on that side. */
typedef struct rank_bracket {
    double low, high;
    double before, end; /* ranks: how many are less than `low`; a rank that is too high */
} rank_bracket;

/* The middle one of three. */
static double middle_of(double a, double b, double c) {
    return greater(lesser(a, b), lesser(greater(a, b), c));
}

/* Nine values spread over the data: the middle ones of three threes, in order (after Tukey 1978,
 * 'The ninther'; the middle one is a good guess of the median, the others bracket it). */
static void ninther(const double *x, size_t n, double *three) {
    const size_t step = n / 9;
    double a = middle_of(x[0], x[step], x[2 * step]);
    double b = middle_of(x[3 * step], x[4 * step], x[5 * step]);
    double c = middle_of(x[6 * step], x[7 * step], x[8 * step]);
    three[0] = lesser(lesser(a, b), c);
    three[1] = middle_of(a, b, c);
    three[2] = greater(greater(a, b), c);
}

/* Between two values by their ranks, as if they lay evenly; above the lower one.  Where there is no
 * value on a side yet, one of the nine, and if that has been tried, the end of all. */
static double next_guess(const rank_bracket *in, double k, const double *three, int round) {
    if (round == 0)
        return three[1];
    if (isinf(in->high))
        return round == 1 && three[2] > in->low ? three[2] : INFINITY;
    if (isinf(in->low))
        return round == 1 && three[0] < in->high ? three[0] : -INFINITY;
    const double share = (k + 0.5 - in->before) / (in->end - in->before);
    const double guess = in->low + (in->high - in->low) * share;
    return guess > in->low && guess < in->high ? guess : in->high;
}

/* Take in a guess that is one of the values. */
static void take_value(const double *x, size_t n, double rank, double guess, rank_bracket *in) {
    const double below = count_below(x, n, guess);
    if (below <= rank) {
        in->low = guess;
        in->before = below;
    } else {
        in->high = guess;
        in->end = below;
    }
    if (below == rank)
        in->high = in->low;
}

/* Take in any guess.  *before gets the value of the rank before where it shows. */
static void take_guess(const double *x, size_t n, double rank, double guess, rank_bracket *in,
                       double *before) {
    cut at;
    cut_at(x, n, guess, &at);
    if (at.below <= rank) {
        in->low = at.least;
        in->before = at.below;
    } else {
        in->high = at.largest;
        in->end = at.below;
    }
    if (at.below == rank) { /* the least of those above is the one */
        in->high = in->low;
        *before = at.largest;
    }
    if (at.below == rank + 1) /* the largest of those below */
        in->low = in->high;
}

/* The value of rank k, found by counting what lies below guesses; false after more of them than
 * most data need.  *before gets the value of the rank before, or NaN where it does not show. */
static bool guess_rank(const double *x, size_t n, double rank, double *value, double *before) {
    enum { MOST_GUESSES = 16 };
    rank_bracket in = {-INFINITY, INFINITY, 0, (double)n};
    double three[3];
    *before = NAN;
    ninther(x, n, three);
    for (int round = 0; round < MOST_GUESSES && in.low != in.high; round++) {
        const double guess = next_guess(&in, rank, three, round);
        if (round < 2 && (guess == three[0] || guess == three[1] || guess == three[2]))
            take_value(x, n, rank, guess, &in);
        else
            take_guess(x, n, rank, guess, &in, before);
    }
    *value = in.low;
    return in.low == in.high;
}

/* The value of rank k, and where `before` is wanted, k > 0, that of the rank before it. */
static double select_two(double *x, size_t n, size_t k, double *before) {
    enum { MANY = 32 };
    double value, shown;
    if (n > MANY && guess_rank(x, n, (double)k, &value, &shown)) {
        cut at;
        if (before == NULL)
            return value;
        *before = shown;
        if (!isnan(shown))
            return value;
        cut_at(x, n, value, &at);
        *before = at.below == (double)k ? at.largest : value;
        return value;
    }
    value = select_rank(x, n, k);
    if (before != NULL)
        *before = largest(x, k);
    return value;
}

double median_of_present(double *x, size_t n) {
    double before;
    if (n == 0)
        return NAN;
    if (n % 2 == 1)
        return select_two(x, n, n / 2, NULL);
    const double upper = select_two(x, n, n / 2, &before);
    return before / 2 + upper / 2; /* the sum could overflow */
}

/* Move the values to the front; how many there are. */
static size_t gather_present(double *x, size_t n) {
    size_t present = 0;
    if (!any_missing(x, n))
        return n;
    for (size_t i = 0; i < n; i++)
        if (!isnan(x[i]))
            swap(&x[i], &x[present++]);
    return present;
}

double shot_median(double *x, size_t n) {
    return median_of_present(x, gather_present(x, n));
}

double shot_median_mad(double *x, size_t n, double *median) {
    const size_t present = gather_present(x, n);
    const double middle = median_of_present(x, present);
    for (size_t i = 0; i < present; i++)
        x[i] = fabs(x[i] - middle);
    if (median != NULL)
        *median = middle;
    return median_of_present(x, present);
}
