/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where the standard errors of shot-derive come from: the noise of the channels it rests on. */
#ifndef SHOT_FILTER_DERIVE_ERRORS_H
#define SHOT_FILTER_DERIVE_ERRORS_H

#include <shottrace/trace/noise_line.h>

#include "filter/derive_parts.h"
#include "filter/noise_watch.h"
#include "signal/correlated_variance.h"

typedef enum derive_channel {
    DERIVE_FROM_PRESSURE,
    DERIVE_FROM_FLOW,
    DERIVE_FROM_OUTFLOW,
    DERIVE_FROM_WEIGHT,
    DERIVE_FROM_TEMPERATURE,
    DERIVE_CHANNELS
} derive_channel;

/* What is known of the noise of one channel. */
typedef struct derive_noise {
    ptrdiff_t column, se; /* of the channel and of its standard error NAME.se; -1: none */
    const char *fault;    /* its samples do not err independently: through what; NULL: they do */
    bool needed;          /* by a quantity that is asked for */
    shot_noise_line is;   /* told by a '# noise:' line, or found; its SD NaN while unknown */
    double own;           /* the SD of a sample by itself */
    noise_watch watch;    /* where it is needed and not told */
    bool learns;
} derive_noise;

typedef struct derive_errors {
    derive_noise of[DERIVE_CHANNELS];
    bool added[DERIVE_QUANTITIES];        /* the quantity gets a standard error */
    const char *fault[DERIVE_QUANTITIES]; /* or why it gets none, in the head */
    bool waits;                           /* the noise is known at the end of the shot only */
    correlated_variance water;            /* of all samples of the flow but the last, */
    double last_half, last_time;          /* and the weight and time of that; time NaN: none yet */
} derive_errors;

/* Decide which of the wanted quantities get a standard error, from the head of a shot, which must
 * outlive it. */
void derive_errors_begin(derive_errors *errors, const derive_shot *shot, const shot_head *head,
                         const bool wanted[DERIVE_QUANTITIES]);

/* Samples pass by; then the noise that they show is known.  SHOT_ERR_MEMORY. */
shot_status derive_errors_watch(derive_errors *errors, const shot_block *block);
void derive_errors_learn(derive_errors *errors);

/* The standard errors of what is in row `i` of the rows held; `gain` is that of the slope of the
 * weight, NaN where the outflow is a channel. */
derive_row derive_errors_of_row(const derive_errors *errors, const shot_rows *held, size_t i,
                                double gain);

/* A sample of the flow joins the water. */
void derive_errors_add_water(derive_errors *errors, double t);
double derive_errors_of_water(const derive_errors *errors);

void derive_errors_free(derive_errors *errors);

#endif
