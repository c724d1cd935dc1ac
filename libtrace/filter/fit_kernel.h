/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The running polynomial fit as the kernel of a by_channel stage, and the options that describe its
 * window: shared by smooth and diff. */
#ifndef SHOT_FILTER_FIT_KERNEL_H
#define SHOT_FILTER_FIT_KERNEL_H

#include <shottrace/signal/running_fit.h>

#include "filter/by_channel.h"

/* A window of that length around a sample.  SHOT_ERR_USAGE for an even count of samples. */
shot_status fit_kernel_reach(const shot_span *window, shot_reach *out, shot_error *error);

/* SHOT_ERR_USAGE, with the option to blame, for a rule that no window can meet. */
shot_status fit_kernel_check(const shot_running_fit_rule *rule, shot_error *error);

shot_status fit_kernel_new(const shot_running_fit_rule *rule, channel_kernel *out);

/* The look-ahead of a window in words. */
void fit_kernel_latency(const shot_span *window, char *out, size_t room);

#endif
