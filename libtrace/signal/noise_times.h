/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the estimate of noise needs that depends on the times alone, kept for the next channel,
 * which mostly has the same. */
#ifndef SHOT_SIGNAL_NOISE_TIMES_H
#define SHOT_SIGNAL_NOISE_TIMES_H

#include <stdbool.h>
#include <stddef.h>

#include <shottrace/signal/noise.h>

/* A zeroed one holds nothing. */
typedef struct noise_times {
    double *t; /* [n], and behind them the weights of each span   owned, `room` numbers */
    size_t n, room;
    double spacing; /* the median one */
    size_t spans;
} noise_times;

/* In it a shot's curves stay straight, s: common practice, no source. */
#define NOISE_STRAIGHT_TIME 0.4

/* Neighbours 1, 2, 4, ... samples away that are looked at, and how many such spans at most. */
enum { NOISE_MOST_SPANS = 12 };
size_t noise_spans(double spacing);

/* `work` has room for n numbers. */
double noise_median_spacing(const double *t, size_t n, double *work);

/* Hold what belongs to these times, at least two; false without memory for it. */
bool noise_times_hold(noise_times *times, const double *t, size_t n);

/* The sizes of the pseudo-residuals of the samples y [n] with neighbours 2^k samples away, n > 2^k
 * * 2, to the bit those that pseudo_residual_size gives. */
void noise_times_residuals(const noise_times *times, const double *y, size_t k, double *out);

void noise_times_free(noise_times *times);

/* How an estimate is made. */
typedef struct noise_way {
    noise_times *times; /* where they may be held, or NULL */
    bool fits; /* the correlation that fits best is wanted also where white noise fits hardly
                  worse; else what is fitted is then that of white noise */
} noise_way;

/* shot_noise_estimate in a way of one's choice. */
shot_status noise_estimate_with(const noise_way *way, const double *t, const double *y, size_t n,
                                double step, double *work, shot_noise *out);

#endif
