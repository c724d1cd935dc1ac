/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a log that was cut short does not tell: a figure of the whole shot would be one of its
 * beginning. */
#include "judge/measure_parts.h"

#include <stdlib.h>
#include <string.h>

/* The scale goes on to the last drop. */
static const char *const of_the_log[] = {"stream.time",       "stream.outflow",   "beverage.mass",
                                         "brew.ratio",        "extraction.yield", "model.yield",
                                         "model.early-solids"};

/* Their end is that of the brew.  (Other measures of the brew need its end and are missing.) */
static const char *const of_the_brew[] = {"preinfusion.water-share", "pressure.peak", "water.used"};

/* None so far is not none. */
static const char *const counts[] = {"knee.count", "surge.count", "pulse.count"};

static bool is_among(const char *const *names, size_t count, const char *name) {
    for (size_t i = 0; i < count; i++)
        if (strcmp(names[i], name) == 0)
            return true;
    return false;
}

#define AMONG(names, name) is_among(names, sizeof(names) / sizeof *(names), name)

static bool is_unknown(const shot_measure *one, bool brew_ended) {
    const char *name = one->kind->name;
    return AMONG(of_the_log, name) ||
           (!brew_ended && (AMONG(of_the_brew, name) || (one->value == 0 && AMONG(counts, name))));
}

void shot_measure_leave_out_cut(shot_measure_list *list) {
    const bool brew_ended = shot_measure_list_find(list, "shot.time") != NULL;
    size_t kept = 0;
    for (size_t i = 0; i < list->count; i++) {
        if (is_unknown(&list->items[i], brew_ended))
            free(list->items[i].note);
        else
            list->items[kept++] = list->items[i];
    }
    list->count = kept;
}
