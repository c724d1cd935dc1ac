/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The grid that a record is resampled onto: the whole multiples of a step, so that two records on
 * the same clock share their times. */
#ifndef SHOT_SIGNAL_RESAMPLE_GRID_H
#define SHOT_SIGNAL_RESAMPLE_GRID_H

#include <stddef.h>
#include <stdint.h>

#include <shottrace/signal/fraction.h>

typedef struct resample_grid {
    double step;            /* s */
    shot_fraction fraction; /* the same, if it is a fraction of small numbers: then a time is the
                             * double nearest to it and prints short */
} resample_grid;

resample_grid resample_grid_of(double step);

/* The time of place k of the grid with its step divided by `parts` >= 1. */
double resample_grid_time(const resample_grid *grid, int64_t k, int64_t parts);

/* The times of n places from k on; |k| and |k + n| below 2^53. */
void resample_grid_times(const resample_grid *grid, int64_t k, int64_t parts, size_t n,
                         double *out);

/* The first k whose time is not before t; |t| / step * parts must be below 1e15. */
int64_t resample_grid_first(const resample_grid *grid, double t, int64_t parts);

#endif
