/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rows of nothing but zeros. */
#include "filter/lost_frames.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "signal/wide.h"

/* The least that is no rest, in the channel's own unit; common practice, no source. */
static const struct {
    const char *name;
    double level;
    bool lasts;
} natures[] = {
    {"pressure", 0.5, false}, {"flow", 0.5, false},      {"outflow", 0.5, false},
    {"weight", 2, true},      {"temperature", 20, true}, {"water", 2, true},
};

static void set_nature(lost_frames *frames, size_t column, const char *name) {
    frames->before[column] = frames->level[column] = NAN;
    frames->lasts[column] = false;
    for (size_t i = 0; i < sizeof natures / sizeof *natures; i++)
        if (strcmp(natures[i].name, name) == 0) {
            frames->level[column] = natures[i].level;
            frames->lasts[column] = natures[i].lasts;
            return;
        }
}

static shot_status make_room(lost_frames *frames, size_t columns) {
    if (columns == frames->columns)
        return SHOT_OK;
    lost_frames_free(frames);
    frames->before = calloc(columns, sizeof *frames->before);
    frames->level = calloc(columns, sizeof *frames->level);
    frames->lasts = calloc(columns, sizeof *frames->lasts);
    if (frames->before == NULL || frames->level == NULL || frames->lasts == NULL)
        return SHOT_ERR_MEMORY;
    frames->columns = columns;
    return SHOT_OK;
}

shot_status lost_frames_begin(lost_frames *frames, const shot_head *head) {
    SHOT_TRY(make_room(frames, head->channel_count));
    frames->count = 0;
    for (size_t c = 0; c < frames->columns; c++)
        set_nature(frames, c, head->channels[c].name);
    return SHOT_OK;
}

/* The channel stands at a level on both sides. */
static bool stands(const lost_frames *frames, size_t c, double before, double behind) {
    return before * behind > 0 && fmin(fabs(before), fabs(behind)) >= frames->level[c];
}

static bool is_lost(const lost_frames *frames, double *const *column, size_t i) {
    const double apart = column[0][i + 1] - (i > 0 ? column[0][i - 1] : frames->before[0]);
    size_t jumps = 0;
    bool sure = apart <= 0.25;
    for (size_t c = 1; c < frames->columns; c++) {
        const double before = i > 0 ? column[c][i - 1] : frames->before[c];
        if (isnan(column[c][i]))
            continue;
        if (column[c][i] != 0)
            return false;
        if (!stands(frames, c, before, column[c][i + 1]))
            continue;
        jumps++;
        sure = sure || frames->lasts[c];
    }
    return jumps >= 2 && sure;
}

/* Whether no value is 0 or missing. */
SHOT_WIDE static bool all_off_zero(const double *y, size_t n) {
    int64_t off = 0;
#pragma omp simd reduction(+ : off)
    for (size_t i = 0; i < n; i++)
        off += fabs(y[i]) > 0 ? 1 : 0;
    return off == (int64_t)n;
}

/* A channel that is never 0 tells that no row is lost; a temperature, which mostly is the last one,
 * does. */
static bool none_is_lost(const lost_frames *frames, double *const *column, size_t n) {
    for (size_t c = frames->columns; c-- > 1;)
        if (all_off_zero(column[c], n))
            return true;
    return false;
}

static void take_out(lost_frames *frames, double *const *column, size_t i) {
    if (frames->count++ == 0)
        frames->first = column[0][i];
    for (size_t c = 1; c < frames->columns; c++)
        column[c][i] = NAN;
}

void lost_frames_take_out(lost_frames *frames, double *const *column, size_t ready, size_t rows) {
    if (ready == 0)
        return;
    const size_t known = none_is_lost(frames, column, ready) ? 0 : ready;
    for (size_t i = 0; i < known && i + 1 < rows; i++)
        if (is_lost(frames, column, i))
            take_out(frames, column, i);
    for (size_t c = 0; c < frames->columns; c++)
        frames->before[c] = column[c][ready - 1];
}

void lost_frames_free(lost_frames *frames) {
    free(frames->before);
    free(frames->level);
    free(frames->lasts);
    *frames = (lost_frames){0};
}
