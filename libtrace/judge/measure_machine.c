/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Measures of the machine rather than of the coffee: how it fills, what its gauge reads at rest,
 * how its pump runs. */
#include "judge/measure_parts.h"

#include <math.h>

/* Before the earliest moment at which the water may have come. */
static shot_status add_zero(const shot_view *view, shot_measure_list *out) {
    const shot_mark *preinfusion = shot_mark_list_last(&view->shot->marks, "preinfusion");
    if (preinfusion == NULL || view->rows == 0)
        return SHOT_OK;
    double until = isfinite(preinfusion->from_low) ? preinfusion->from_low : preinfusion->from;
    double last = nextafter(until, -INFINITY);
    return shot_measure_add_level(view, "pressure", view->time[0], last, "pressure.zero", out);
}

static double mean_flow(const shot_view *view, const double *times) {
    return shot_view_water(view, times[0], times[1]) / (times[1] - times[0]);
}

static shot_status add_fill(const shot_view *view, shot_measure_list *out) {
    const shot_mark *fill = shot_mark_list_last(&view->shot->marks, "fill");
    if (fill == NULL || !(fill->to > fill->from))
        return SHOT_OK;
    double half;
    SHOT_TRY(shot_view_water_half(view, fill->from, fill->to, &half));
    const shot_dated times[] = {shot_dated_start(fill), shot_dated_end(fill)};
    return shot_measure_add_of_times(view, "fill.flow", mean_flow, times, 2,
                                     half / (fill->to - fill->from), NULL, out);
}

shot_status shot_measure_machine(const shot_view *view, shot_measure_list *out) {
    const shot_mark *ripple = shot_mark_list_last(&view->shot->marks, "ripple");
    SHOT_TRY(add_zero(view, out));
    SHOT_TRY(add_fill(view, out));
    if (ripple == NULL)
        return SHOT_OK;
    return shot_measure_list_add(out, "ripple.rate", ripple->value, ripple->value_low,
                                 ripple->value_high, NULL);
}
