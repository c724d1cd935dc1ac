/* SPDX-License-Identifier: GPL-3.0-or-later */
/* First every opening in reach is tried in coarse steps, with much doubt; then what is credible
 * at all in steps that are fine beside it. */
#include "detect/surge_measure.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "detect/surge_drive.h"
#include "detect/surge_shapes.h"
#include "detect/surge_trials.h"

static const double reach = 1.2, step = 0.05; /* s around a candidate that are tried, and more
                                                 where it lies in a gap */
static const double finest = 0.002;           /* s; no log shows an onset better */
static const double credible = 1e-3;          /* beside the most credible trial */
static const double finer = 0.7;              /* by which steps must shrink to be worth a trial */
static const double agree = 3; /* standard errors of their difference: two channels do */
enum {
    ROUGH_FORMS = CONDUCTANCE_GENTLE + 1, /* forms that differ much */
    FORMS = CONDUCTANCE_LATE + 1,
    ROUGH_MOST = 200, /* steps, across a gap however long */
    ONSETS = 25,
    DRAINS = 11,
    LOOKS = 3, /* each closer than the last */
};

/* ---- doubt ---- */

/* Two things make a measured opening less certain than the noise does.  Its shape is one of a few,
 * and no channel opens quite so; what that leaves, `surge_misfit` of what the opening adds to the
 * innovations, counts as noise at the samples that tell of it, of all channels alike, since none of
 * them is to count for less beside the others.  And the wander is not known: it is integrated out
 * (Gelman et al. 2013, 'Bayesian Data Analysis', 3rd ed., section 5.4), each wander as credible as
 * it makes the log likely.
 *   spread   [channels] by how much the latter enlarges the variance of the size; not that of the
 *            onset, which shows within the length of the opening, where no trend goes far */
static shot_status doubt(surge_scan *scan, const conductance_opening *opening,
                         const surge_shown *shown, double *spread) {
    const double noise =
        shown->squares > 0 ? surge_misfit * surge_misfit * shown->fourths / shown->squares : 0;
    for (size_t k = 0; k < scan->channel_count; k++) {
        SHOT_TRY(surge_channel_spread(&scan->channels[k], opening, &spread[k]));
        scan->channels[k].filter.scale *= spread[k] * (1 + noise);
    }
    return SHOT_OK;
}

/* The wrong shape also errs to one side all the while it opens.  By how much that changes the size,
 * as a share: what those samples tell of it among all. */
static double size_misfit(const surge_shown *shown) {
    return shown->squares > 0 ? surge_misfit * shown->opening / shown->squares : 0;
}

/* What each channel says of the gain by itself.  Where two clearly contradict each other, one shows
 * something else besides: water that leaves beside the puck, a clock that is off, a basket that
 * drains slowly.  Nothing tells which, so that their errors count for as much as would make them
 * agree: the Birge ratio (Birge 1932, 'The calculation of errors by the method of least squares',
 * Phys. Rev. 40:207-227). */
static double contradiction(const surge_scan *scan, const conductance_opening *opening) {
    double gain[2], variance[2];
    for (size_t k = 0; k < scan->channel_count; k++) {
        const surge_channel *channel = &scan->channels[k];
        conductance_evidence e[CONDUCTANCE_LANES];
        surge_channel_weigh(channel, opening, 1, e);
        if (!(e[0].square > 0) || !(e[0].base > 0) || scan->channel_count < 2)
            return 1;
        gain[k] = e[0].along / e[0].square / e[0].base;
        variance[k] = 1 / e[0].square / (e[0].base * e[0].base);
    }
    const double ratio = fabs(gain[1] - gain[0]) / sqrt(variance[0] + variance[1]);
    return ratio > agree ? ratio : 1;
}

/* ---- what is tried ---- */

typedef struct range {
    double low, high;
} range;

/* In a gap nothing tells when the puck opened: it may have done so at any instant of it. */
static range onsets_around(const surge_scan *scan, double at) {
    const surge_gap gap = surge_scan_gap(scan, at);
    return (range){isfinite(gap.from) ? fmin(gap.from, at - reach) : at - reach,
                   isfinite(gap.to) ? fmax(gap.to, at + reach) : at + reach};
}

static surge_grid rough_grid(const surge_scan *scan, const conductance_opening *around) {
    const range onsets = onsets_around(scan, around->onset);
    const double wide = onsets.high - onsets.low, apart = fmax(step, wide / ROUGH_MOST);
    surge_grid grid = {.first = onsets.low,
                       .step = apart,
                       .onsets = (size_t)(wide / apart + 0.5) + 1,
                       .length_count = SURGE_LENGTHS,
                       .forms = ROUGH_FORMS,
                       .drain_step = (size_t)fmax(1, 2 * step / apart),
                       .drains = 1,
                       .gates = surge_scan_counts(scan) ? SURGE_GATES : 1};
    if (surge_scan_drains(scan))
        grid.drains = (size_t)(surge_longest_drain / apart / (double)grid.drain_step + 0.5) + 1;
    memcpy(grid.lengths, surge_lengths, sizeof surge_lengths);
    return grid;
}

/* Losses that take longer than a surge, and reach over that opening. */
static surge_grid slow_grid(const surge_scan *scan, const conductance_opening *around) {
    const double longest = surge_slow_lengths[SURGE_SLOW_LENGTHS - 1];
    surge_grid grid = {.first = around->onset - longest,
                       .step = surge_slow_step,
                       .onsets = (size_t)((longest + reach) / surge_slow_step) + 1,
                       .length_count = SURGE_SLOW_LENGTHS,
                       .forms = ROUGH_FORMS,
                       .drain_step = 1,
                       .drains = 1,
                       .gates = 1};
    if (surge_scan_drains(scan))
        grid.drains = (size_t)(surge_longest_drain / surge_slow_step + 0.5) + 1;
    memcpy(grid.lengths, surge_slow_lengths, sizeof surge_slow_lengths);
    return grid;
}

static void take_in(range *of, double x) {
    of->low = fmin(of->low, x);
    of->high = fmax(of->high, x);
}

/* What is credible at all. */
typedef struct ranges {
    range onset, seconds, drain; /* s */
} ranges;

static ranges credible_ranges(const surge_trials *trials) {
    const range none = {INFINITY, -INFINITY};
    ranges out = {none, none, none};
    double most = 0;
    for (size_t i = 0; i < trials->count; i++)
        most = fmax(most, trials->items[i].weight);
    for (size_t i = 0; i < trials->count; i++) {
        const surge_trial *one = &trials->items[i];
        if (one->weight < credible * most)
            continue;
        take_in(&out.onset, one->opening.onset);
        take_in(&out.seconds, one->opening.seconds);
        take_in(&out.drain, one->opening.drain);
    }
    return out;
}

/* From the last length tried below them to the first above, in steps that are even in the
 * logarithm: a length is a scale. */
static void set_lengths(range over, const surge_grid *last, surge_grid *grid) {
    double low = last->lengths[0], high = last->lengths[last->length_count - 1];
    for (size_t i = 0; i < last->length_count; i++) {
        if (last->lengths[i] < over.low)
            low = last->lengths[i];
        if (last->lengths[last->length_count - 1 - i] > over.high)
            high = last->lengths[last->length_count - 1 - i];
    }
    grid->length_count = SURGE_GRID_LENGTHS;
    for (size_t i = 0; i < SURGE_GRID_LENGTHS; i++)
        grid->lengths[i] = low * pow(high / low, (double)i / (SURGE_GRID_LENGTHS - 1));
}

static void set_drains(range over, surge_grid *grid) {
    grid->drain = (size_t)(fmax(0, over.low - 2 * step) / grid->step);
    const size_t last = (size_t)(fmin(surge_longest_drain, over.high + 2 * step) / grid->step);
    grid->drain_step = (last - grid->drain) / DRAINS + 1;
    grid->drains = (last - grid->drain) / grid->drain_step + 1;
}

/* What is credible, in finer steps. */
static surge_grid closer_grid(const surge_scan *scan, const surge_trials *trials,
                              const surge_grid *last) {
    const ranges over = credible_ranges(trials);
    const double gain = trials->items[trials->best].gain;
    const double from = over.onset.low - last->step / 2;
    const double wide = over.onset.high + last->step / 2 - from;
    surge_grid grid = {.first = from,
                       .step = fmax(finest, fmin(last->step, wide / (ONSETS - 1))),
                       .forms = FORMS,
                       .loss = gain / (1 + gain),
                       .spread = last->spread,
                       .drain_step = 1,
                       .drains = 1,
                       .gates = last->gates};
    grid.onsets = (size_t)(wide / grid.step + 0.5) + 1;
    set_lengths(over.seconds, last, &grid);
    if (surge_scan_drains(scan))
        set_drains(over.drain, &grid);
    return grid;
}

/* How much likelier a surge is than a loss that takes longer (a Bayes factor, in its logarithm;
 * Kass & Raftery 1995, J. Am. Stat. Assoc. 90:773-795), each length, shape and onset being as
 * likely beforehand as any other. */
static shot_status compare_lengths(const surge_scan *scan, const conductance_opening *around,
                                   double evidence, double *sooner) {
    const surge_grid grid = slow_grid(scan, around);
    surge_trials slow;
    shot_status status = surge_trials_new(scan, &grid, &slow);
    *sooner = status == SHOT_OK && slow.count > 0 ? evidence - slow.evidence : INFINITY;
    free(slow.items);
    return status;
}

/* The trials whose steps are fine beside what is credible.  *out as from surge_trials_new. */
static shot_status try_closer(const surge_scan *scan, const conductance_opening *around,
                              const double *spread, surge_trials *out, double *sooner) {
    surge_grid grid = rough_grid(scan, around);
    grid.spread = spread;
    shot_status status = surge_trials_new(scan, &grid, out);
    if (status == SHOT_OK)
        status = compare_lengths(scan, around, out->evidence, sooner);
    for (int look = 1; look < LOOKS && status == SHOT_OK && out->count > 0; look++) {
        const surge_grid next = closer_grid(scan, out, &grid);
        if (look > 1 && next.step > finer * grid.step)
            break;
        grid = next;
        free(out->items);
        status = surge_trials_new(scan, &grid, out);
    }
    return status;
}

/* ---- figures ---- */

/* What is more than its noise makes of nothing in 19 cases of 20. */
static double clear_part(double change, double se_before, double se_after) {
    return change > 2 * hypot(se_before, se_after) ? change : NAN;
}

/* How it showed: in the second before against the one behind, where the log goes on. */
static void set_effect(const conductance_data *data, surge *out) {
    double before, after, se, se_after;
    before = surge_mean_flow(data, out->from - 1, out->from, &se);
    after = surge_mean_flow(data, out->to, out->to + 1, &se_after);
    out->flow_rise = clear_part(after - before, se, se_after);
    before = surge_mean_pressure(data, out->from - 1, out->from, &se);
    after = surge_mean_pressure(data, out->to, out->to + 1, &se_after);
    out->pressure_fall = clear_part(before - after, se, se_after);
}

static surge summary(const surge_trials *all, double level) {
    const surge_figure from = surge_trials_onset(all, level), to = surge_trials_end(all, level),
                       loss = surge_trials_loss(all, level);
    return (surge){.from = from.mean,
                   .from_low = from.low,
                   .from_high = from.high,
                   .to = to.mean,
                   .to_low = to.low,
                   .to_high = to.high,
                   .loss = loss.mean,
                   .loss_low = loss.low,
                   .loss_high = loss.high,
                   .score = all->items[all->best].score};
}

shot_status surge_measure(surge_scan *scan, const conductance_opening *around, double level,
                          surge *out) {
    surge_trials trials = {0};
    surge_shown shown = {0};
    double sooner = NAN, spread[2] = {1, 1};
    shot_status status = surge_scan_fit(scan, around);
    for (size_t k = 0; k < scan->channel_count && status == SHOT_OK; k++)
        surge_channel_add_shown(&scan->channels[k], around, &shown);
    if (status == SHOT_OK)
        status = doubt(scan, around, &shown, spread);
    if (status == SHOT_OK)
        status = try_closer(scan, around, spread, &trials, &sooner);
    *out = (surge){.loss = NAN};
    if (status == SHOT_OK && trials.count > 0) {
        trials.size_misfit = size_misfit(&shown);
        trials.contradiction = contradiction(scan, &trials.items[trials.best].opening);
        trials.base_se = shown.squares > 0 ? sqrt(shown.base) / shown.squares : 0;
        *out = summary(&trials, level);
        out->sooner = sooner;
        set_effect(scan->channels[0].data, out);
    }
    free(trials.items);
    return status;
}
