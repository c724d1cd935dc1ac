/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One channel between two gaps, brought onto the grid.
 *
 * Samples are interpolated at the nodes of an even grid.  Where the rate does not fall, the nodes
 * are the places of the wanted grid.  Where it falls, they lie `parts` times as dense, and a
 * low-pass keeps every parts-th; for the monotone cubic no further than the nodes within a step of
 * it go, so that it still invents no swing, nor within half a step where they only rise or only
 * fall, so that what never falls still does not.  The band-limited method chooses nodes at the
 * samples' own spacing instead, so that even samples are nodes themselves and go into its filter
 * untouched.
 */
#ifndef SHOT_SIGNAL_RESAMPLE_RUN_H
#define SHOT_SIGNAL_RESAMPLE_RUN_H

#include <stdbool.h>

#include <shottrace/signal/bandlimited.h>

#include "signal/cubic_places.h"
#include "signal/resample_column.h"
#include "signal/resample_gain.h"
#include "signal/resample_grid.h"

typedef enum resample_method { RESAMPLE_LINEAR, RESAMPLE_CUBIC, RESAMPLE_SINC } resample_method;

typedef struct resample_run {
    const resample_grid *grid; /* borrowed */
    cubic_places *places;      /* borrowed: shared by channels of the same rows; or NULL */
    resample_method method;
    double *t, *y; /* samples that are still needed, owned [room], n in use */
    size_t n, room;
    bool placed;    /* the nodes are chosen */
    double origin;  /* band-limited: node j is at origin + j * spacing */
    double spacing; /* usual time between samples */
    int64_t parts;  /* other methods: node j is at j * step / parts */
    int64_t node;   /* the next one */
    bool filtered;
    shot_bandlimited *filter; /* owned, kept from run to run */
    double filter_ratio;      /* what it was made for */
    resample_column nodes;    /* cubic: those that may still bound an output of the filter */
    bool weighed;             /* gains are asked for */
    resample_gain gain;       /* ... from these nodes */
    size_t dropped;           /* samples of the run before t[0] */
    uint64_t made;            /* outputs of the filter in this run */
    int64_t first_node;       /* number of the first node */
} resample_run;

/* With `weighed` the columns are given the gain of each value. */
void resample_run_init(resample_run *run, const resample_grid *grid, resample_method method,
                       bool weighed);

/* Begin a run of a channel whose samples are usually `spacing` s apart. */
void resample_run_begin(resample_run *run, double spacing);

/* Take n samples, whose times rise on after that of the last. */
shot_status resample_run_push(resample_run *run, const double *t, const double *y, size_t n);

/* Append to the column what the samples so far decide.  SHOT_ERR_RANGE for samples more than a
 * million times as dense as the grid. */
shot_status resample_run_flush(resample_run *run, resample_column *column);

/* The run is over: append the rest. */
shot_status resample_run_finish(resample_run *run, resample_column *column);

void resample_run_clear(resample_run *run);

#endif
