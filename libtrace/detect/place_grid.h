/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A distribution of places, as values on an even grid. */
#ifndef SHOT_DETECT_PLACE_GRID_H
#define SHOT_DETECT_PLACE_GRID_H

#include <stddef.h>

typedef struct place_grid {
    double from, step; /* s */
    double *value;     /* [count] chances, in any unit; each stands for the step about its place */
    size_t count;
} place_grid;

double place_grid_at(const place_grid *self, size_t i);

/* The place below which the share p of all chances lies. */
double place_grid_quantile(const place_grid *self, double p);

#endif
