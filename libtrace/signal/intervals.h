/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The shortest and the longest of the intervals between times. */
#ifndef SHOT_SIGNAL_INTERVALS_H
#define SHOT_SIGNAL_INTERVALS_H

#include <stddef.h>

typedef struct intervals {
    double shortest, longest;
} intervals;

/* Take in those between t[0..n-1]. */
void intervals_take(const double *t, size_t n, intervals *all);

#endif
