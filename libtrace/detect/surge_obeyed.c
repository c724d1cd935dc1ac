/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The opening lets the pressure fall too; so where the rows up to the first fall do not bear it
 * out, a few more are taken, as many as the watch had seen when it told it. */
#include "detect/surge_obeyed.h"

#include <math.h>
#include <stdlib.h>

#include "detect/surge_watch.h"

static const double hop = 0.07; /* s between looks, less than rows at 10 Hz are apart */

/* The first row behind t. */
static size_t row_after(const shot_table *shot, size_t row, double t) {
    const double *times = shot->rows.column[0];
    while (row < shot->rows.rows && times[row] <= t)
        row++;
    return row;
}

shot_status surge_obeyed_find(const shot_table *shot, const shot_channel_view *pressure,
                              double onset, double last, double alarm_rate, surge_obeyed *out,
                              shot_error *error) {
    const double *times = shot->rows.column[0];
    *out = (surge_obeyed){
        .lowered = surge_watch_lowered(pressure, onset, fmin(last, onset + surge_relaxing))};
    if (isnan(out->lowered))
        return SHOT_OK;
    const double end = fmin(last, fmax(out->lowered, onset + surge_news));
    size_t row = row_after(shot, 0, out->lowered);
    while (row < shot->rows.rows && times[row - 1] <= end && !out->stands) {
        surge *one;
        size_t count;
        SHOT_TRY(surge_watch_until(shot, row, alarm_rate, &one, &count, error));
        if (count > 0) {
            out->one = one[0];
            out->one.eased = out->stands = true;
            out->known = times[row - 1];
        }
        free(one);
        row = row_after(shot, row + 1, times[row - 1] + hop);
    }
    return SHOT_OK;
}
