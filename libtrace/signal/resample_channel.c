/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One channel of a record on its way to the grid. */
#include "signal/resample_channel.h"

#include <math.h>
#include <string.h>

#include <shottrace/signal/median.h>

#include "signal/intervals.h"
#include "signal/missing.h"

/* Samples that a run may gather before it is asked to pass them on. */
enum { ENOUGH = 1024 };

void resample_channel_init(resample_channel *channel, const resample_grid *grid,
                           resample_method method, resample_reach reach, bool weighed) {
    *channel = (resample_channel){.reach = reach, .column.weighed = weighed};
    resample_run_init(&channel->run, grid, method, weighed);
}

void resample_channel_begin(resample_channel *channel, int64_t k) {
    channel->intervals = 0;
    channel->early = 0;
    channel->settled = channel->open = false;
    resample_column_begin(&channel->column, k);
}

void resample_channel_clear(resample_channel *channel) {
    resample_run_clear(&channel->run);
    resample_column_clear(&channel->column);
}

static void note_interval(resample_channel *channel, double interval) {
    channel->recent[channel->intervals++ % RESAMPLE_RECENT] = interval;
    channel->shortest = channel->intervals == 1 ? interval : fmin(channel->shortest, interval);
}

/* Median of the recent intervals; a step of the grid while there is none. */
static double usual_spacing(resample_channel *channel) {
    double sorted[RESAMPLE_RECENT];
    const size_t n = channel->intervals < RESAMPLE_RECENT ? channel->intervals : RESAMPLE_RECENT;
    if (n == 0)
        return channel->run.grid->step;
    memcpy(sorted, channel->recent, n * sizeof *sorted);
    channel->shortest = INFINITY;
    for (size_t i = 0; i < n; i++)
        channel->shortest = fmin(channel->shortest, sorted[i]);
    return shot_median(sorted, n);
}

static double longest_hold(const resample_channel *channel) {
    return RESAMPLE_HOLD * channel->run.grid->step;
}

static bool is_gap(resample_channel *channel, double interval) {
    const resample_reach reach = channel->reach;
    const double hold = longest_hold(channel);
    if (!reach.spacings)
        return interval > reach.length;
    if (!channel->settled)
        return interval > hold;
    /* The median is not below the shortest: in most rows that settles it. */
    if (interval <= fmin(reach.length * channel->shortest, hold))
        return false;
    return interval > fmin(reach.length * usual_spacing(channel), hold);
}

static shot_status close_run(resample_channel *channel) {
    channel->open = false;
    return resample_run_finish(&channel->run, &channel->column);
}

/* Samples of a run that goes on. */
static shot_status go_on(resample_channel *channel, const double *t, const double *y, size_t n) {
    channel->last = t[n - 1];
    SHOT_TRY(resample_run_push(&channel->run, t, y, n));
    return channel->run.n >= ENOUGH ? resample_run_flush(&channel->run, &channel->column) : SHOT_OK;
}

/* A sample, now that the usual spacing is known. */
static shot_status take(resample_channel *channel, double t, double y) {
    if (channel->open && is_gap(channel, t - channel->last))
        SHOT_TRY(close_run(channel));
    if (!channel->open)
        resample_run_begin(&channel->run, usual_spacing(channel));
    channel->open = true;
    return go_on(channel, &t, &y, 1);
}

/* Whether no interval is a gap, at a glance: no median is below the shortest. */
static bool are_near(const resample_channel *channel, const double *t, size_t n,
                     shot_intervals *all) {
    const resample_reach reach = channel->reach;
    *all = (shot_intervals){channel->shortest, 0};
    intervals_take_one(t[0] - channel->last, all);
    intervals_take(t, n, all);
    if (!reach.spacings)
        return all->longest <= reach.length;
    return all->longest <= fmin(reach.length * all->shortest, longest_hold(channel));
}

/* Judge the samples that waited. */
static shot_status settle(resample_channel *channel) {
    const double *t = channel->early_t, *y = channel->early_y;
    const size_t n = channel->early;
    shot_intervals all;
    channel->settled = true;
    for (size_t i = 1; i < n; i++)
        note_interval(channel, t[i] - t[i - 1]);
    channel->early = 0;
    SHOT_TRY(take(channel, t[0], y[0]));
    if (n > 1 && are_near(channel, t + 1, n - 1, &all))
        return go_on(channel, t + 1, y + 1, n - 1);
    for (size_t i = 1; i < n; i++)
        SHOT_TRY(take(channel, t[i], y[i]));
    return SHOT_OK;
}

/* A row without a sample: has the channel been silent for so long that it is a gap? */
static shot_status pass_silence(resample_channel *channel, double t) {
    if (!channel->settled && channel->early > 0 &&
        is_gap(channel, t - channel->early_t[channel->early - 1]))
        SHOT_TRY(settle(channel));
    if (channel->settled && channel->open && is_gap(channel, t - channel->last))
        SHOT_TRY(close_run(channel));
    if (channel->open || channel->early > 0)
        return SHOT_OK;
    return resample_column_skip(&channel->column, resample_grid_first(channel->run.grid, t, 1));
}

shot_status resample_channel_push(resample_channel *channel, double t, double y) {
    if (isnan(y))
        return pass_silence(channel, t);
    if (channel->settled) {
        note_interval(channel, t - channel->last);
        return take(channel, t, y);
    }
    channel->early_t[channel->early] = t;
    channel->early_y[channel->early++] = y;
    return channel->early == RESAMPLE_EARLY ? settle(channel) : SHOT_OK;
}

/* ---- many at once ---- */

static void note_intervals(resample_channel *channel, const double *t, size_t n) {
    for (size_t i = n > RESAMPLE_RECENT ? n - RESAMPLE_RECENT : 0; i < n; i++)
        channel->recent[(channel->intervals + i) % RESAMPLE_RECENT] =
            t[i] - (i > 0 ? t[i - 1] : channel->last);
    channel->intervals += n;
}

/* Samples, none of which is missing, in a run that goes on; *taken tells that they were. */
static shot_status take_near(resample_channel *channel, const double *t, const double *y, size_t n,
                             bool *taken) {
    shot_intervals all;
    *taken = are_near(channel, t, n, &all);
    if (!*taken)
        return SHOT_OK;
    note_intervals(channel, t, n);
    channel->shortest = all.shortest;
    return go_on(channel, t, y, n);
}

shot_status resample_channel_push_block(resample_channel *channel, const double *t, const double *y,
                                        size_t n) {
    enum { SOME = 512 };
    for (size_t done = 0; done < n;) {
        const bool goes_on = channel->settled && channel->open && channel->intervals > 0;
        const size_t most = !goes_on ? 0 : n - done < SOME ? n - done : SOME;
        size_t some = !any_missing(y + done, most) ? most : 0;
        bool taken = false;
        while (some < most && !isnan(y[done + some]))
            some++;
        if (some > 0)
            SHOT_TRY(take_near(channel, t + done, y + done, some, &taken));
        else
            some = 1;
        for (size_t i = 0; i < some && !taken; i++)
            SHOT_TRY(resample_channel_push(channel, t[done + i], y[done + i]));
        done += some;
    }
    return SHOT_OK;
}

shot_status resample_channel_flush(resample_channel *channel) {
    return channel->open ? resample_run_flush(&channel->run, &channel->column) : SHOT_OK;
}

shot_status resample_channel_finish(resample_channel *channel, int64_t k) {
    if (!channel->settled && channel->early > 0)
        SHOT_TRY(settle(channel));
    if (channel->open)
        SHOT_TRY(close_run(channel));
    return resample_column_skip(&channel->column, k);
}
