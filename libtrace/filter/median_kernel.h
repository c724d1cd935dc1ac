/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The running median as the kernel of a by_channel stage. */
#ifndef SHOT_FILTER_MEDIAN_KERNEL_H
#define SHOT_FILTER_MEDIAN_KERNEL_H

#include <shottrace/signal/running_median.h>

#include "filter/by_channel.h"

/* `fill`: missing samples get the median of their window too. */
shot_status median_kernel_new(shot_reach reach, bool fill, channel_kernel *out);

#endif
