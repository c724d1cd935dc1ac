/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Measures of the course of a shot: how long each phase took, and when the first drop fell. */
#include "judge/measure_parts.h"

#include <math.h>

/* Add later - earlier.  The two are found from different samples, so that their errors add in
 * quadrature; the interval keeps the asymmetry of neither. */
static shot_status add_difference(shot_measure_list *out, const char *name, double later,
                                  double later_half, double earlier, double earlier_half) {
    double value = later - earlier;
    double half = sqrt(later_half * later_half + earlier_half * earlier_half);
    if (half > 0)
        return shot_measure_list_add(out, name, value, value - half, value + half, NULL);
    return shot_measure_add_plain(out, name, value);
}

/* A hand that marks when the water came marks an instant: the phase has a start and no length. */
static bool is_instant(const shot_mark *mark) {
    return mark->to == mark->from;
}

static shot_status add_length(const shot_view *view, const char *kind, const char *name,
                              shot_measure_list *out) {
    const shot_mark *mark = shot_mark_list_last(&view->shot->marks, kind);
    if (mark == NULL || is_instant(mark))
        return SHOT_OK;
    return add_difference(out, name, mark->to, shot_measure_half_width(mark->to_low, mark->to_high),
                          mark->from, shot_measure_half_width(mark->from_low, mark->from_high));
}

static shot_status add_first_drip(const shot_view *view, const shot_mark *preinfusion,
                                  shot_measure_list *out) {
    const shot_mark *drip = shot_mark_list_last(&view->shot->marks, "first-drip");
    if (drip == NULL)
        return SHOT_OK;
    return add_difference(out, "first-drip.time", drip->from,
                          shot_measure_half_width(drip->from_low, drip->from_high),
                          preinfusion->from,
                          shot_measure_half_width(preinfusion->from_low, preinfusion->from_high));
}

static shot_status add_shot_time(const shot_view *view, const shot_mark *preinfusion,
                                 shot_measure_list *out) {
    const shot_mark *brew = shot_mark_list_last(&view->shot->marks, "brew");
    if (brew == NULL || !isfinite(brew->to))
        return SHOT_OK;
    double length = brew->to - preinfusion->from;
    SHOT_TRY(add_difference(
        out, "shot.time", brew->to, shot_measure_half_width(brew->to_low, brew->to_high),
        preinfusion->from, shot_measure_half_width(preinfusion->from_low, preinfusion->from_high)));
    double share =
        is_instant(preinfusion) ? NAN : 100 * (preinfusion->to - preinfusion->from) / length;
    return shot_measure_add_plain(out, "preinfusion.share", share);
}

static shot_status add_water(const shot_view *view, const shot_mark *preinfusion,
                             shot_measure_list *out) {
    /* else what came before the brew is not known */
    bool ended = isfinite(preinfusion->to) && !is_instant(preinfusion);
    double before = ended ? shot_view_water(view, preinfusion->from, preinfusion->to) : NAN;
    double all = shot_view_water(view, preinfusion->from, view->brew_to);
    SHOT_TRY(shot_measure_add_plain(out, "preinfusion.water", before));
    SHOT_TRY(shot_measure_add_plain(out, "water.used", all));
    return shot_measure_add_plain(out, "preinfusion.water-share", 100 * before / all);
}

shot_status shot_measure_course(const shot_view *view, shot_measure_list *out) {
    static const char *const phases[][2] = {{"preinfusion", "preinfusion.time"},
                                            {"fill", "fill.time"},
                                            {"soak", "soak.time"},
                                            {"ramp", "ramp.time"},
                                            {"brew", "brew.time"},
                                            {"release", "release.time"}};
    for (size_t i = 0; i < sizeof phases / sizeof *phases; i++)
        SHOT_TRY(add_length(view, phases[i][0], phases[i][1], out));
    const shot_mark *preinfusion = shot_mark_list_last(&view->shot->marks, "preinfusion");
    if (preinfusion == NULL)
        return SHOT_OK;
    SHOT_TRY(add_first_drip(view, preinfusion, out));
    SHOT_TRY(add_shot_time(view, preinfusion, out));
    return add_water(view, preinfusion, out);
}
