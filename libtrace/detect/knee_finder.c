/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The knees of one channel: candidates by the narrowest interval over the threshold, each placed by
 * a broken line between its neighbours, and kept if it is a break and no bend. */
#include "detect/knee_finder.h"

#include <math.h>
#include <stdlib.h>

#include <shottrace/signal/distribution.h>
#include <shottrace/signal/segmented_line.h>
#include <shottrace/signal/slope_change.h>

/* A break is looked at this far on either side, where its neighbours are not nearer: longer than
 * any sensor's inertia, shorter than a shot's phases.  Common practice, no source. */
static const double reach = 1.5; /* s */

/* Changes of slope that move the channel by less than this part of its range in a second are not
 * worth a mark: nobody could see them on a needle.  Common practice, no source. */
static const double least_part = 0.01;

static size_t first_at(const shot_channel_view *view, double time) {
    size_t low = 0, high = view->n;
    while (low < high) {
        size_t middle = (low + high) / 2;
        if (view->t[middle] < time)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

/* One break between from and to, placed off the grid, with its interval. */
static bool place(const shot_channel_view *view, double from, double to, double guess, double level,
                  shot_knee *out) {
    size_t begin = first_at(view, from), end = first_at(view, nextafter(to, INFINITY));
    shot_segmented_line_options options = {.sd = view->noise.sd,
                                           .corr = view->noise.correlation,
                                           .z = shot_normal_quantile(0.5 + level / 2)};
    shot_segmented_line *line;
    if (end - begin < 5 || shot_segmented_line_fit(view->t + begin, view->y + begin, end - begin,
                                                   &guess, 1, &options, &line) != SHOT_OK)
        return false;
    const shot_line_break *one = &line->breaks[0];
    double half = options.z * one->change_se;
    *out = (shot_knee){.at = one->at,
                       .low = one->low,
                       .high = one->high,
                       .level_here = one->value,
                       .before = line->pieces[0].slope,
                       .after = line->pieces[1].slope,
                       .change_low = one->change - half,
                       .change_high = one->change + half};
    shot_segmented_line_free(line);
    return true;
}

/* The slope after less the slope before, from lines through the samples within `width` of the knee
 * that meet there; NaN with fewer than four samples on a side. */
static double change_within(const shot_channel_view *view, double at, double width) {
    double left_tt = 0, left_ty = 0, right_tt = 0, right_ty = 0, left_t = 0, right_t = 0;
    double left_y = 0, right_y = 0, left = 0, right = 0;
    for (size_t i = first_at(view, at - width); i < view->n && view->t[i] <= at + width; i++) {
        double t = view->t[i] - at, y = view->y[i];
        if (t < 0)
            left++, left_t += t, left_y += y, left_tt += t * t, left_ty += t * y;
        else
            right++, right_t += t, right_y += y, right_tt += t * t, right_ty += t * y;
    }
    if (left < 4 || right < 4)
        return NAN;
    double before = (left_ty - left_t * left_y / left) / (left_tt - left_t * left_t / left);
    double after = (right_ty - right_t * right_y / right) / (right_tt - right_t * right_t / right);
    return after - before;
}

/* A break shows the same change of slope however near one looks; of a bend, half the width shows
 * half the change.  Three quarters lies between.  Where there are too few samples to look nearer,
 * the candidate stands. */
static bool is_break(const shot_channel_view *view, double at, double width) {
    double wide = change_within(view, at, width), near = change_within(view, at, width / 2);
    return isnan(near) || isnan(wide) || near / wide >= 0.75;
}

static double range_of(const shot_channel_view *view) {
    double low = INFINITY, high = -INFINITY;
    for (size_t i = 0; i < view->n; i++) {
        low = fmin(low, view->y[i]);
        high = fmax(high, view->y[i]);
    }
    return high - low;
}

/* Whether the knee stands out from the steps in which the channel is written: over the shorter of
 * its sides it must move the value by two steps, or the stairs of a slow rise would have knees. */
static bool beats_steps(const shot_channel_view *view, const shot_knee *knee, double side) {
    return fabs(knee->after - knee->before) * side >= 2 * view->step;
}

static bool accept(const shot_channel_view *view, double before, double guess, double after,
                   double least, double level, shot_knee *out) {
    double from = fmax(before, guess - reach), to = fmin(after, guess + reach);
    if (!place(view, from, to, guess, level, out))
        return false;
    double side = fmin(out->at - from, to - out->at);
    return fabs(out->after - out->before) >= least && beats_steps(view, out, fmax(side, 0)) &&
           is_break(view, out->at, fmax(side, 0.3));
}

shot_status shot_knees_find(const shot_channel_view *view, double alarm_rate, double level,
                            shot_knee **out, size_t *count) {
    *out = NULL;
    *count = 0;
    double sd = view->noise.sd * sqrt(view->noise.inflation);
    if (!(sd > 0))
        sd = 1e-6 * range_of(view);
    if (!(sd > 0)) /* a constant channel has no knee */
        return SHOT_OK;
    shot_slope_changes *changes;
    SHOT_TRY(shot_slope_changes_find(view->t, view->y, view->n, sd,
                                     shot_slope_threshold(view->n, alarm_rate), &changes));
    *out = calloc(changes->count + 1, sizeof **out);
    double least = least_part * range_of(view);
    for (size_t i = 0; *out != NULL && i < changes->count; i++) {
        double before = i > 0 ? changes->at[i - 1] : view->t[0];
        double after = i + 1 < changes->count ? changes->at[i + 1] : view->t[view->n - 1];
        *count += accept(view, before, changes->at[i], after, least, level, &(*out)[*count]);
    }
    shot_slope_changes_free(changes);
    return *out ? SHOT_OK : SHOT_ERR_MEMORY;
}

/* ---- the final rise ---- */

/* The highest level that holds for half a second from `time` on for the next 8 s, and no longer
 * than the pressure keeps rising: what the rise leads to. */
static double level_after(const shot_channel_view *view, double time, double until) {
    double best = NAN;
    for (double from = time; from + 0.5 <= fmin(time + 8, until); from += 0.25) {
        double sum = 0, n = 0;
        for (size_t i = first_at(view, from); i < view->n && view->t[i] < from + 0.5; i++)
            sum += view->y[i], n++;
        if (n > 0 && (isnan(best) || sum / n > best))
            best = sum / n;
    }
    return best;
}

static double highest(const shot_knee *knees, size_t count) {
    double best = -INFINITY;
    for (size_t i = 0; i < count; i++)
        best = fmax(best, knees[i].level_here);
    return best;
}

/* The pressure of a restricted machine stands near its full value, or nears it steeply, and makes a
 * last small rise, slower than the main one, when the whole system is filled: 0.1 to 0.6 bar
 * (common practice, no source; a tenth either way for what noise does to it). */
ptrdiff_t shot_knees_final_rise(const shot_channel_view *pressure, const shot_knee *knees,
                                size_t count, double *height) {
    double top = highest(knees, count), steepest = 0;
    ptrdiff_t found = -1;
    for (size_t i = 0; i < count; i++) {
        const shot_knee *one = &knees[i];
        double until = pressure->t[pressure->n - 1];
        steepest = fmax(steepest, one->before);
        if (one->after < -0.5 * steepest && one->level_here > 0.5 * top)
            break; /* the pump is off */
        bool near_full = one->level_here > 0.6 * top;
        double rise = level_after(pressure, one->at, until) - one->level_here;
        bool slow = one->after > 0 && one->after < 0.6 * steepest;
        if (near_full && slow && rise >= 0.09 && rise <= 0.7) {
            found = (ptrdiff_t)i;
            *height = rise;
            if (one->after > one->before) /* after a plateau: this is it */
                return found;
        }
        steepest = fmax(steepest, one->after);
    }
    return found;
}
