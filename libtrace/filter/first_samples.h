/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The first rows of a channel, kept until its usual spacing shows: the median of the intervals
 * between its first nine samples that have a value. */
#ifndef SHOT_FILTER_FIRST_SAMPLES_H
#define SHOT_FILTER_FIRST_SAMPLES_H

#include <stdbool.h>

#include <shottrace/trace/block.h>

enum { FIRST_SAMPLES = 9 };

typedef struct first_samples {
    shot_rows rows;              /* t, y: all rows so far */
    double times[FIRST_SAMPLES]; /* of those with a value */
    size_t count;
} first_samples;

shot_status first_samples_init(first_samples *first);

/* Keep a row; *enough tells that the spacing is known.  SHOT_ERR_MEMORY. */
shot_status first_samples_push(first_samples *first, double t, double y, bool *enough);

/* The spacing, s; NaN with fewer than two values. */
double first_samples_spacing(const first_samples *first);

/* Forget all rows. */
void first_samples_reset(first_samples *first);
void first_samples_free(first_samples *first);

#endif
