/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "detect/knee_ends.h"

#include <math.h>

#include "detect/knee_sizes.h"

/* Is noise, or the curve itself, in the way of calling it sharp? */
static bool is_blunt(const shot_knee_place *one) {
    return one->scale > 1.01 * SHOT_KNEE_SHARP;
}

/* The standard error of the place of a change of z standard errors that is seen from h is
 * 4 h / (sqrt(48) z): as a break moves, one half of the samples steps against the other, and of
 * such a step the straight line and the break leave a sixteenth. */
static double place_se(const shot_knee_place *one) {
    return 4 / sqrt(48) * one->reach * one->se / fabs(one->change);
}

/* Within the time of a rounded knee there is one of a sign.  Places that are further apart than
 * that, as far as their standard error goes, are two. */
static bool are_near(const double *x, const shot_knee_place *a, const shot_knee_place *b) {
    return x[b->at] - x[a->at] + hypot(place_se(a), place_se(b)) < SHOT_KNEE_ROUNDED;
}

/* A smaller change on the flank of a great one, less than half of it, is another matter; common
 * practice, no source. */
static bool are_ends_of_one(const double *x, const shot_knee_place *a, const shot_knee_place *b) {
    const double one = fabs(a->change), other = fabs(b->change);
    return a->change * b->change > 0 && is_blunt(a) && is_blunt(b) && are_near(x, a, b) &&
           fmin(one, other) >= 0.5 * fmax(one, other);
}

/* The knee of which these are the ends: where half of the change lies on either side. */
static shot_knee_place between(const double *x, const shot_knee_place *a,
                               const shot_knee_place *b) {
    const double one = fabs(a->change), other = fabs(b->change);
    const double middle = (one * x[a->at] + other * x[b->at]) / (one + other);
    size_t at = a->at;
    while (x[at + 1] - middle < middle - x[at])
        at++;
    return (shot_knee_place){.at = at,
                             .reach = fmax(fmax(a->reach, b->reach), x[b->at] - x[a->at]),
                             .change = a->change + b->change,
                             .se = hypot(a->se, b->se),
                             .scale = SHOT_KNEE_ROUNDED};
}

size_t knee_ends_unite(const double *x, shot_knee_place *found, size_t count) {
    size_t kept = 0;
    for (size_t k = 0; k < count; k++)
        if (kept > 0 && are_ends_of_one(x, &found[kept - 1], &found[k]))
            found[kept - 1] = between(x, &found[kept - 1], &found[k]);
        else
            found[kept++] = found[k];
    return kept;
}
