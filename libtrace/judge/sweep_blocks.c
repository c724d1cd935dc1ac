/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A sweep in blocks: each student, or each day, at a level of its own. */
#include <math.h>
#include <stdlib.h>

#include <shottrace/signal/two_way.h>

#include "lack_of_memory.h"
#include "judge/sweep_parts.h"
#include "judge/words.h"
#include "signal/numbered.h"

void shot_sweep_take_blocks(shot_sweep_result *result) {
    const shot_compare_groups *groups = &result->groups;
    shot_sweep_points *p = &result->points;
    const bool by_days = groups->by_clock && groups->days > 1 && !result->by_day;
    const size_t *of = groups->block != NULL ? groups->block : groups->day;
    if (groups->block == NULL && !by_days)
        return;
    for (size_t i = 0; i < p->count; i++)
        p->block[i] = of[p->shot[i]];
    result->blocks = number_labels(p->block, p->count);
}

const size_t *shot_sweep_blocks_of(const shot_sweep_result *result) {
    return result->blocks > 0 ? result->points.block : NULL;
}

/* ---- what a block adds ---- */

static void take_shifts(shot_sweep_points *p, const double *shift) {
    for (size_t i = 0; i < p->count; i++) {
        p->shift[i] = shift[p->block[i]];
        p->y[i] -= p->shift[i];
    }
}

/* Of settings and blocks that cannot be told apart nothing is taken. */
shot_status shot_sweep_level_blocks(shot_sweep_result *result) {
    shot_sweep_points *p = &result->points;
    double rest, df;
    if (result->blocks == 0)
        return SHOT_OK;
    size_t *setting = malloc((p->count + 1) * sizeof *setting);
    double *level = malloc((p->count + 1) * sizeof *level);
    double *shift = malloc((p->count + 1) * sizeof *shift);
    shot_status status = SHOT_ERR_MEMORY;
    if (setting != NULL && level != NULL && shift != NULL) {
        const size_t settings = number_values(p->x, p->count, setting);
        status = shot_two_way_fit(p->y, setting, settings, p->block, result->blocks, p->count,
                                  level, shift, NULL, &rest, &df);
        result->levelled = status == SHOT_OK;
        if (result->levelled)
            take_shifts(p, shift);
    }
    free(setting);
    free(level);
    free(shift);
    return lack_of_memory_only(status);
}

/* ---- words ---- */

/* Of one block: how many settings it has, one or more. */
static bool has_one_setting(const shot_sweep_result *result, size_t block) {
    const shot_sweep_points *p = &result->points;
    double setting = NAN;
    for (size_t i = 0; i < p->count; i++) {
        if (result->groups.block[p->shot[i]] != block)
            continue;
        if (p->setting[i] != setting && !isnan(setting))
            return false;
        setting = p->setting[i];
    }
    return !isnan(setting);
}

static shot_status say_alone(shot_text *words, const void *user, size_t block) {
    const shot_sweep_result *result = user;
    return has_one_setting(result, block) ? shot_text_add(words, result->groups.block_names[block])
                                          : SHOT_OK;
}

static shot_status say_within(shot_text *words, const shot_sweep_result *result) {
    const char *key = result->settings->within;
    SHOT_TRY(shot_text_add_format(words,
                                  "Within %s: each of %zu has a level of its own, and the figures "
                                  "below are those of the average one.",
                                  key, result->blocks));
    return result->by_day ? SHOT_OK
                          : shot_text_add_format(words,
                                                 " Shots of one %s and setting are averaged first: "
                                                 "they count as one.",
                                                 key);
}

/* Of blocks with settings of their own. */
static shot_status say_not_told(shot_text *words, const shot_sweep_result *result) {
    const char *key = result->groups.block != NULL ? result->settings->within : "day";
    return shot_text_add_format(
        words,
        "What each %s adds cannot be told from what the settings do: the "
        "figures below are as they were measured. Pull every setting within "
        "each %s.",
        key, key);
}

shot_status shot_sweep_write_blocks(const shot_sweep_result *result, shot_text *text) {
    shot_text words = {0};
    if (result->blocks == 0)
        return SHOT_OK;
    if (!result->levelled)
        return shot_words_take_paragraph(text, &words, say_not_told(&words, result), 2, 2);
    if (result->groups.block == NULL)
        return shot_words_take_paragraph(
            text, &words,
            shot_text_add_format(&words,
                                 "The shots are of %zu days, each at a level of its own: the "
                                 "figures below are those of the average day.",
                                 result->blocks),
            2, 2);
    SHOT_TRY(shot_words_take_paragraph(text, &words, say_within(&words, result), 2, 2));
    return shot_words_list(text, "One setting alone, which tells nothing of the curve: ",
                           (shot_words_items){result->groups.blocks, say_alone, result}, NULL, 2,
                           2);
}
