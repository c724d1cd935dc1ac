/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Changes from one value to the next, as far as they are not rounding. */
#ifndef SHOT_SIGNAL_CHANGES_H
#define SHOT_SIGNAL_CHANGES_H

#include <stddef.h>

/* Of decimals and of sums of them, relative to the values. */
#define SHOT_CHANGES_ROUNDING 1e-9

typedef struct shot_changes {
    double smallest, count; /* infinite, 0 while there are none */
    double least;           /* what is no more than that is rounding too */
} shot_changes;

/* Take in the changes between neighbours of y[0..n-1], none of which is missing. */
void changes_take(const double *y, size_t n, shot_changes *all);

/* How many of the changes between neighbours of y[0..n-1] are from `low` up to less than `high`. */
double changes_between(const double *y, size_t n, double low, double high);

/* A step, of which changes less than `most` may be whole multiples to that part of it. */
typedef struct shot_divisor {
    double step, most, part;
} shot_divisor;

typedef struct shot_multiples {
    double multiples, others; /* how many are, and how many are not */
} shot_multiples;

/* Take in the changes between neighbours of y[0..n-1]; those of half a step and less, and to what
 * is missing, do not count. */
void changes_divide(const double *y, size_t n, const shot_divisor *by, shot_multiples *all);

/* How many of y[0..n-1] are no whole multiples of the step but for rounding; what is missing is
 * none of them. */
size_t values_off(const double *y, size_t n, double step);

/* Take in all changes between neighbours of y[0..n-1], none of which is missing, that are more than
 * rounding, however small or large: multiples are those of `step` and more, to a part of 1e-6. */
void changes_share(const double *y, size_t n, double step, shot_multiples *all);

#endif
