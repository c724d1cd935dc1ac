/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Count, mean and sum of squares of values that come one by one, without a copy of them. */
#ifndef SHOT_SIGNAL_RUNNING_MOMENTS_H
#define SHOT_SIGNAL_RUNNING_MOMENTS_H

typedef struct running_moments {
    double count, mean;
    double squares; /* of the deviations from the mean; over count - 1 it is the variance */
} running_moments;

/* One more value.  Steps from mean to mean lose no digits (Welford 1962, Technometrics
 * 4:419-420). */
static inline void running_moments_add(running_moments *s, double value) {
    const double step = value - s->mean;
    s->count++;
    s->mean += step / s->count;
    s->squares += step * (value - s->mean);
}

#endif
