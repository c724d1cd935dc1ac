/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Measures of pressure and temperature: levels, slope and steadiness. */
#include "judge/measure_parts.h"

#include <math.h>

/* The highest mean of the samples within 0.5 s after each one: a single spike is no peak. */
static double peak(const shot_view *view) {
    const double *pressure = shot_table_column(view->shot, "pressure");
    double best = NAN, sum = 0;
    size_t first = 0, count = 0;
    for (size_t last = 0; pressure != NULL && last < view->rows; last++) {
        if (isnan(pressure[last]))
            continue;
        sum += pressure[last];
        count++;
        for (; view->time[last] - view->time[first] > 0.5; first++)
            if (!isnan(pressure[first])) {
                sum -= pressure[first];
                count--;
            }
        double mean = sum / (double)count;
        best = isnan(best) || mean > best ? mean : best;
    }
    return best;
}

static shot_status add_brew(const shot_view *view, shot_measure_list *out) {
    shot_straight_line line;
    if (shot_view_line(view, "pressure", view->brew_from, view->brew_to, &line) != SHOT_OK)
        return SHOT_OK;
    double half = shot_straight_line_half_width(&line, line.slope_se, SHOT_MEASURE_LEVEL);
    SHOT_TRY(shot_measure_add_level(out, "brew.pressure", &line));
    SHOT_TRY(shot_measure_list_add(out, "brew.pressure.slope", line.slope, line.slope - half,
                                   line.slope + half, NULL));
    return shot_measure_add_plain(out, "brew.pressure.steadiness", line.sd);
}

shot_status shot_measure_pressure(const shot_view *view, shot_measure_list *out) {
    shot_straight_line line;
    const shot_mark *soak = shot_mark_list_last(&view->shot->marks, "soak");
    if (soak != NULL && shot_view_line(view, "pressure", soak->from, soak->to, &line) == SHOT_OK)
        SHOT_TRY(shot_measure_add_level(out, "soak.pressure", &line));
    SHOT_TRY(shot_measure_add_plain(out, "pressure.peak", peak(view)));
    SHOT_TRY(add_brew(view, out));
    if (shot_view_line(view, "temperature", view->brew_from, view->brew_to, &line) == SHOT_OK)
        SHOT_TRY(shot_measure_add_level(out, "brew.temperature", &line));
    return SHOT_OK;
}
