/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The step in which figures are written. */
#include <shottrace/signal/resolution.h>

#include <math.h>
#include <stdbool.h>

#include "changes.h"
#include "magnitude.h"
#include "missing.h"

enum { ENOUGH_CHANGES = 10, ENOUGH_TO_JUMP = 20 };

static const double rounding = SHOT_CHANGES_ROUNDING;

typedef struct figures {
    const double *y;
    size_t n;
    bool whole; /* none is missing */
} figures;

/* The changes from one value to the next lie within stretches and over what is missing: the seam
 * of two values there.  Returns the length of the next one, 0 at the end, and moves `at`. */
typedef struct stretches {
    const double *y;
    size_t n, at;
    double seam[2];
    bool in_seam, whole;
} stretches;

static stretches stretches_of(const figures *of) {
    return (stretches){of->y, of->n, 0, {NAN, NAN}, false, of->whole};
}

static size_t next_stretch(stretches *of, const double **values) {
    if (of->in_seam) { /* the stretch behind it */
        size_t to = of->whole ? of->n : of->at;
        while (to < of->n && !isnan(of->y[to]))
            to++;
        *values = of->y + of->at;
        const size_t length = to - of->at;
        of->seam[0] = of->y[to - 1];
        of->at = to;
        of->in_seam = false;
        return length;
    }
    while (of->at < of->n && isnan(of->y[of->at]))
        of->at++;
    if (of->at == of->n)
        return 0;
    of->seam[1] = of->y[of->at];
    of->in_seam = true;
    *values = of->seam;
    return 2;
}

/* The smallest change of more than `least`, and how many there are. */
static shot_changes find_changes_over(const figures *of, double least) {
    shot_changes all = {INFINITY, 0, least};
    stretches walk = stretches_of(of);
    const double *values;
    for (size_t length; (length = next_stretch(&walk, &values)) > 0;)
        changes_take(values, length, &all);
    return all;
}

/* A mean of 0.1 and -0.1 may leave 1e-18 where others leave 0: a part of the largest value as small
 * as rounding is no change either. */
static shot_changes find_changes(const figures *of) {
    const shot_changes all = find_changes_over(of, 0);
    return all.smallest < rounding
               ? find_changes_over(of, rounding * largest_magnitude(of->y, of->n))
               : all;
}

/* Asked of a few values, then of more: most steps fail at once. */
static bool all_multiples(const double *y, size_t n, double step) {
    enum { SOME = 16 };
    for (size_t from = 0; from < n; from += SOME)
        if (values_off(y + from, n - from < SOME ? n - from : SOME, step) > 0)
            return false;
    return true;
}

/* 1, 0.5, 0.25, 0.2, 0.1 ... 1e-6 */
enum { SERIES = 28 };

static double step_of_series(int i) {
    static const double parts[] = {1, 2, 4, 5};
    static const double decades[] = {1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6};
    return 1 / (decades[i / 4] * parts[i % 4]);
}

/* NaN compares false: missing values fit every step.  No value but 0 fits one that is larger than
 * all of them. */
static double step_of_digits(const double *y, size_t n) {
    const double most = largest_magnitude(y, n);
    for (int i = 0; i < SERIES; i++) {
        const double step = step_of_series(i);
        if ((most == 0 || step < 2 * most) && all_multiples(y, n, step))
            return step;
    }
    return 0;
}

/* Are nine in ten of the changes up to `most` whole multiples of the step, to that part of it? */
static bool divides_changes(const figures *of, double step, double most, double part) {
    shot_multiples all = {0, 0};
    stretches walk = stretches_of(of);
    const double *values;
    for (size_t length; (length = next_stretch(&walk, &values)) > 0;)
        changes_divide(values, length, &(shot_divisor){step, most, part}, &all);
    return all.multiples >= 9 * all.others;
}

/* The smallest change is the step if others are its multiples, roughly, since a step may be no
 * round number of the digits in which it is written; or a part of it is, exactly, where no two
 * values happened to lie one step apart.  In a smooth curve written with many digits it is neither:
 * 0. */
static double step_of_changes(const figures *of, double smallest) {
    static const double roughly = 1.0 / 7, exactly = 1e-6;
    const double most = 4.5 * smallest;
    if (divides_changes(of, smallest, most, roughly))
        return smallest;
    for (int parts = 2; parts <= 5; parts++)
        if (divides_changes(of, smallest / parts, most, exactly))
            return smallest / parts;
    return 0;
}

/* Are nine in ten of all changes whole multiples of the step?  Asked of some after the other, and
 * given up once it is clear that they are not. */
static bool divides_most(const figures *of, double step) {
    enum { SOME = 32 };
    shot_multiples all = {0, 0};
    stretches walk = stretches_of(of);
    const double *values;
    for (size_t length; (length = next_stretch(&walk, &values)) > 0;)
        for (size_t from = 0; from + 1 < length; from += SOME) {
            const size_t left = length - from;
            changes_share(values + from, left < SOME + 1 ? left : SOME + 1, step, &all);
            if (9 * all.others > all.multiples + 9 * ENOUGH_CHANGES)
                return false;
        }
    return all.multiples >= 9 * all.others;
}

/* Are more than one in ten of all changes less than `step`, and so multiples of no larger one? */
static bool many_are_less(const figures *of, const shot_changes *all, double step) {
    double less = 0;
    stretches walk = stretches_of(of);
    const double *values;
    for (size_t length; (length = next_stretch(&walk, &values)) > 0;)
        less += changes_between(values, length, all->smallest, step);
    return 10 * less > all->count;
}

/* A few values may lie between the steps, as the means of rows that were merged do: the largest
 * step of the series, above the smallest change, that most changes have in common; 0 if none. */
static double step_of_most(const figures *of, const shot_changes *all) {
    const double least = 1.5 * all->smallest;
    if (many_are_less(of, all, least * (1 - 1e-3)))
        return 0;
    for (int i = 0; i < SERIES; i++) {
        const double step = step_of_series(i);
        if (step < least)
            return 0;
        if (divides_most(of, step))
            return step;
    }
    return 0;
}

/* Quarters lose a digit: 0.25, 0.5, 0.75, 1 are written 0.2 (or 0.3), 0.5, 0.8, 1.  Is that what
 * happened to the figures, so that none lies between and no change is as small as the last digit?
 */
static bool are_cut_quarters(const double *y, size_t n, double digit, const shot_changes *all) {
    const double quarter = 2.5 * digit, off = digit / 2 / quarter;
    if (all->count < ENOUGH_TO_JUMP || all->smallest < 1.9 * digit || all->smallest > 3.1 * digit)
        return false;
    for (size_t i = 0; i < n; i++) {
        const double steps = y[i] / quarter;
        if (fabs(steps - round(steps)) > off + rounding * fmax(1, fabs(steps)))
            return false;
    }
    return true;
}

static bool any_value(const double *y, size_t n) {
    for (size_t i = 0; i < n; i++)
        if (!isnan(y[i]))
            return true;
    return false;
}

double shot_resolution(const double *y, size_t n) {
    const figures given = {y, n, !any_missing(y, n)};
    const shot_changes all = find_changes(&given);
    const double most = all.count >= ENOUGH_TO_JUMP ? step_of_most(&given, &all) : 0;
    if (most > 0)
        return most;
    double step = all.count >= ENOUGH_CHANGES ? step_of_changes(&given, all.smallest) : 0;
    if (!(step > 0))
        step = any_value(y, n) ? step_of_digits(y, n) : 0;
    return step > 0 && are_cut_quarters(y, n, step, &all) ? 2.5 * step : step;
}
