/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A sensor slower than its logger. */
#include "detect/fresh_values.h"

#include <math.h>
#include <stdlib.h>

#include "detect/onset.h"

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

static void keep_first(shot_channel_view *view) {
    size_t kept = 1;
    for (size_t i = 1; i < view->n; i++) {
        if (view->y[i] == view->y[kept - 1])
            continue;
        view->t[kept] = view->t[i];
        view->y[kept++] = view->y[i];
    }
    view->n = kept;
}

shot_status shot_view_fresh(const shot_channel_view *view, shot_channel_view *out) {
    SHOT_TRY(shot_view_copy(view, out));
    if (!is_held(out) || out->processed)
        return SHOT_OK;
    keep_first(out);
    double *work = malloc(shot_noise_workspace(out->n) * sizeof *work);
    shot_status status = SHOT_ERR_MEMORY;
    if (work != NULL)
        status = shot_noise_estimate(out->t, out->y, out->n, out->step, work, &out->noise);
    free(work);
    if (status != SHOT_OK)
        shot_channel_view_free(out);
    return status;
}
