/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A running median: the order of the values in a window that slides. */
#include <shottrace/signal/running_median.h>

#include <math.h>
#include <stdlib.h>

#include "window_median.h"

struct shot_running_median {
    shot_sliding_window *window;
    window_median order;
    bool deviations;
};

shot_status shot_running_median_new(shot_reach reach, shot_missing missing, bool deviations,
                                    shot_running_median **out) {
    *out = NULL;
    shot_running_median *running = calloc(1, sizeof *running);
    if (running == NULL)
        return SHOT_ERR_MEMORY;
    running->deviations = deviations;
    const shot_status status =
        shot_sliding_window_new(reach, SHOT_ENDS_CUT, missing, &running->window);
    if (status != SHOT_OK) {
        shot_running_median_free(running);
        return status;
    }
    shot_running_median_reset(running);
    *out = running;
    return SHOT_OK;
}

void shot_running_median_free(shot_running_median *running) {
    if (running == NULL)
        return;
    shot_sliding_window_free(running->window);
    window_median_free(&running->order);
    free(running);
}

void shot_running_median_reset(shot_running_median *running) {
    shot_sliding_window_reset(running->window);
    window_median_clear(&running->order);
}

shot_status shot_running_median_push(shot_running_median *running, double t, double y) {
    return shot_sliding_window_push(running->window, t, y);
}

void shot_running_median_finish(shot_running_median *running) {
    shot_sliding_window_finish(running->window);
}

shot_status shot_running_median_next(shot_running_median *running, shot_median_at *at,
                                     bool *ready) {
    shot_window_view view;
    *ready = shot_sliding_window_next(running->window, &view);
    if (!*ready)
        return SHOT_OK;
    *at = (shot_median_at){view.at, view.value, NAN, NAN, view.n};
    if (view.n == 0)
        return SHOT_OK;
    SHOT_TRY(window_median_follow(&running->order, &view));
    at->median = window_median_value(&running->order, view.n);
    if (running->deviations)
        at->mad = window_median_mad(&running->order, at->median, view.n);
    return SHOT_OK;
}
