/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Figures that follow from times which were found, and how far the doubt of those moves them. */
#include "judge/measure_parts.h"

#include <math.h>

shot_dated shot_dated_start(const shot_mark *mark) {
    return (shot_dated){mark->from, mark->from_low, mark->from_high};
}

shot_dated shot_dated_end(const shot_mark *mark) {
    return (shot_dated){mark->to, mark->to_low, mark->to_high};
}

static bool is_doubtful(const shot_dated *one) {
    return isfinite(one->low) && isfinite(one->high);
}

static void add_move(shot_arms *arms, double change) {
    if (change < 0)
        arms->below += change * change;
    else
        arms->above += change * change; /* NaN, which leaves no interval, among them */
}

shot_arms shot_arms_of(double half) {
    return (shot_arms){half * half, half * half};
}

void shot_arms_add(shot_arms *arms, const shot_dated *time, double slope) {
    if (!is_doubtful(time))
        return;
    add_move(arms, slope * (time->low - time->at));
    add_move(arms, slope * (time->high - time->at));
}

shot_status shot_measure_add_arms(const char *name, double value, const shot_arms *arms,
                                  const char *note, shot_measure_list *out) {
    return shot_measure_list_add(out, name, value, value - sqrt(arms->below),
                                 value + sqrt(arms->above), note);
}

shot_status shot_measure_add_of_times(const shot_view *view, const char *name, shot_figure figure,
                                      const shot_dated *times, size_t count, double own,
                                      const char *note, shot_measure_list *out) {
    double at[SHOT_MOST_TIMES] = {0};
    shot_arms arms = shot_arms_of(own);
    bool any = own > 0;
    for (size_t i = 0; i < count; i++)
        at[i] = times[i].at;
    const double value = figure(view, at);
    for (size_t i = 0; i < count; i++) {
        if (!is_doubtful(&times[i]))
            continue;
        any = true;
        at[i] = times[i].low;
        add_move(&arms, figure(view, at) - value);
        at[i] = times[i].high;
        add_move(&arms, figure(view, at) - value);
        at[i] = times[i].at;
    }
    return any ? shot_measure_add_arms(name, value, &arms, note, out)
               : shot_measure_list_add(out, name, value, NAN, NAN, note);
}

static double length_between(const shot_view *view, const double *times) {
    return times[1] - times[0];
}

shot_status shot_measure_add_length(const char *name, shot_dated earlier, shot_dated later,
                                    const char *note, shot_measure_list *out) {
    const shot_dated times[] = {earlier, later};
    return shot_measure_add_of_times(NULL, name, length_between, times, 2, 0, note, out);
}

void shot_measure_part_of(shot_measure_list *list, const char *part, const char *whole) {
    const shot_measure *limit = shot_measure_list_find(list, whole);
    for (size_t i = 0; limit != NULL && i < list->count; i++) {
        shot_measure *one = &list->items[i];
        if (shot_measure_kind_named(part) == one->kind && one->high > limit->high)
            one->high = fmax(limit->high, one->value);
    }
}
