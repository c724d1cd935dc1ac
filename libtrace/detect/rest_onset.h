/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A channel leaves its rest: whether it does, and when. */
#ifndef SHOT_DETECT_REST_ONSET_H
#define SHOT_DETECT_REST_ONSET_H

#include "detect/onset.h"

/* The first time at which the channel is over `limit` and stays so in the mean of the next `hold`
 * seconds; NaN if it never is. */
double shot_rest_first_over(const shot_channel_view *view, double limit, double hold);

/* Where it leaves `rest`, about the time `about` at which it is over `limit`.  SHOT_ERR_MEMORY. */
shot_status shot_rest_onset(const shot_channel_view *view, double rest, double limit, double about,
                            shot_instant *out);

/* It left its rest before sample i and no sample lies on the way: between two samples, or before
 * the log. */
shot_instant shot_rest_between(const shot_channel_view *view, size_t i);

/* It had left its rest when the log began, nobody knows since when. */
shot_instant shot_rest_left_before(const shot_channel_view *view);

#endif
