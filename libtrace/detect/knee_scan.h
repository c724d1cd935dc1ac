/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where the slope of a channel breaks, to the nearest sample. */
#ifndef SHOT_DETECT_KNEE_SCAN_H
#define SHOT_DETECT_KNEE_SCAN_H

#include "detect/channel_view.h"
#include "signal/line_sums.h"

typedef struct shot_knee_place {
    size_t at;     /* index of the sample */
    double reach;  /* half-width of the window in which it was seen, s */
    double change; /* of slope, in that window */
    double se;     /* its standard error */
    double scale;  /* s: the slopes beside it are those over this time, as far as noise lets us tell
                    */
} shot_knee_place;

/* All breaks of at least `least` (change of slope), in order of time; *out is freed with free().
 *   view         the channel
 *   sums         line_sums_new over its samples
 *   alarm_rate   with which noise alone may give any
 * SHOT_ERR_MEMORY. */
shot_status shot_knee_scan(const shot_channel_view *view, const line_sums *sums, double least,
                           double alarm_rate, shot_knee_place **out, size_t *count);

#endif
