/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How good the record of one channel is. */
#ifndef SHOT_JUDGE_CHECK_CHANNEL_H
#define SHOT_JUDGE_CHECK_CHANNEL_H

#include <stdbool.h>

#include <shottrace/signal/noise.h>
#include <shottrace/trace/block.h>

typedef struct check_channel {
    size_t samples, missing; /* rows with and without a value */
    double rate;             /* samples a second: of the median spacing */
    double jitter;           /* scatter of the spacing, share of its median */
    size_t gaps;
    double longest_gap;    /* s; 0 without gaps */
    double step;           /* of the figures; 0 where they are continuous */
    double zero;           /* before the shot; NaN where there is no idle part */
    shot_noise noise;      /* sd NaN where it cannot be told */
    double clipped, stuck; /* s */
    bool on_change;        /* it was written only where it changed */
} check_channel;

/* Judge a channel.
 *   rows     of rising time
 *   index    of the channel in them
 *   adds_up  it comes to rest anywhere: weight, water
 * SHOT_ERR_MEMORY. */
shot_status check_channel_find(const shot_rows *rows, size_t index, bool adds_up,
                               check_channel *out);

/* The frequency as which a vibration of `frequency` Hz appears at so many samples a second
 * (Shannon 1949, Proc. IRE 37:10-21; folding: Oppenheim & Schafer 2010, 'Discrete-Time Signal
 * Processing', section 4.2). */
double check_alias(double frequency, double rate);

#endif
