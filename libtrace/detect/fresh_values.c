/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A sensor slower than its logger. */
#include "detect/fresh_values.h"

#include <math.h>
#include <stdlib.h>

#include <shottrace/signal/median.h>

#include "detect/onset.h"

enum { LEAST_STANDS = 3 };       /* one or two may be chance: a pause of the hand, a plateau */
static const double alone = 0.1; /* share of figures that may stand in one row: rows go missing */

/* Do most figures stand in several rows, and change by more than a step? */
static bool is_held(const shot_channel_view *view) {
    double runs = 0, single = 0, leaps = 0;
    size_t begin = 0;
    for (size_t i = 1; i < view->n; i++) {
        if (view->y[i] == view->y[i - 1])
            continue;
        runs++;
        single += i - begin == 1;
        leaps += fabs(view->y[i] - view->y[i - 1]) > 1.5 * view->step;
        begin = i;
    }
    return runs >= 5 && single <= alone * runs && leaps > runs / 2;
}

/* Stairs: on its way in one direction the channel stands still for rows, between two leaps of more
 * than noise and steps explain; a sensor with news in each row passes by single figures there.
 * Returns the median time for which it stands, NaN where it passes. */
static double stand_of(const shot_channel_view *view, double *work) {
    const double least = fmax(2.5 * view->step, 5 * view->noise.sd);
    size_t stands = 0, passes = 0, begin = 0;
    double before = 0; /* the leap to the figure that stands */
    for (size_t i = 1; i < view->n; i++) {
        const double leap = view->y[i] - view->y[i - 1];
        if (leap == 0)
            continue;
        if (before * leap > 0 && fmin(fabs(before), fabs(leap)) > least) {
            if (i - begin > 1)
                work[stands++] = view->t[i] - view->t[begin];
            else
                passes++;
        }
        before = leap;
        begin = i;
    }
    return stands >= LEAST_STANDS && stands > 2 * passes ? shot_median(work, stands) : NAN;
}

/* The first row of each figure, which is told again each time it has stood for longer than `stand`
 * (NaN: never). */
static void keep_first(shot_channel_view *view, double stand) {
    size_t kept = 1;
    for (size_t i = 1; i < view->n; i++) {
        if (view->y[i] == view->y[kept - 1] && !(view->t[i] - view->t[kept - 1] > stand))
            continue;
        view->t[kept] = view->t[i];
        view->y[kept++] = view->y[i];
    }
    view->n = kept;
}

shot_status shot_view_fresh(const shot_channel_view *view, shot_channel_view *out) {
    SHOT_TRY(shot_view_copy(view, out));
    if (out->processed)
        return SHOT_OK;
    double *work = malloc(shot_noise_workspace(out->n) * sizeof *work);
    if (work == NULL) {
        shot_channel_view_free(out);
        return SHOT_ERR_MEMORY;
    }
    const double stand = stand_of(out, work);
    shot_status status = SHOT_OK;
    if (!isnan(stand) || is_held(out)) {
        keep_first(out, stand);
        status = shot_noise_estimate(out->t, out->y, out->n, out->step, work, &out->noise);
    }
    free(work);
    if (status != SHOT_OK)
        shot_channel_view_free(out);
    return status;
}
