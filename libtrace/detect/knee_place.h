/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The place of a knee of unknown sharpness. */
#ifndef SHOT_DETECT_KNEE_PLACE_H
#define SHOT_DETECT_KNEE_PLACE_H

#include "detect/channel_view.h"

/* What is known of a knee beforehand. */
typedef struct shot_knee_hint {
    double from, to; /* s: no other knee between */
    double at;       /* s, about */
    double reach;    /* s: half-width of the narrowest window that shows it */
    double scale;    /* s: the slopes beside it are those over this time */
} shot_knee_hint;

typedef struct shot_knee_range {
    double at, low, high; /* s */
} shot_knee_range;

/* The median of the place, and the range that holds it with the probability `level`.  False, and
 * *out as it was, where the samples are too few. */
bool shot_knee_locate(const shot_channel_view *view, const shot_knee_hint *hint, double level,
                      shot_knee_range *out);

#endif
