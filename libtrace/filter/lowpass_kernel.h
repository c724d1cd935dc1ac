/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The low-pass without delay as the kernel of a by_channel stage.  It waits for the end of the
 * shot, wants rows at even times, and filters each stretch without missing samples for itself. */
#ifndef SHOT_FILTER_LOWPASS_KERNEL_H
#define SHOT_FILTER_LOWPASS_KERNEL_H

#include "filter/by_channel.h"

/* Half power at `cutoff` Hz in both passes together. */
shot_status lowpass_kernel_new(size_t order, double cutoff, bool errors, channel_kernel *out);

#endif
