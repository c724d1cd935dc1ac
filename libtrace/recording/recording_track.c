/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One track of a recording on its way to the rate of a trace. */
#include "recording/recording_track.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

shot_status shot_track_init(shot_track *track, double ratio) {
    *track = (shot_track){.ratio = ratio};
    if (!(ratio > 0))
        return SHOT_ERR_RANGE;
    return ratio != 1 ? shot_bandlimited_new(ratio, 0, SHOT_BANDLIMITED_DEFAULT, &track->kernel)
                      : SHOT_OK;
}

static shot_status make_room(double **place, size_t *room, size_t wanted) {
    if (wanted <= *room)
        return SHOT_OK;
    size_t more = 2 * *room > wanted ? 2 * *room : wanted;
    double *larger = realloc(*place, more * sizeof *larger);
    if (larger == NULL)
        return SHOT_ERR_MEMORY;
    *place = larger;
    *room = more;
    return SHOT_OK;
}

static void came_out(shot_track *track, size_t count) {
    track->count += count;
    track->next += count;
}

/* The first output at or behind the input sample at hand. */
static uint64_t output_from(const shot_track *track) {
    return (uint64_t)ceil((double)track->position / track->ratio);
}

static shot_status close_run(shot_track *track) {
    if (!track->open)
        return SHOT_OK;
    track->open = false;
    SHOT_TRY(make_room(&track->out, &track->room,
                       track->count + shot_bandlimited_room(track->kernel, 0)));
    came_out(track, shot_bandlimited_finish(track->kernel, track->out + track->count));
    return SHOT_OK;
}

/* Outputs before the input sample at hand that no run has given are missing. */
static shot_status fill_gap(shot_track *track) {
    uint64_t first = output_from(track);
    if (first <= track->next)
        return SHOT_OK;
    size_t missing = (size_t)(first - track->next);
    SHOT_TRY(make_room(&track->out, &track->room, track->count + missing));
    for (size_t i = 0; i < missing; i++)
        track->out[track->count + i] = NAN;
    came_out(track, missing);
    return SHOT_OK;
}

static shot_status open_run(shot_track *track) {
    if (track->open)
        return SHOT_OK;
    SHOT_TRY(fill_gap(track));
    double offset = (double)track->next * track->ratio - (double)track->position;
    shot_bandlimited_reset(track->kernel, offset > 0 ? offset : 0);
    track->open = true;
    return SHOT_OK;
}

static shot_status push_run(shot_track *track, const double *x, size_t count) {
    SHOT_TRY(open_run(track));
    SHOT_TRY(make_room(&track->out, &track->room,
                       track->count + shot_bandlimited_room(track->kernel, count)));
    came_out(track, shot_bandlimited_push(track->kernel, x, count, track->out + track->count));
    track->position += count;
    return SHOT_OK;
}

static shot_status pass_as_they_are(shot_track *track, const double *x, size_t count) {
    SHOT_TRY(make_room(&track->out, &track->room, track->count + count));
    for (size_t i = 0; i < count; i++)
        track->out[track->count + i] = isfinite(x[i]) ? x[i] : NAN;
    came_out(track, count);
    return SHOT_OK;
}

/* Stretches of samples and of missing ones, in turn. */
static shot_status push_stretches(shot_track *track, const double *x, size_t count) {
    for (size_t at = 0, end = 0; at < count; at = end) {
        bool there = isfinite(x[at]);
        while (end < count && (isfinite(x[end]) != 0) == there)
            end++;
        if (there) {
            SHOT_TRY(push_run(track, x + at, end - at));
            continue;
        }
        SHOT_TRY(close_run(track));
        track->position += end - at;
        SHOT_TRY(fill_gap(track));
    }
    return SHOT_OK;
}

/* Copy samples without their stride.  True if all are finite: 0 times any other is NaN. */
static bool lay_out(const double *x, size_t count, size_t stride, double *out) {
    enum { LANES = 8 };
    double zeros[LANES] = {0};
    size_t i = 0;
    for (; i + LANES <= count; i += LANES)
        for (size_t k = 0; k < LANES; k++) {
            out[i + k] = x[(i + k) * stride];
            zeros[k] += out[i + k] * 0;
        }
    for (; i < count; i++) {
        out[i] = x[i * stride];
        zeros[0] += out[i] * 0;
    }
    for (size_t k = 1; k < LANES; k++)
        zeros[0] += zeros[k];
    return zeros[0] == 0;
}

shot_status shot_track_push(shot_track *track, const double *x, size_t count, size_t stride) {
    SHOT_TRY(make_room(&track->run, &track->run_room, count));
    bool finite = lay_out(x, count, stride, track->run);
    for (size_t i = 0; i < count && !finite; i++)
        track->infinite += isinf(track->run[i]) != 0;
    if (track->kernel == NULL)
        return pass_as_they_are(track, track->run, count);
    return finite && count > 0 ? push_run(track, track->run, count)
                               : push_stretches(track, track->run, count);
}

shot_status shot_track_finish(shot_track *track) {
    return track->kernel != NULL ? close_run(track) : SHOT_OK;
}

void shot_track_drop(shot_track *track, size_t count) {
    track->count -= count;
    if (track->count > 0) /* without outputs there may be no room either */
        memmove(track->out, track->out + count, track->count * sizeof *track->out);
}

void shot_track_free(shot_track *track) {
    shot_bandlimited_free(track->kernel);
    free(track->run);
    free(track->out);
    *track = (shot_track){0};
}
