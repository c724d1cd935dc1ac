/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A simulated shot in one call. */
#include <shottrace/puck/synth.h>

#include <stdlib.h>
#include <string.h>

static shot_status brew_and_log(shot_synth *shot) {
    SHOT_TRY(shot_brew_new(&shot->recipe, &shot->brew));
    SHOT_TRY(shot_truth_find(&shot->recipe, shot->brew, &shot->truth));
    SHOT_TRY(shot_log_new(&shot->logger, &shot->recipe, shot->brew, &shot->truth, &shot->log));
    shot_truth_sort(&shot->truth);
    return SHOT_OK;
}

shot_status shot_synth_brew(shot_recipe *recipe, const shot_logger *logger, shot_synth **out) {
    *out = NULL;
    shot_synth *shot = calloc(1, sizeof *shot);
    if (shot == NULL)
        return SHOT_ERR_MEMORY;
    shot->recipe = *recipe;
    shot->logger = *logger;
    const shot_status status = brew_and_log(shot);
    if (status != SHOT_OK) {
        memset(&shot->recipe, 0, sizeof shot->recipe); /* still the caller's */
        shot_synth_free(shot);
        return status;
    }
    memset(recipe, 0, sizeof *recipe);
    *out = shot;
    return SHOT_OK;
}

shot_status shot_synth_new(shot_style style, shot_grade grade, uint64_t seed, uint64_t index,
                           shot_synth **out) {
    *out = NULL;
    shot_logger logger;
    SHOT_TRY(shot_logger_draw(grade, seed, index, 1, &logger));
    shot_recipe recipe;
    SHOT_TRY(shot_recipe_draw(style, seed, index, 1, &recipe));
    const shot_status status = shot_synth_brew(&recipe, &logger, out);
    shot_recipe_free(&recipe);
    return status;
}

void shot_synth_free(shot_synth *shot) {
    if (shot == NULL)
        return;
    shot_recipe_free(&shot->recipe);
    shot_brew_free(shot->brew);
    shot_log_free(shot->log);
    shot_truth_free(&shot->truth);
    free(shot);
}
