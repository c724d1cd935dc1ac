/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Median by selection. */
#include <shottrace/signal/median.h>

#include <math.h>

#include <shottrace/signal/sample_quantile.h>

#include "wide.h"

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

SHOT_WIDE static double largest_below(const double *x, size_t n, double limit) {
    double most = -INFINITY;
#pragma omp simd reduction(max : most)
    for (size_t i = 0; i < n; i++)
        most = greater(x[i] < limit ? x[i] : -INFINITY, most);
    return most;
}

SHOT_WIDE static size_t count_below(const double *x, size_t n, double limit) {
    double count = 0;
#pragma omp simd reduction(+ : count)
    for (size_t i = 0; i < n; i++)
        count += x[i] < limit ? 1 : 0;
    return (size_t)count;
}

/* Move the values from `low` to `high` to the front, as above; how many there are. */
static size_t gather_between(double *x, size_t n, double low, double high) {
    size_t count = 0;
    for (size_t i = 0; i < n; i++) {
        const double value = x[i];
        x[i] = x[count];
        x[count] = value;
        count += (value >= low) & (value <= high);
    }
    return count;
}

/* Two values that are likely to have rank k between them, few others with it: ranks of a sample
 * (Floyd & Rivest 1975, 'Expected time bounds for selection', Comm. ACM 18:165-172).  Of SAMPLE
 * values the rank of the middle one scatters by sqrt(SAMPLE) / 2 = 2.3; ASIDE is twice that. */
enum { MANY = 80, SAMPLE = 21, ASIDE = 5 };

static void bracket(const double *x, size_t n, size_t k, double *low, double *high) {
    double sample[SAMPLE];
    const size_t step = n / SAMPLE, middle = k / step < SAMPLE ? k / step : SAMPLE - 1;
    for (size_t i = 0; i < SAMPLE; i++) {
        const double value = x[i * step + step / 2];
        size_t place = i;
        for (; place > 0 && sample[place - 1] > value; place--)
            sample[place] = sample[place - 1];
        sample[place] = value;
    }
    *low = sample[middle > ASIDE ? middle - ASIDE : 0];
    *high = sample[middle + ASIDE < SAMPLE ? middle + ASIDE : SAMPLE - 1];
}

/* The value of rank k, and in *before, where k > 0, that of the rank before it. */
static double select_two(double *x, size_t n, size_t k, double *before) {
    if (n > MANY) {
        double low, high;
        bracket(x, n, k, &low, &high);
        const size_t below = count_below(x, n, low), inside = gather_between(x, n, low, high);
        if (below <= k && k < below + inside) {
            if (k == below)
                *before = largest_below(x + inside, n - inside, low);
            n = inside;
            k -= below;
        }
    }
    const double value = select_rank(x, n, k);
    if (k > 0)
        *before = largest(x, k);
    return value;
}

static double median_of_present(double *x, size_t n) {
    double before = NAN;
    if (n == 0)
        return NAN;
    const double upper = select_two(x, n, n / 2, &before);
    return n % 2 == 1 ? upper : before / 2 + upper / 2; /* the sum could overflow */
}

/* Move the values to the front; how many there are. */
static size_t gather_present(double *x, size_t n) {
    size_t present = 0, missing = 0;
    for (size_t i = 0; i < n; i++)
        missing += isnan(x[i]);
    if (missing == 0)
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
