/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How soon could water be told? */
#include "support/onset_limit.h"

#include <math.h>
#include <stdlib.h>

#include <shottrace/signal/cusum.h>

static const double reference = 1;                 /* SD, as in detect/live_onset.c */
static const double alarm_rate = 0.01, idle = 600; /* in so many s of noise */
static const double beyond = 5;                    /* s behind the water */

/* The level at rest: the mean of what the log shows before the water, 0 without. */
static double rest_of(const double *t, const double *y, size_t rows, double at) {
    double sum = 0, n = 0;
    for (size_t i = 0; i < rows; i++)
        if (t[i] < at && fabs(y[i]) < 1) /* no spike */
            sum += y[i], n++;
    return n > 0 ? sum / n : 0;
}

/* The mean time between samples; NaN without two. */
static double spacing_of(const double *t, const double *y, size_t rows) {
    double first = NAN, last = NAN, n = 0;
    for (size_t i = 0; i < rows; i++)
        if (!isnan(y[i])) {
            first = n++ > 0 ? first : t[i];
            last = t[i];
        }
    return (last - first) / (n - 1);
}

static double delay_of(const double *t, const double *y, size_t rows, double noise, double at) {
    shot_cusum cusum = {.reference = reference};
    const double rest = rest_of(t, y, rows, at), spacing = spacing_of(t, y, rows);
    if (!(spacing > 0) || shot_cusum_threshold(reference, SHOT_CUSUM_ONE, fmax(idle / spacing, 1),
                                               alarm_rate, &cusum.threshold) != SHOT_OK)
        return INFINITY;
    for (size_t i = 0; i < rows && t[i] < at + beyond; i++)
        if (t[i] >= at && shot_cusum_push(&cusum, (y[i] - rest) / noise) > 0)
            return t[i] - at;
    return INFINITY;
}

double onset_limit_delay(const findings_log *log, double at) {
    double soonest = INFINITY;
    if (log->ideal == NULL)
        return NAN;
    for (size_t k = 0; k < log->ideal->channels; k++)
        if (log->ideal->shows[k] != IDEAL_WEIGHT && log->ideal->noise[k] > 0)
            soonest = fmin(soonest, delay_of(log->column[0], log->ideal->logged[k], log->rows,
                                             log->ideal->noise[k], at));
    return soonest;
}
