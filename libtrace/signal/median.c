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

static double median_of_present(double *x, size_t n) {
    if (n == 0)
        return NAN;
    const double upper = select_rank(x, n, n / 2);
    if (n % 2 == 1)
        return upper;
    return largest(x, n / 2) / 2 + upper / 2; /* the sum could overflow */
}

/* Move the values to the front; how many there are. */
static size_t gather_present(double *x, size_t n) {
    size_t present = 0;
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
