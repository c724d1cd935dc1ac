/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A running fit whose window follows from a cut-off frequency: it waits for the first nine samples
 * of a shot, whose median interval is the channel's spacing, and takes the Savitzky-Golay window
 * whose half-power frequency at that spacing is nearest. */
#ifndef SHOT_FILTER_CUTOFF_KERNEL_H
#define SHOT_FILTER_CUTOFF_KERNEL_H

#include <shottrace/signal/running_fit.h>

#include "filter/by_channel.h"

/* The rule's reach is filled in for each shot. */
shot_status cutoff_kernel_new(const shot_running_fit_rule *rule, double cutoff,
                              channel_kernel *out);

#endif
