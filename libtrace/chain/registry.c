/* SPDX-License-Identifier: GPL-3.0-or-later */
/* All filters by name.  A new filter needs its #include and its line here. */
#include <shottrace/chain/registry.h>

#include <string.h>

#include <shottrace/chain/find.h>
#include <shottrace/detect/knees.h>
#include <shottrace/detect/pulses.h>
#include <shottrace/detect/segment.h>
#include <shottrace/detect/spectrum.h>
#include <shottrace/detect/surges.h>
#include <shottrace/filter/align.h>
#include <shottrace/filter/clean.h>
#include <shottrace/filter/derive.h>
#include <shottrace/filter/diff.h>
#include <shottrace/filter/integrate.h>
#include <shottrace/filter/join.h>
#include <shottrace/filter/pick.h>
#include <shottrace/filter/resample.h>
#include <shottrace/filter/smooth.h>
#include <shottrace/filter/split.h>
#include <shottrace/filter/tag.h>
#include <shottrace/judge/average.h>
#include <shottrace/judge/check.h>
#include <shottrace/judge/compare.h>
#include <shottrace/judge/marks.h>
#include <shottrace/judge/report.h>
#include <shottrace/judge/sweep.h>
#include <shottrace/puck/synth_source.h>
#include <shottrace/stream/read.h>
#include <shottrace/stream/write.h>

/* In the order in which a chain would have them. */
/* clang-format off */
static const shot_description *const descriptions[] = {
    &shot_read,
    &shot_synth_description,
    &shot_join,
    &shot_check,
    &shot_split,
    &shot_tag,
    &shot_pick,
    &shot_find,
    &shot_clean,
    &shot_align,
    &shot_resample,
    &shot_smooth,
    &shot_diff,
    &shot_integrate,
    &shot_derive,
    &shot_segment,
    &shot_knees,
    &shot_surges,
    &shot_pulses,
    &shot_spectrum,
    &shot_average,
    &shot_marks,
    &shot_report,
    &shot_compare,
    &shot_sweep,
    &shot_write,
    NULL,
};
/* clang-format on */

const shot_description *const *shot_descriptions(void) {
    return descriptions;
}

const shot_description *shot_description_named(const char *name) {
    if (strncmp(name, "shot-", 5) == 0)
        name += 5;
    for (size_t i = 0; descriptions[i] != NULL; i++)
        if (strcmp(descriptions[i]->name, name) == 0)
            return descriptions[i];
    return NULL;
}
