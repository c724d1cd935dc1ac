/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Speed of the simulator: shots of about 30 s, logged at 10 Hz, with their truth, on one core.
 * The aim is 10,000 of them in under 10 s. */
#define _POSIX_C_SOURCE 200809L
#include <stdio.h>
#include <time.h>

#include <shottrace/puck/synth.h>

static double seconds(void) {
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

/* Make `count` shots of a style; returns the seconds that were simulated, -1 on failure. */
static double brew_many(shot_style style, int count, size_t *rows) {
    double simulated = 0;
    for (int i = 0; i < count; i++) {
        shot_recipe recipe;
        shot_logger logger;
        shot_synth *shot;
        if (shot_recipe_draw(style, 1, (uint64_t)i, 1, &recipe) != SHOT_OK ||
            shot_logger_draw(SHOT_GRADE_TYPICAL, 1, (uint64_t)i, 1, &logger) != SHOT_OK)
            return -1;
        logger.rate = 10;
        const shot_status status = shot_synth_brew(&recipe, &logger, &shot);
        shot_recipe_free(&recipe);
        if (status != SHOT_OK)
            return -1;
        simulated += (double)shot->brew->count * SHOT_BREW_STEP;
        *rows += shot->log->rows;
        shot_synth_free(shot);
    }
    return simulated;
}

int main(void) {
    enum { EACH = 1000 };
    double simulated = 0;
    size_t rows = 0;
    const double start = seconds();
    for (int style = 0; style < SHOT_STYLE_COUNT; style++)
        simulated += brew_many((shot_style)style, EACH, &rows);
    const double taken = seconds() - start;
    printf("synth: %d shots, %.1f s long on average, %zu rows, in %.2f s; "
           "10000 shots of 30 s would take %.2f s\n",
           EACH * SHOT_STYLE_COUNT, simulated / (EACH * SHOT_STYLE_COUNT), rows, taken,
           taken / simulated * 30 * 10000);
    return 0;
}
