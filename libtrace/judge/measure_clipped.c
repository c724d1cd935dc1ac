/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a gauge does not tell that stood at the end of its scale in the brew: how high the pressure
 * was, and whether it was held. */
#include "judge/measure_parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/text.h>

/* From this part of the brew on; a short overshoot hardly moves its mean.  common practice, no
 * source */
static const double least_share = 0.1;

/* They are at least what was found. */
static const char *const bounds[] = {"brew.pressure", "resistance.start", "resistance.least",
                                     "resistance.end"};

static const char *const shapes[] = {"brew.pressure.slope", "brew.pressure.steadiness",
                                     "brew.pressure.step",  "brew.pressure.step-time",
                                     "brew.pressure.bend",  "brew.pressure.bend-time",
                                     "resistance.trend"};

static double highest(const shot_view *view) {
    const double *pressure = shot_table_column(view->shot, "pressure");
    double most = NAN;
    for (size_t i = 0; pressure != NULL && i < view->rows; i++)
        most = fmax(most, pressure[i]);
    return most;
}

/* For how long within from..to the gauge stood at the end of its scale, in s. */
static double clipped(const shot_view *view, double from, double to) {
    const double most = highest(view);
    double sum = 0;
    for (const shot_mark *one = NULL;
         (one = counted_marks_next(&view->marks, "clip", one)) != NULL;) {
        const bool pressure = one->channel != NULL && strcmp(one->channel, "pressure") == 0;
        const double length = fmin(one->to, to) - fmax(one->from, from);
        if (pressure && one->value >= most && length > 0)
            sum += length;
    }
    return sum;
}

/* A note that was there stays before it. */
static shot_status bound(shot_measure *one, double length) {
    shot_text note = {0};
    shot_status status = SHOT_OK;
    if (one->note != NULL)
        status = shot_text_add_format(&note, "%s; ", one->note);
    if (status == SHOT_OK)
        status = shot_text_add_format(
            &note, "at least that: the gauge stood at the end of its scale for %.1f s", length);
    if (status != SHOT_OK) {
        shot_text_free(&note);
        return status;
    }
    free(one->note);
    one->note = note.bytes;
    one->low = one->high = one->level = NAN;
    return SHOT_OK;
}

static shot_status bound_named(shot_measure_list *list, const char *name, double length) {
    const shot_measure *one = shot_measure_list_find(list, name);
    return one != NULL ? bound(&list->items[one - list->items], length) : SHOT_OK;
}

shot_status shot_measure_bound_clipped(const shot_view *view, shot_measure_list *list) {
    const double whole = clipped(view, -INFINITY, INFINITY);
    const double brew = clipped(view, view->brew_start.at, view->brew_end.at);
    if (whole > 0)
        SHOT_TRY(bound_named(list, "pressure.peak", whole));
    if (!(brew > 0 && brew >= least_share * (view->brew_end.at - view->brew_start.at)))
        return SHOT_OK;
    for (size_t i = 0; i < sizeof bounds / sizeof *bounds; i++)
        SHOT_TRY(bound_named(list, bounds[i], brew));
    shot_measure_list_leave_out(list, shapes, sizeof shapes / sizeof *shapes);
    return SHOT_OK;
}
