/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Measures of pressure and temperature: levels, slope and steadiness. */
#include "judge/pressure_shape.h"

#include <math.h>

static double peak(const shot_view *view) {
    const double *pressure = shot_table_column(view->shot, "pressure");
    double best = NAN;
    for (size_t i = 0; pressure != NULL && i < view->rows; i++)
        best = fmax(best, shot_view_half_second(view, pressure, i));
    return best;
}

static shot_status add_brew(const shot_view *view, shot_measure_list *out) {
    shot_straight_line line;
    if (shot_view_line(view, "pressure", view->brew_start.at, view->brew_end.at, &line) != SHOT_OK)
        return SHOT_OK;
    const double length = view->brew_end.at - view->brew_start.at;
    const double rounding = shot_view_rounding(view, "pressure", &line, length);
    /* a line may climb from half a step below to half a step above what is read */
    const double half =
        hypot(shot_straight_line_half_width(&line, line.slope_se, SHOT_MEASURE_LEVEL),
              2 * rounding / length);
    pressure_shape shape;
    SHOT_TRY(shot_pressure_shape(view, &line, &shape));
    SHOT_TRY(shot_measure_add_level(view, "pressure", view->brew_start.at, view->brew_end.at,
                                    "brew.pressure", out));
    SHOT_TRY(shot_measure_list_add(out, "brew.pressure.slope", line.slope, line.slope - half,
                                   line.slope + half, shape.words));
    SHOT_TRY(shot_measure_add_plain(out, "brew.pressure.step", shape.step));
    SHOT_TRY(
        shot_measure_add_plain(out, "brew.pressure.step-time", shape.step_at - view->water_in));
    SHOT_TRY(shot_measure_add_plain(out, "brew.pressure.bend", shape.bend));
    SHOT_TRY(
        shot_measure_add_plain(out, "brew.pressure.bend-time", shape.bend_at - view->water_in));
    if (line.sd > 0)
        return shot_measure_add_plain(out, "brew.pressure.steadiness", line.sd);
    return shot_measure_list_add(out, "brew.pressure.steadiness", 0, 0, rounding,
                                 "within the step of the figures");
}

/* Of pressure that pulses let in and out the mean is what it was, and no estimate of a level. */
static shot_status add_soak(const shot_view *view, shot_measure_list *out) {
    const shot_mark *soak = shot_mark_list_last(&view->shot->marks, "soak");
    shot_straight_line line;
    if (soak == NULL)
        return SHOT_OK;
    if (counted_marks_next(&view->marks, "pulse", NULL) == NULL)
        return shot_measure_add_level(view, "pressure", soak->from, soak->to, "soak.pressure", out);
    return shot_view_line(view, "pressure", soak->from, soak->to, &line) == SHOT_OK
               ? shot_measure_add_plain(out, "soak.pressure", line.level)
               : SHOT_OK;
}

shot_status shot_measure_pressure(const shot_view *view, shot_measure_list *out) {
    SHOT_TRY(add_soak(view, out));
    SHOT_TRY(shot_measure_add_plain(out, "pressure.peak", peak(view)));
    SHOT_TRY(add_brew(view, out));
    return shot_measure_add_level(view, "temperature", view->brew_start.at, view->brew_end.at,
                                  "brew.temperature", out);
}
