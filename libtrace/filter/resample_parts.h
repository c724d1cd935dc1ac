/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the parts of shot-resample share: the channels on their way to the grid, and what is known
 * of their noise. */
#ifndef SHOT_FILTER_RESAMPLE_PARTS_H
#define SHOT_FILTER_RESAMPLE_PARTS_H

#include <shottrace/trace/noise_line.h>
#include <shottrace/trace/option.h>
#include <shottrace/trace/stage.h>

#include "filter/noise_watch.h"
#include "signal/resample_channel.h"

struct resample_settings {
    double rate, step;
    int method;
    shot_span max_gap;
    bool errors;
};

/* The standard errors of a channel. */
typedef struct wanted_errors {
    bool wanted;        /* a column is added */
    const char *fault;  /* or why none is, borrowed from the head; NULL: nobody wants one */
    shot_noise_line is; /* told, or found; its SD NaN while unknown */
    bool watched;       /* nobody has told its noise, which it has */
} wanted_errors;

typedef struct resampler {
    shot_stage stage;
    resample_grid grid;
    resample_channel *channels; /* owned [count] */
    noise_watch *noise;         /* of each, before it is resampled; owned [count] */
    noise_times times;          /* what the channels share: their times, */
    noise_scratch scratch;      /* where the noise of each is estimated, */
    cubic_places places;        /* and where rows of the grid lie between samples */
    wanted_errors *errors;      /* of each; owned [count] */
    size_t count;               /* without time */
    resample_column clock;      /* times of the rows that the shot has reached */
    bool wait;                  /* rows wait until the noise is known, at the shot's end, */
    shot_rows held;             /* here */
    const double **block;       /* owned [2 * count + 1] */
    shot_head head;             /* of the input, with the lines that came later */
    bool begun;                 /* a row of this shot has been seen */
    double last;                /* its time */
} resampler;

/* ---- resample_errors.c ---- */

/* At the start of a shot: errors are for what a sensor measured and nobody has smoothed. */
void resample_choose_errors(resampler *self);

/* Rows pass by whose noise nobody has told.  SHOT_ERR_MEMORY. */
shot_status resample_watch(resampler *self, size_t channel, const double *t, const double *y,
                           size_t n);

/* At its end: the noise that nobody told, from the rows that wait; they need wait no longer. */
shot_status resample_learn_noise(resampler *self);

/* Behind its rows: what the noise of the samples was, where nobody has told yet, since resampled
 * values are no longer independent; and why there are no errors where they were asked for. */
shot_status resample_tell_noise(resampler *self, shot_error *error);

#endif
