/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The channels that a detector was asked to look at; without a word of the person, the pressure. */
#ifndef SHOT_DETECT_ASKED_CHANNELS_H
#define SHOT_DETECT_ASKED_CHANNELS_H

#include <shottrace/trace/detector.h>
#include <shottrace/trace/option.h>

/* The default of such an option. */
#define SHOT_ASKED_DEFAULT "pressure"

/* SHOT_ERR_USAGE where the time itself is asked for. */
shot_status asked_channels_check(const shot_texts *asked, shot_error *error);

/* Tell the person that the shot lacks the channel, unless nobody named it: a log of another logger
 * may well have no pressure.  Nothing where the channel is there. */
shot_status asked_channels_tell_missing(const shot_texts *asked, const shot_head *head,
                                        const char *channel, shot_findings *found);

#endif
