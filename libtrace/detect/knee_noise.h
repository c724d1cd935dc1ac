/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How uncertain a change of slope is, where and at which width it is seen. */
#ifndef SHOT_DETECT_KNEE_NOISE_H
#define SHOT_DETECT_KNEE_NOISE_H

#include "detect/channel_view.h"

/* How many times louder than the channel's noise it is within a second of each sample, 1 or more:
 * a pump shakes its gauge while it runs.  `out` and `work` have room for view->n.  SHOT_ERR_MEMORY.
 */
shot_status shot_knee_loudness(const shot_channel_view *view, double *out, double *work);

/* How much larger than white noise makes them the changes of slope are, apart from knees: about 1
 * in white noise; 0 where none could be seen.
 *   x, n        times of the samples
 *   change      seen at each from a half-width of `reach`
 *   score       |change| in standard errors of white noise; 0 where none could be seen
 *   work        room for n
 */
double shot_knee_restlessness(const double *x, const double *change, const double *score, size_t n,
                              double reach, double *work);

/* What one width shows of it. */
typedef struct shot_knee_rest {
    double reach;   /* half-width, s */
    double times;   /* restlessness, as above; 0 where nothing is known of it */
    double freedom; /* degrees of freedom with which that is known */
} shot_knee_rest;

/* The same at the last of `count` widths, the narrowest first and half an octave apart, from all of
 * them, if the noise is white and 1/f; 1 with no freedom where none tells anything. */
shot_knee_rest shot_knee_restlessness_of_all(const shot_knee_rest *widths, size_t count);

#endif
