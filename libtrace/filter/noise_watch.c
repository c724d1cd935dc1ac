/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The noise of a channel as it passes by. */
#include "filter/noise_watch.h"

#include <stdlib.h>
#include <string.h>

#include <shottrace/signal/median.h>
#include <shottrace/signal/resolution.h>

#include "room.h"
#include "signal/held_values.h"
#include "signal/missing.h"

enum { PIECE = 8192, MOST = 256 };

void noise_scratch_free(noise_scratch *scratch) {
    free(scratch->values);
    *scratch = (noise_scratch){0};
}

static noise_scratch *scratch_of(noise_watch *watch) {
    return watch->shared != NULL ? watch->shared : &watch->own;
}

/* What was in it is no longer needed; without memory it stays as it is. */
static shot_status make_scratch(noise_scratch *scratch, size_t room) {
    return room_to_work(&scratch->values, &scratch->room, room) ? SHOT_OK : SHOT_ERR_MEMORY;
}

/* Room for so many samples; t and y lie in one allocation. */
static shot_status make_room(noise_watch *watch, size_t wanted) {
    if (wanted <= watch->room)
        return SHOT_OK;
    size_t room = watch->room == 0 ? 512 : 2 * watch->room;
    while (room < wanted)
        room *= 2;
    SHOT_TRY(make_scratch(scratch_of(watch), held_noise_workspace(room)));
    double *samples = malloc(2 * room * sizeof *samples);
    if (samples == NULL)
        return SHOT_ERR_MEMORY;
    if (watch->count > 0) {
        memcpy(samples, watch->samples, watch->count * sizeof *samples);
        memcpy(samples + room, watch->samples + watch->room, watch->count * sizeof *samples);
    }
    free(watch->samples);
    watch->samples = samples;
    watch->room = room;
    return SHOT_OK;
}

/* A channel that never moves says nothing about the step of its figures. */
static double step_of(const double *y, size_t n) {
    for (size_t i = 1; i < n; i++)
        if (y[i] != y[0])
            return shot_resolution(y, n);
    return 0;
}

static bool judge(noise_watch *watch, shot_noise *out) {
    const double *t = watch->samples, *y = t + watch->room;
    const size_t n = watch->count;
    return n > 0 && held_noise_estimate_with(&watch->way, t, y, n, step_of(y, n),
                                             scratch_of(watch)->values, out) == SHOT_OK;
}

/* Keep the verdict on a full piece; every second of those kept goes when there are too many. */
static shot_status keep_verdict(noise_watch *watch) {
    shot_noise verdict;
    const bool wanted = watch->skipped == 0;
    watch->skipped = watch->skipped + 1 == watch->stride ? 0 : watch->skipped + 1;
    if (!wanted || !judge(watch, &verdict))
        return SHOT_OK;
    if (watch->verdicts == NULL)
        watch->verdicts = malloc(MOST * sizeof *watch->verdicts);
    if (watch->verdicts == NULL)
        return SHOT_ERR_MEMORY;
    if (watch->verdict_count == MOST) {
        for (size_t i = 0; i < MOST / 2; i++)
            watch->verdicts[i] = watch->verdicts[2 * i];
        watch->verdict_count = MOST / 2;
        watch->stride *= 2;
    }
    watch->verdicts[watch->verdict_count++] = verdict;
    return SHOT_OK;
}

shot_status noise_watch_push(noise_watch *watch, const double *t, const double *y, size_t n) {
    if (watch->stride == 0)
        watch->stride = 1;
    for (size_t done = 0; done < n;) {
        if (watch->count == PIECE) {
            SHOT_TRY(keep_verdict(watch));
            watch->count = 0;
        }
        const size_t left = n - done, free = PIECE - watch->count, some = left < free ? left : free;
        SHOT_TRY(make_room(watch, watch->count + some));
        watch->count += copy_present(t + done, y + done, some, watch->samples + watch->count,
                                     watch->samples + watch->room + watch->count);
        done += some;
    }
    return SHOT_OK;
}

static double median_of(const shot_noise *verdicts, size_t count, size_t field) {
    double values[MOST];
    for (size_t i = 0; i < count; i++)
        memcpy(&values[i], (const char *)&verdicts[i] + field, sizeof(double));
    return shot_median(values, count);
}

static bool any_longest(const shot_noise *verdicts, size_t count) {
    size_t i = 0;
    while (i < count && !verdicts[i].fitted_longest)
        i++;
    return i < count;
}

bool noise_watch_estimate(noise_watch *watch, shot_noise *out) {
    if (watch->verdict_count == 0)
        return judge(watch, out);
    const shot_noise *v = watch->verdicts;
    const size_t n = watch->verdict_count;
    *out = (shot_noise){.sd = median_of(v, n, offsetof(shot_noise, sd)),
                        .spacing = median_of(v, n, offsetof(shot_noise, spacing)),
                        .lag1 = median_of(v, n, offsetof(shot_noise, lag1)),
                        .correlation = median_of(v, n, offsetof(shot_noise, correlation)),
                        .inflation = median_of(v, n, offsetof(shot_noise, inflation)),
                        .fitted_sd = median_of(v, n, offsetof(shot_noise, fitted_sd)),
                        .fitted_correlation =
                            median_of(v, n, offsetof(shot_noise, fitted_correlation)),
                        .fitted_longest = any_longest(v, n)};
    return true;
}

void noise_watch_reset(noise_watch *watch) {
    watch->count = watch->verdict_count = watch->skipped = 0;
    watch->stride = 1;
}

void noise_watch_free(noise_watch *watch) {
    free(watch->samples);
    noise_scratch_free(&watch->own);
    free(watch->verdicts);
    *watch = (noise_watch){0};
}
