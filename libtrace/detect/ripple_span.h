/* SPDX-License-Identifier: GPL-3.0-or-later */
/* When a ripple shows: from where to where its amplitude is over half of what it is on the whole.
 */
#ifndef SHOT_DETECT_RIPPLE_SPAN_H
#define SHOT_DETECT_RIPPLE_SPAN_H

#include "detect/ripple_spectrum.h"

typedef struct ripple_edge {
    double at, low, high; /* s; the interval at 95 % */
} ripple_edge;

/* Find both edges.
 *   first, last           segments of the spectrum between which it shows
 *   frequency, amplitude  of the ripple, there
 * A Hann window that slides over a sudden edge shows half of the amplitude where its middle is on
 * the edge.  The window is as short as the noise allows; where it would be over half a segment, the
 * edges are what the segments with and without the ripple leave open.  SHOT_ERR_MEMORY. */
shot_status ripple_span_find(const ripple_spectrum *spectrum, size_t first, size_t last,
                             double frequency, double amplitude, ripple_edge *from,
                             ripple_edge *to);

#endif
