/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Every onset, length and shape in reach is tried, and for a scale every time in which the basket
 * may drain.  With nothing known before but that, each is as credible as it makes the log likely,
 * exp(score^2 / 2), times the standard error that the unknown gain leaves; onset, end and size are
 * means over all of them, their intervals the quantiles (Gelman et al. 2013, 'Bayesian Data
 * Analysis', 3rd ed., section 14.2: flat priors, the size integrated out). */
#include "detect/surge_measure.h"

#include <math.h>
#include <stdlib.h>

#include <shottrace/signal/distribution.h>
#include <shottrace/signal/root.h>

#include "detect/surge_drive.h"
#include "detect/surge_shapes.h"

static const double reach = 1.2, step = 0.05; /* s around a candidate that are tried */
static const double negligible = 1e-8;        /* share of credibility */
enum {
    LANES = CONDUCTANCE_LANES,
    ONSETS = 49,    /* 2 reach / step + 1 */
    DRAINS = 21,    /* 0 to 1 s, also in steps */
    DRAIN_STEP = 2, /* of which every second is tried */
};

/* ---- doubt ---- */

/* Two things make a measured opening less certain than the noise does.  Its shape is one of a few,
 * and no channel opens quite so: what it leaves of the true shape is larger the larger the opening
 * is, so what it explains counts as noise again, of all channels alike, since none of them is to
 * count for less beside the others.  And the wander is not known: it is integrated out (Gelman et
 * al., section 5.4), each wander as credible as it makes the log likely. */
static shot_status doubt(surge_scan *scan, const conductance_opening *opening) {
    double ratio = 0, n = 0, spread;
    for (size_t k = 0; k < scan->channel_count; k++) {
        const surge_channel *channel = &scan->channels[k];
        ratio += (double)channel->data->n * surge_channel_explained(channel);
        n += (double)channel->data->n;
    }
    for (size_t k = 0; k < scan->channel_count; k++) {
        SHOT_TRY(surge_channel_spread(&scan->channels[k], opening, &spread));
        scan->channels[k].filter.scale *= spread * ratio / n;
    }
    return SHOT_OK;
}

/* ---- what each channel says, once for each onset and shape ---- */

typedef struct table {
    conductance_evidence *items; /* [onsets][SURGE_SHAPES] */
    bool summed;
} table;

static void fill_onset(const surge_channel *channel, double onset, conductance_evidence *out) {
    for (size_t s = 0; s < SURGE_SHAPES; s += LANES) {
        conductance_opening openings[LANES];
        for (size_t k = 0; k < LANES; k++)
            openings[k] = surge_shape(s + k, onset, 0);
        surge_channel_weigh(channel, openings, LANES, channel->added, out + s);
    }
}

static shot_status fill(const surge_channel *channel, double first, table *out) {
    size_t onsets = channel->data->summed ? ONSETS + DRAINS - 1 : ONSETS;
    out->summed = channel->data->summed;
    out->items = malloc(onsets * SURGE_SHAPES * sizeof *out->items);
    if (out->items == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t i = 0; i < onsets; i++)
        fill_onset(channel, first + (double)i * step, out->items + i * SURGE_SHAPES);
    return SHOT_OK;
}

/* ---- the trials ---- */

typedef struct trial {
    size_t onset, shape, drain;
    double gain, gain_se, score;
    double weight; /* how credible */
} trial;

typedef struct trials {
    trial *items;
    size_t count, best;
    double first; /* onset of index 0, s */
} trials;

static void add_trial(const table *tables, size_t channels, size_t onset, size_t s, size_t drain,
                      trials *all) {
    conductance_evidence each[2];
    for (size_t k = 0; k < channels; k++)
        each[k] = tables[k].items[(onset + (tables[k].summed ? drain : 0)) * SURGE_SHAPES + s];
    surge_evidence e = surge_together(each, channels);
    if (!isfinite(e.score) || !(e.gain > 0))
        return;
    all->items[all->count] = (trial){onset, s, drain, e.gain, e.gain_se, e.score, 0};
    if (e.score > all->items[all->best].score || all->count == 0)
        all->best = all->count;
    all->count++;
}

static void try_all(const table *tables, size_t channels, trials *all) {
    bool drains = tables[0].summed || (channels > 1 && tables[1].summed);
    for (size_t onset = 0; onset < ONSETS; onset++)
        for (size_t s = 0; s < SURGE_SHAPES; s++)
            for (size_t d = 0; d < (drains ? DRAINS : 1); d += DRAIN_STEP)
                add_trial(tables, channels, onset, s, d, all);
}

/* How often an opening has that shape, as far as is known beforehand: one that begins so gently
 * that its onset cannot be seen is taken to be rare (common practice, no source). */
static double likely(size_t shape_number) {
    return surge_shape(shape_number, 0, 0).form == CONDUCTANCE_GENTLE ? 0.1 : 1;
}

static void weigh_trials(trials *all) {
    double sum = 0, top = all->items[all->best].score;
    for (size_t i = 0; i < all->count; i++) {
        trial *one = &all->items[i];
        one->weight =
            exp((one->score * one->score - top * top) / 2) * one->gain_se * likely(one->shape);
        sum += one->weight;
    }
    size_t kept = 0, best = all->best;
    for (size_t i = 0; i < all->count; i++) {
        trial one = all->items[i];
        if (i == best)
            all->best = kept;
        one.weight /= sum;
        if (i == best || one.weight > negligible)
            all->items[kept++] = one;
    }
    all->count = kept;
}

/* ---- means and quantiles ---- */

static double onset_of(const trials *all, const trial *one) {
    return all->first + (double)one->onset * step;
}

static double end_of(const trials *all, const trial *one) {
    return onset_of(all, one) + surge_shape(one->shape, 0, 0).seconds;
}

static double loss_of(double gain) {
    return gain / (1 + gain);
}

/* How credible it is that `what` is below x; a step of the grid is spread over its width. */
typedef double (*share_below)(const trials *all, const trial *one, double x);

static double spread(double at, double x) {
    double share = (x - at) / step + 0.5;
    return share < 0 ? 0 : share > 1 ? 1 : share;
}

static double onset_below(const trials *all, const trial *one, double x) {
    return spread(onset_of(all, one), x);
}

static double end_below(const trials *all, const trial *one, double x) {
    return spread(end_of(all, one), x);
}

static double loss_below(const trials *all, const trial *one, double x) {
    (void)all;
    double gain = x < 1 ? x / (1 - x) : INFINITY;
    return shot_normal_tail((one->gain - gain) / one->gain_se);
}

/* The share below a quantile, less what it should be. */
typedef struct excess {
    const trials *all;
    share_below below;
    double p;
} excess;

static double excess_at(double x, const void *context) {
    const excess *of = context;
    double share = 0;
    for (size_t k = 0; k < of->all->count; k++)
        share += of->all->items[k].weight * of->below(of->all, &of->all->items[k], x);
    return share - of->p;
}

/* NaN where it does not lie between low and high. */
static double quantile(const trials *all, share_below below, double p, double low, double high) {
    double x;
    (void)shot_root_find(excess_at, &(excess){all, below, p}, low, high, 1e-7, &x);
    return x;
}

static surge summary(const trials *all, double level) {
    surge s = {.score = all->items[all->best].score};
    double tail = (1 - level) / 2, last = all->first + ONSETS * step + 3;
    for (size_t i = 0; i < all->count; i++) {
        const trial *one = &all->items[i];
        s.from += one->weight * onset_of(all, one);
        s.to += one->weight * end_of(all, one);
        s.loss += one->weight * loss_of(one->gain);
    }
    s.from_low = quantile(all, onset_below, tail, all->first - 1, last);
    s.from_high = quantile(all, onset_below, 1 - tail, all->first - 1, last);
    s.to_low = quantile(all, end_below, tail, all->first - 1, last);
    s.to_high = quantile(all, end_below, 1 - tail, all->first - 1, last);
    s.loss_low = quantile(all, loss_below, tail, -1, 1);
    s.loss_high = quantile(all, loss_below, 1 - tail, -1, 1);
    return s;
}

static void rise_of_flow(const conductance_data *data, surge *out) {
    double se;
    out->flow_rise = surge_mean_flow(data, out->to, out->to + 1, &se) -
                     surge_mean_flow(data, out->from - 1, out->from, &se);
}

shot_status surge_measure(surge_scan *scan, const conductance_opening *around, double level,
                          surge *out) {
    table tables[2] = {{NULL, false}, {NULL, false}};
    trials all = {malloc(ONSETS * SURGE_SHAPES * (DRAINS / DRAIN_STEP + 1) * sizeof *all.items), 0,
                  0, around->onset - reach};
    shot_status status = all.items ? surge_scan_fit(scan, around) : SHOT_ERR_MEMORY;
    if (status == SHOT_OK)
        status = doubt(scan, around);
    for (size_t k = 0; k < scan->channel_count && status == SHOT_OK; k++)
        status = fill(&scan->channels[k], all.first, &tables[k]);
    *out = (surge){.loss = NAN};
    if (status == SHOT_OK)
        try_all(tables, scan->channel_count, &all);
    if (status == SHOT_OK && all.count > 0) {
        weigh_trials(&all);
        *out = summary(&all, level);
        rise_of_flow(scan->channels[0].data, out);
    }
    for (size_t k = 0; k < 2; k++)
        free(tables[k].items);
    free(all.items);
    return status;
}
