/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a log that was cut short, or that ends in the brew, does not tell: a figure of the whole
 * shot would be one of its beginning. */
#include "judge/measure_parts.h"

#include <math.h>

/* The scale goes on to the last drop. */
static const char *const of_the_log[] = {"stream.time",       "stream.outflow",   "beverage.mass",
                                         "brew.ratio",        "extraction.yield", "model.yield",
                                         "model.early-solids"};

/* Their end is that of the brew.  (Other measures of the brew need its end and are missing.) */
static const char *const of_the_brew[] = {"preinfusion.water-share", "pressure.peak", "water.used"};

/* None so far is not none. */
static const char *const counts[] = {"knee.count", "surge.count", "pulse.count"};

static void leave_out_none(shot_measure_list *list) {
    for (size_t i = 0; i < sizeof counts / sizeof *counts; i++) {
        const shot_measure *one = shot_measure_list_find(list, counts[i]);
        if (one != NULL && one->value == 0)
            shot_measure_list_leave_out(list, &counts[i], 1);
    }
}

const char *shot_measure_lack(const shot_table *shot) {
    const shot_mark *brew = shot_mark_list_last(&shot->marks, "brew");
    if (shot->cut)
        return "cut short";
    return brew != NULL && !isfinite(brew->to) ? "no end of the brew" : NULL;
}

void shot_measure_leave_out_cut(const shot_table *shot, shot_measure_list *list) {
    if (shot_measure_lack(shot) == NULL)
        return;
    const bool brew_ended = shot_measure_list_find(list, "shot.time") != NULL;
    shot_measure_list_leave_out(list, of_the_log, sizeof of_the_log / sizeof *of_the_log);
    if (brew_ended)
        return;
    shot_measure_list_leave_out(list, of_the_brew, sizeof of_the_brew / sizeof *of_the_brew);
    leave_out_none(list);
}
