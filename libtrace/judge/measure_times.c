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

/* Squares of how far a figure may lie below and above its value. */
typedef struct arms {
    double below, above;
} arms;

static void add_move(arms *a, double change) {
    if (change < 0)
        a->below += change * change;
    else
        a->above += change * change; /* NaN, which leaves no interval, among them */
}

shot_status shot_measure_add_of_times(const shot_view *view, const char *name, shot_figure figure,
                                      const shot_dated *times, size_t count, double own,
                                      const char *note, shot_measure_list *out) {
    double at[SHOT_MOST_TIMES] = {0};
    arms a = {own * own, own * own};
    bool any = own > 0;
    for (size_t i = 0; i < count; i++)
        at[i] = times[i].at;
    const double value = figure(view, at);
    for (size_t i = 0; i < count; i++) {
        if (!is_doubtful(&times[i]))
            continue;
        any = true;
        at[i] = times[i].low;
        add_move(&a, figure(view, at) - value);
        at[i] = times[i].high;
        add_move(&a, figure(view, at) - value);
        at[i] = times[i].at;
    }
    return shot_measure_list_add(out, name, value, any ? value - sqrt(a.below) : NAN,
                                 any ? value + sqrt(a.above) : NAN, note);
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
