/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The delay between two channels of a record. */
#include "signal/channel_delay.h"

#include <math.h>
#include <stdlib.h>

#include <shottrace/signal/delay.h>
#include <shottrace/signal/median.h>
#include <shottrace/signal/monotone_cubic.h>

#include "signal/intervals.h"
#include "signal/resample_channel.h"

/* Intervals above so many usual ones are gaps. */
enum { GAP = 5 };

/* The samples of one channel. */
typedef struct samples {
    double *t, *y; /* owned [n], room for twice as many */
    size_t n;
    double spacing; /* median interval, NaN with less than two */
} samples;

static void samples_free(samples *s) {
    free(s->t);
    free(s->y);
}

static shot_status samples_of(const double *t, const double *y, size_t n, samples *out) {
    samples s = {.t = malloc((2 * n + 1) * sizeof *s.t), .y = malloc((2 * n + 1) * sizeof *s.y)};
    *out = s;
    if (s.t == NULL || s.y == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t i = 0; i < n; i++)
        if (!isnan(y[i])) {
            s.t[s.n] = t[i];
            s.y[s.n++] = y[i];
        }
    for (size_t i = 1; i < s.n; i++)
        s.t[s.n + i - 1] = s.t[i] - s.t[i - 1];
    s.spacing = s.n > 1 ? shot_median(s.t + s.n, s.n - 1) : NAN;
    *out = s;
    return SHOT_OK;
}

/* Bring a channel onto a grid, from its own first place to `last` (not included); *out is the value
 * at place `first`, which is no earlier. */
static shot_status onto_grid(const samples *s, const resample_grid *grid, int64_t first,
                             int64_t last, resample_channel *channel, double **out) {
    const int64_t own = resample_grid_first(grid, s->t[0], 1);
    *out = NULL;
    resample_channel_init(channel, grid, RESAMPLE_CUBIC, (resample_reach){GAP, true}, false);
    resample_channel_begin(channel, own);
    for (size_t i = 0; i < s->n; i++)
        SHOT_TRY(resample_channel_push(channel, s->t[i], s->y[i]));
    SHOT_TRY(resample_channel_finish(channel, last));
    *out = channel->column.value + (first - own);
    return SHOT_OK;
}

typedef struct stretch {
    size_t first, n;
} stretch;

static stretch longest_common(const double *a, const double *b, size_t n) {
    stretch best = {0, 0}, now = {0, 0};
    for (size_t i = 0; i < n; i++) {
        if (isnan(a[i]) || isnan(b[i])) {
            now = (stretch){i + 1, 0};
            continue;
        }
        now.n++;
        if (now.n > best.n)
            best = now;
    }
    return best;
}

/* Alike or opposite, whichever correlates better; b is negated on the way. */
static shot_status either_way(const double *a, double *b, size_t n, size_t longest,
                              shot_delay *best, bool *opposite) {
    shot_delay alike, other;
    const shot_status first = shot_delay_find(a, b, n, longest, &alike);
    for (size_t i = 0; i < n; i++)
        b[i] = -b[i];
    const shot_status second = shot_delay_find(a, b, n, longest, &other);
    if (first == SHOT_ERR_MEMORY || second == SHOT_ERR_MEMORY)
        return SHOT_ERR_MEMORY;
    *opposite = second == SHOT_OK && (first != SHOT_OK || other.correlation > alike.correlation);
    *best = *opposite ? other : alike;
    const shot_delay *turned = *opposite ? &alike : &other;
    if (first == SHOT_OK && second == SHOT_OK && isnan(best->rival) &&
        shot_delay_fits_as_well(best, turned->correlation))
        best->rival = turned->samples;
    return *opposite ? second : first;
}

static shot_status compare(const resample_grid *grid, int64_t first_place, const double *a,
                           double *b, size_t n, double longest, channel_delay *out) {
    const stretch part = longest_common(a, b, n);
    const size_t lags = (size_t)ceil(longest / grid->step) + 1;
    shot_delay found;
    bool opposite;
    if (part.n < 2 * SHOT_DELAY_MARGIN(lags) + 16)
        return SHOT_ERR_SINGULAR;
    SHOT_TRY(either_way(a + part.first, b + part.first, part.n, lags, &found, &opposite));
    const int64_t from = first_place + (int64_t)part.first;
    *out = (channel_delay){
        .delay = found.samples * grid->step,
        .se = found.se * grid->step,
        .correlation = found.correlation,
        .opposite = opposite,
        .rival = found.rival * grid->step,
        .from = resample_grid_time(grid, from, 1),
        .to = resample_grid_time(grid, from + (int64_t)part.n - 1, 1),
    };
    return isfinite(out->se) ? SHOT_OK : SHOT_ERR_SINGULAR;
}

/* Index behind the run of samples that begins with that one. */
static size_t run_end(const samples *s, size_t first) {
    size_t end = first + 1;
    while (end < s->n && !(s->t[end] - s->t[end - 1] > GAP * s->spacing))
        end++;
    return end;
}

static samples run_of(const samples *s, size_t first, size_t end) {
    return (samples){s->t + first, s->y + first, end - first, s->spacing};
}

static double common_time(const samples *a, const samples *b) {
    return fmin(a->t[a->n - 1], b->t[b->n - 1]) - fmax(a->t[0], b->t[0]);
}

/* The run behind that one, if there is one. */
static bool next_run(const samples *all, samples *run) {
    const size_t first = (size_t)(run->t - all->t) + run->n;
    if (first >= all->n)
        return false;
    *run = run_of(all, first, run_end(all, first));
    return true;
}

/* Of each the run that has the longest time in common with one of the other: what lies in a hole
 * is not laid on a grid, which would be as long as the hole where a clock leapt.  Each sample is
 * looked at once, however many holes there are. */
static void cut_to_runs(samples *a, samples *b) {
    samples best_a = run_of(a, 0, 1), best_b = run_of(b, 0, 1);
    samples on_a = run_of(a, 0, run_end(a, 0)), on_b = run_of(b, 0, run_end(b, 0));
    double longest = 0;
    for (bool more = true; more;) {
        const double common = common_time(&on_a, &on_b);
        if (common > longest) {
            longest = common;
            best_a = on_a;
            best_b = on_b;
        }
        const bool a_ends_first = on_a.t[on_a.n - 1] < on_b.t[on_b.n - 1];
        more = a_ends_first ? next_run(a, &on_a) : next_run(b, &on_b);
    }
    *a = best_a;
    *b = best_b;
}

/* The grid has at most GAP places for each sample. */
static shot_status find(samples a, samples b, double longest, channel_delay *out) {
    const double step = interval_tidied(fmax(a.spacing, b.spacing));
    if (!(step > 0) || !(longest / step < 1e6))
        return SHOT_ERR_SINGULAR;
    const resample_grid grid = resample_grid_of(step);
    cut_to_runs(&a, &b);
    const double from = fmax(a.t[0], b.t[0]), to = fmin(a.t[a.n - 1], b.t[b.n - 1]);
    const int64_t first = resample_grid_first(&grid, from, 1),
                  last = resample_grid_first(&grid, to, 1);
    if (!(fabs(from) / step < 1e12) || last <= first)
        return SHOT_ERR_SINGULAR;
    resample_channel on_a = {0}, on_b = {0};
    double *values_a, *values_b;
    shot_status status = onto_grid(&a, &grid, first, last, &on_a, &values_a);
    if (status == SHOT_OK)
        status = onto_grid(&b, &grid, first, last, &on_b, &values_b);
    if (status == SHOT_OK)
        status = compare(&grid, first, values_a, values_b, (size_t)(last - first), longest, out);
    resample_channel_clear(&on_a);
    resample_channel_clear(&on_b);
    return status;
}

shot_status channel_delay_find(const double *t, const double *a, const double *b, size_t n,
                               double longest, channel_delay *out) {
    samples of_a, of_b = {0};
    shot_status status = samples_of(t, a, n, &of_a);
    if (status == SHOT_OK)
        status = samples_of(t, b, n, &of_b);
    if (status == SHOT_OK)
        status = of_a.n > 1 && of_b.n > 1 ? find(of_a, of_b, longest, out) : SHOT_ERR_SINGULAR;
    samples_free(&of_a);
    samples_free(&of_b);
    return status;
}

/* Put a missing sample into every gap, which ends a run for the monotone cubic. */
static void break_at_gaps(samples *s) {
    size_t gaps = 0;
    for (size_t i = 1; i < s->n; i++)
        gaps += s->t[i] - s->t[i - 1] > GAP * s->spacing;
    for (size_t i = s->n; i-- > 0 && gaps > 0;) {
        s->t[i + gaps] = s->t[i];
        s->y[i + gaps] = s->y[i];
        if (i > 0 && s->t[i] - s->t[i - 1] > GAP * s->spacing) {
            gaps--;
            s->n++;
            s->t[i + gaps] = (s->t[i - 1] + s->t[i]) / 2;
            s->y[i + gaps] = NAN;
        }
    }
}

/* The cubic through the samples of y, `delay` later than each row, for the rows that have a sample
 * or for those that have none. */
static shot_status replace(const double *t, double *y, size_t n, double delay, bool missing) {
    samples s;
    shot_status status = samples_of(t, y, n, &s);
    double *at = malloc((2 * n + 1) * sizeof *at), *value = at + n;
    if (status == SHOT_OK && at == NULL)
        status = SHOT_ERR_MEMORY;
    if (status == SHOT_OK) {
        break_at_gaps(&s);
        for (size_t i = 0; i < n; i++)
            at[i] = t[i] + delay;
        status = shot_monotone_cubic(s.t, s.y, s.n, at, n, value);
    }
    for (size_t i = 0; i < n && status == SHOT_OK; i++)
        y[i] = (isnan(y[i]) != 0) == missing ? value[i] : y[i];
    free(at);
    samples_free(&s);
    return status == SHOT_ERR_RANGE ? SHOT_ERR_DATA : status;
}

shot_status channel_delay_remove(const double *t, double *y, size_t n, double delay) {
    return replace(t, y, n, delay, false);
}

shot_status channel_fill(const double *t, double *y, size_t n) {
    return replace(t, y, n, 0, true);
}
