/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A channel leaves its rest: the test that runs while samples arrive. */
#include "detect/live_onset.h"

#include <math.h>

#include <shottrace/signal/distribution.h>

static const double alarm_rate = 0.01; /* in `idle` seconds of noise */
static const double idle = 600;        /* s */
static const double batch = 0.05;      /* s of samples that make one mean */
static const double reference = 1;     /* SD: a shift of twice that is found soonest */
static const double most_of_one = 0.6; /* of the threshold, by one sample */
static const double prior = 4;         /* samples that the usual SD counts for */
static const double few = 5;           /* samples */
static const double wander = 4; /* SD of the mean of a second, by which rest may seem to rise */
static const double slow_memory = 60; /* such means, after which older ones fade */
static const double no_rest = 5; /* times what is worth the name: a first sample there is none */
static const double memory = 20; /* s after which older samples fade: rest may drift */

/* What depends on the time between samples: the threshold, in SD of white noise, that so many
 * samples as `idle` seconds hold exceed at that rate, and the memory. */
static void set_pace(live_onset *onset, double spacing) {
    onset->memory = fmax(memory / spacing, 10);
    if (shot_cusum_threshold(reference, SHOT_CUSUM_ONE, fmax(idle / spacing, 1), alarm_rate,
                             &onset->cusum.threshold) != SHOT_OK)
        onset->cusum.threshold = 6;
}

/* SD of a sample about the mean, long-run where neighbours are alike, and that of the mean; noise
 * that wanders stays off for long, so that its SD alone is not enough. */
static double unit(const live_onset *onset) {
    const live_rest *rest = &onset->rest;
    double squares = rest->squares + prior * onset->usual_sd * onset->usual_sd;
    double variance = squares / (rest->n + prior);
    double r = fmin(fmax(rest->products / squares, 0), 0.9);
    double sd = sqrt(variance * ((1 + r) / (1 - r)));
    if (onset->slow.n >= few)
        sd = fmax(sd, wander * sqrt(onset->slow.squares / onset->slow.n));
    return fmax(sd, onset->least / 2) * sqrt(1 + 1 / fmax(rest->n, 1));
}

static void add(live_rest *rest, double y) {
    double before = rest->mean;
    rest->n++;
    rest->mean += (y - before) / rest->n;
    rest->squares += (y - before) * (y - rest->mean);
}

/* Chan, Golub & LeVeque 1983, 'Algorithms for computing the sample variance', Am. Stat. 37:242. */
static void merge(live_rest *rest, const live_rest *more) {
    double n = rest->n + more->n, apart = more->mean - rest->mean;
    if (more->n == 0)
        return;
    rest->squares += more->squares + apart * apart * rest->n * more->n / n;
    rest->products += more->products;
    rest->mean += apart * more->n / n;
    rest->n = n;
}

static void fade(live_rest *rest, double most) {
    double share = fmin(1, most / rest->n);
    rest->n *= share;
    rest->squares *= share;
    rest->products *= share;
}

/* Noise that wanders (1/f) shows in the means of whole seconds of rest. */
static void follow_wander(live_onset *onset, double t, double y) {
    if (onset->slow_n == 0)
        onset->slow_start = t;
    onset->slow_n++;
    onset->slow_sum += y;
    if (t - onset->slow_start < 1)
        return;
    const double off = onset->slow_sum / onset->slow_n - onset->rest.mean;
    onset->slow.n++;
    onset->slow.squares += off * off;
    fade(&onset->slow, slow_memory);
    onset->slow_n = onset->slow_sum = 0;
}

/* While the sum is up a sample may belong to a rise: it waits until the sum is 0 again.  The first
 * few do not, since a mean of hardly any would keep the sum up by itself. */
static void learn(live_onset *onset, double y, bool loud) {
    double residual = y - onset->rest.mean;
    add(&onset->pending, y);
    onset->pending.products += onset->last_residual * residual;
    onset->last_residual = residual;
    if (onset->cusum.up_run > 0 && (loud || onset->rest.n >= few))
        return;
    merge(&onset->rest, &onset->pending);
    fade(&onset->rest, onset->memory);
    onset->pending = (live_rest){0};
}

/* What is as rare for a normal deviate of known SD as `t` is where few samples tell the SD. */
static double as_normal(double t, double freedom) {
    if (freedom > 100)
        return t;
    double tail = shot_student_tail(t, freedom);
    return tail > 0 && tail < 1 ? -shot_normal_quantile(tail) : t;
}

/* The rise begins behind the last sample that looked like rest. */
static void place(live_onset *onset, double t, double z) {
    bool loud = z > 2 * reference;
    if (loud && !onset->rising)
        onset->from = (onset->quiet_t + t) / 2;
    if (!loud)
        onset->quiet_t = t;
    onset->rising = loud;
}

/* A log may start when the rise is over: what is so high is no rest. */
static void start(live_onset *onset, double t, double y) {
    onset->started = true;
    onset->taken_t = t;
    onset->quiet_t = t;
    onset->memory = INFINITY;
    onset->rest = (live_rest){.n = 1, .mean = y > no_rest * onset->least ? 0 : y};
    onset->cusum = (shot_cusum){.reference = reference, .threshold = 6};
}

static bool take(live_onset *onset, double t, double y) {
    if (!onset->started)
        start(onset, t, y);
    else if (isinf(onset->memory))
        set_pace(onset, t - onset->quiet_t);
    double most = most_of_one * onset->cusum.threshold + reference;
    double freedom = onset->rest.n + prior - 1;
    const double above = (y - onset->rest.mean) / unit(onset);
    double z = as_normal(above, freedom);
    place(onset, t, z);
    onset->alone = above - reference > onset->cusum.threshold;
    onset->apart = t - onset->taken_t;
    onset->taken_t = t;
    if (!onset->rising)
        follow_wander(onset, t, y);
    onset->told = shot_cusum_push(&onset->cusum, fmin(z, most)) > 0;
    learn(onset, y, onset->rising);
    return onset->told;
}

bool live_onset_push(live_onset *onset, double t, double y) {
    if (isnan(y) || onset->told)
        return false;
    double gap = onset->started || onset->batch_n > 0 ? t - onset->last_t : batch;
    if (onset->batch_n == 0)
        onset->batch_start = t;
    onset->batch_n++;
    onset->batch_sum += y;
    onset->last_t = t;
    if (t - onset->batch_start + gap < batch)
        return false;
    double mean = onset->batch_sum / onset->batch_n;
    onset->batch_n = onset->batch_sum = 0;
    return take(onset, (onset->batch_start + t) / 2, mean);
}

double live_onset_share(const live_onset *onset) {
    return onset->cusum.threshold > 0 ? fmin(1, onset->cusum.up / onset->cusum.threshold) : 0;
}

double live_onset_rest(const live_onset *onset) {
    return onset->rest.mean;
}
