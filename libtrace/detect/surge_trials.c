/* SPDX-License-Identifier: GPL-3.0-or-later */
/* With nothing known before but the grid, a trial is as credible as it makes the log likely,
 * exp(score^2 / 2), times the standard error that the unknown gain leaves; onset, end and size are
 * means over all of them, their intervals the quantiles (Gelman et al. 2013, 'Bayesian Data
 * Analysis', 3rd ed., section 14.2: flat priors, the size integrated out). */
#include "detect/surge_trials.h"

#include <math.h>
#include <stdlib.h>

#include <shottrace/signal/distribution.h>
#include <shottrace/signal/root.h>

#include "detect/surge_shapes.h"

static const double negligible = 1e-8; /* share of credibility */
enum { LANES = CONDUCTANCE_LANES };

/* ---- what each channel says, once for each onset and shape ---- */

typedef struct table {
    conductance_evidence *items; /* [gates][onsets][shapes] */
    size_t onsets;
    bool drains, gated;
} table;

static size_t shape_count(const surge_grid *grid) {
    return grid->length_count * grid->forms * SURGE_AFTERS;
}

static conductance_opening opening_at(const surge_grid *grid, size_t onset, size_t shape,
                                      size_t drain, size_t gate) {
    conductance_opening out = {.onset = grid->first + (double)onset * grid->step,
                               .seconds = grid->lengths[shape / SURGE_AFTERS / grid->forms],
                               .form = (conductance_form)(shape / SURGE_AFTERS % grid->forms),
                               .drain = (double)drain * grid->step,
                               .gate = surge_gates[gate],
                               .loss = grid->loss};
    surge_shape_after(shape % SURGE_AFTERS, &out);
    return out;
}

static void fill_onset(const surge_channel *channel, const surge_grid *grid, size_t onset,
                       size_t gate, conductance_evidence *out) {
    for (size_t s = 0; s < shape_count(grid); s += LANES) {
        conductance_opening openings[LANES];
        for (size_t k = 0; k < LANES; k++)
            openings[k] = opening_at(grid, onset, s + k, 0, gate);
        surge_channel_weigh(channel, openings, LANES, out + s);
    }
}

/* A scale that drains so long sees what a meter would so much later. */
static shot_status fill(const surge_channel *channel, const surge_grid *grid, table *out) {
    const size_t shapes = shape_count(grid), later = (grid->drains - 1) * grid->drain_step;
    const size_t onsets = grid->onsets + (channel->data->drains ? grid->drain + later : 0);
    const size_t gates = channel->data->summed ? 1 : grid->gates;
    *out = (table){malloc(gates * onsets * shapes * sizeof *out->items), onsets,
                   channel->data->drains, gates > 1};
    if (out->items == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t gate = 0; gate < gates; gate++)
        for (size_t i = out->drains ? grid->drain : 0; i < onsets; i++)
            fill_onset(channel, grid, i, gate, out->items + (gate * onsets + i) * shapes);
    return SHOT_OK;
}

/* ---- the trials ---- */

/* Of a gain above 0. */
static double surer_score(const conductance_evidence *each, size_t channels, const double *spread,
                          double score) {
    conductance_evidence surer[2];
    if (spread == NULL)
        return score;
    for (size_t k = 0; k < channels; k++) {
        surer[k] = each[k];
        surer[k].along *= spread[k];
        surer[k].square *= spread[k];
    }
    return fmax(0, surge_together(surer, channels).score);
}

static void add_trial(const table *tables, size_t channels, const surge_grid *grid, size_t onset,
                      size_t shape, size_t drain, size_t gate, surge_trials *all) {
    conductance_evidence each[2];
    for (size_t k = 0; k < channels; k++) {
        const table *of = &tables[k];
        const size_t place = (of->gated ? gate * of->onsets : 0) + onset + (of->drains ? drain : 0);
        each[k] = of->items[place * shape_count(grid) + shape];
    }
    const surge_evidence e = surge_together(each, channels);
    if (!isfinite(e.score) || !(e.gain > 0))
        return;
    all->items[all->count] = (surge_trial){
        opening_at(grid, onset, shape, drain, gate),        e.gain, e.gain_se, e.score,
        surer_score(each, channels, grid->spread, e.score), 0,      0};
    if (e.score > all->items[all->best].score || all->count == 0)
        all->best = all->count;
    all->count++;
}

static void try_all(const table *tables, size_t channels, const surge_grid *grid,
                    surge_trials *all) {
    for (size_t onset = 0; onset < grid->onsets; onset++)
        for (size_t s = 0; s < shape_count(grid); s++)
            for (size_t d = 0; d < grid->drains; d++)
                for (size_t g = 0; g < grid->gates; g++)
                    add_trial(tables, channels, grid, onset, s, grid->drain + d * grid->drain_step,
                              g, all);
}

/* How often an opening has that shape, as far as is known beforehand: one that begins so gently
 * that its onset cannot be seen is taken to be rare (common practice, no source). */
static double likely(const conductance_opening *opening) {
    return opening->form == CONDUCTANCE_GENTLE ? 0.1 : 1;
}

/* What is kept of them sums up to 1. */
static void keep_credible(double sum, double timed, surge_trials *all) {
    double share = 0, timed_share = 0;
    size_t kept = 0, best = all->best;
    for (size_t i = 0; i < all->count; i++) {
        const surge_trial one = all->items[i];
        if (i == best)
            all->best = kept;
        if (i != best && !(one.weight > negligible * sum || one.timed > negligible * timed))
            continue;
        share += one.weight;
        timed_share += one.timed;
        all->items[kept++] = one;
    }
    all->count = kept;
    for (size_t i = 0; i < kept; i++) {
        all->items[i].weight /= share;
        all->items[i].timed /= timed_share;
    }
}

static void weigh(const surge_grid *grid, surge_trials *all) {
    const double top = all->items[all->best].score;
    double sum = 0, timed = 0, surest = 0;
    for (size_t i = 0; i < all->count; i++)
        surest = fmax(surest, all->items[i].surer);
    for (size_t i = 0; i < all->count; i++) {
        surge_trial *one = &all->items[i];
        const double before = one->gain_se * likely(&one->opening);
        one->weight = exp((one->score * one->score - top * top) / 2) * before;
        one->timed = exp((one->surer * one->surer - surest * surest) / 2) * before;
        sum += one->weight;
        timed += one->timed;
    }
    all->evidence =
        top * top / 2 + log(sum * grid->step / (double)grid->drains / (double)grid->gates);
    keep_credible(sum, timed, all);
}

shot_status surge_trials_new(const surge_scan *scan, const surge_grid *grid, surge_trials *out) {
    table tables[2] = {{.items = NULL}, {.items = NULL}};
    const size_t most = grid->onsets * shape_count(grid) * grid->drains * grid->gates;
    *out = (surge_trials){.items = malloc(most * sizeof *out->items),
                          .step = grid->step,
                          .evidence = -INFINITY,
                          .contradiction = 1};
    shot_status status = out->items != NULL ? SHOT_OK : SHOT_ERR_MEMORY;
    for (size_t k = 0; k < scan->channel_count && status == SHOT_OK; k++)
        status = fill(&scan->channels[k], grid, &tables[k]);
    if (status == SHOT_OK)
        try_all(tables, scan->channel_count, grid, out);
    if (status == SHOT_OK && out->count > 0)
        weigh(grid, out);
    for (size_t k = 0; k < 2; k++)
        free(tables[k].items);
    return status;
}

/* ---- means and quantiles ---- */

/* How credible it is that this trial holds and what is measured lies below x; a step of the grid is
 * spread over its width. */
typedef double (*share_below)(const surge_trials *all, const surge_trial *one, double x);

static double spread(double at, double step, double x) {
    const double share = (x - at) / step + 0.5;
    return share < 0 ? 0 : share > 1 ? 1 : share;
}

static double onset_of(const surge_trial *one) {
    return one->opening.onset;
}

static double end_of(const surge_trial *one) {
    return one->opening.onset + one->opening.seconds;
}

static double onset_below(const surge_trials *all, const surge_trial *one, double x) {
    return one->timed * spread(onset_of(one), all->step, x);
}

static double end_below(const surge_trials *all, const surge_trial *one, double x) {
    return one->timed * spread(end_of(one), all->step, x);
}

/* A gain is a ratio.  Its standard error holds what the conductance before is off by in the rise:
 * as much below it as the rise is too large.  Of a ratio x it is off by (1 + x) times that, so that
 * (1 + x)^2 - 1 of its variance is added (Fieller 1954, J. R. Stat. Soc. B 16:175-185). */
static double loss_below(const surge_trials *all, const surge_trial *one, double x) {
    const double gain = x < 1 ? x / (1 - x) : INFINITY;
    const double noise = one->gain_se * all->contradiction, misfit = all->size_misfit * one->gain;
    const double base = all->base_se * all->base_se * fmax(gain, 0) * (2 + gain);
    const double se = sqrt(noise * noise + misfit * misfit + base);
    return one->weight * (x < 1 ? shot_normal_tail((one->gain - gain) / se) : 1);
}

/* The share below a quantile, less what it should be. */
typedef struct excess {
    const surge_trials *all;
    share_below below;
    double p;
} excess;

static double excess_at(double x, const void *context) {
    const excess *of = context;
    double share = 0;
    for (size_t k = 0; k < of->all->count; k++)
        share += of->below(of->all, &of->all->items[k], x);
    return share - of->p;
}

/* NaN where it does not lie between low and high. */
static double quantile(const surge_trials *all, share_below below, double p, double low,
                       double high) {
    double x;
    (void)shot_root_find(excess_at, &(excess){all, below, p}, low, high, 1e-7, &x);
    return x;
}

static surge_figure figure(const surge_trials *all, share_below below, double mean, double level,
                           double low, double high) {
    const double tail = (1 - level) / 2;
    return (surge_figure){mean, quantile(all, below, tail, low, high),
                          quantile(all, below, 1 - tail, low, high)};
}

/* Of an instant that each trial has, which `below` is about; its mean is that of the times from one
 * of them, lest a clock of many digits cost its last ones. */
static surge_figure instant_figure(const surge_trials *all, double (*of)(const surge_trial *one),
                                   share_below below, double level) {
    const double best = of(&all->items[all->best]);
    double mean = best, low = INFINITY, high = -INFINITY;
    for (size_t i = 0; i < all->count; i++) {
        const double at = of(&all->items[i]);
        mean += all->items[i].timed * (at - best);
        low = fmin(low, at);
        high = fmax(high, at);
    }
    return figure(all, below, mean, level, low - all->step, high + all->step);
}

surge_figure surge_trials_onset(const surge_trials *trials, double level) {
    return instant_figure(trials, onset_of, onset_below, level);
}

surge_figure surge_trials_end(const surge_trials *trials, double level) {
    return instant_figure(trials, end_of, end_below, level);
}

surge_figure surge_trials_loss(const surge_trials *trials, double level) {
    double mean = 0;
    for (size_t i = 0; i < trials->count; i++) {
        const double gain = trials->items[i].gain;
        mean += trials->items[i].weight * gain / (1 + gain);
    }
    return figure(trials, loss_below, mean, level, -1, 1);
}
