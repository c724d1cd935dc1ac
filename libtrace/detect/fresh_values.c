/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A sensor slower than its logger. */
#include "detect/fresh_values.h"

#include <math.h>
#include <stdlib.h>

#include "detect/onset.h"
#include "signal/held_values.h"

shot_status shot_view_fresh(const shot_channel_view *view, shot_channel_view *out) {
    double stand;
    SHOT_TRY(shot_view_copy(view, out));
    if (out->processed)
        return SHOT_OK;
    double *work = malloc(shot_noise_workspace(out->n) * sizeof *work);
    if (work == NULL) {
        shot_channel_view_free(out);
        return SHOT_ERR_MEMORY;
    }
    shot_status status = SHOT_OK;
    if (held_look(out->t, out->y, out->n, out->step, out->noise.sd, work, &stand)) {
        out->n = held_keep_first(out->t, out->y, out->n, stand);
        out->rows = view->noise.spacing;
        status = shot_noise_estimate(out->t, out->y, out->n, out->step, work, &out->noise);
    }
    free(work);
    if (status != SHOT_OK)
        shot_channel_view_free(out);
    return status;
}

double shot_view_least_stand(const shot_channel_view *view) {
    static const double longest = 1.2; /* s, gate of a meter; common practice, no source */
    double least = longest, count = 0, brief = 0;
    size_t begin = 0;
    for (size_t i = 1; i < view->n; i++) {
        if (view->y[i] == view->y[i - 1])
            continue;
        if (begin > 0) { /* since when the first one stood nobody saw */
            const bool stood = i - begin >= 3;
            count++;
            brief += !stood;
            least = stood ? fmin(least, view->t[i] - view->t[begin]) : least;
        }
        begin = i;
    }
    return count >= 5 && brief <= 0.1 * count ? least : 0;
}
