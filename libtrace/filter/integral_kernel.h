/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The running integral as the kernel of a by_channel stage. */
#ifndef SHOT_FILTER_INTEGRAL_KERNEL_H
#define SHOT_FILTER_INTEGRAL_KERNEL_H

#include <shottrace/signal/integral.h>
#include <shottrace/trace/option.h>

#include "filter/by_channel.h"

/* `longest`: a time, or a multiple of the channel's usual spacing, instead of rule->longest; 0: no
 * gap is too long. */
shot_status integral_kernel_new(const shot_integral_rule *rule, const shot_span *longest,
                                channel_kernel *out);

#endif
