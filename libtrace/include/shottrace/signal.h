/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Numbers in, numbers out: everything of the signal layer. */
#ifndef SHOTTRACE_SIGNAL_H
#define SHOTTRACE_SIGNAL_H

#include <shottrace/signal/bandlimited.h>
#include <shottrace/signal/butterworth.h>
#include <shottrace/signal/control_chart.h>
#include <shottrace/signal/cusum.h>
#include <shottrace/signal/delay.h>
#include <shottrace/signal/difference.h>
#include <shottrace/signal/distribution.h>
#include <shottrace/signal/false_alarm.h>
#include <shottrace/signal/flicker.h>
#include <shottrace/signal/fraction.h>
#include <shottrace/signal/goertzel.h>
#include <shottrace/signal/hampel.h>
#include <shottrace/signal/integral.h>
#include <shottrace/signal/lagrange.h>
#include <shottrace/signal/least_squares.h>
#include <shottrace/signal/level_change.h>
#include <shottrace/signal/linear.h>
#include <shottrace/signal/local_fit.h>
#include <shottrace/signal/lomb_scargle.h>
#include <shottrace/signal/median.h>
#include <shottrace/signal/moments.h>
#include <shottrace/signal/monotone_cubic.h>
#include <shottrace/signal/multiplicity.h>
#include <shottrace/signal/noise.h>
#include <shottrace/signal/normal.h>
#include <shottrace/signal/outlier.h>
#include <shottrace/signal/peak.h>
#include <shottrace/signal/permutation.h>
#include <shottrace/signal/pettitt.h>
#include <shottrace/signal/portable.h>
#include <shottrace/signal/proportion.h>
#include <shottrace/signal/random.h>
#include <shottrace/signal/rank_test.h>
#include <shottrace/signal/resolution.h>
#include <shottrace/signal/root.h>
#include <shottrace/signal/running_fit.h>
#include <shottrace/signal/running_median.h>
#include <shottrace/signal/sample_quantile.h>
#include <shottrace/signal/sample_size.h>
#include <shottrace/signal/savgol.h>
#include <shottrace/signal/segmented_line.h>
#include <shottrace/signal/sliding_window.h>
#include <shottrace/signal/slope_change.h>
#include <shottrace/signal/slope_partition.h>
#include <shottrace/signal/special.h>
#include <shottrace/signal/straight_line.h>
#include <shottrace/signal/trend.h>
#include <shottrace/signal/two_sample.h>
#include <shottrace/signal/vertex.h>
#include <shottrace/signal/welch.h>
#include <shottrace/signal/window_function.h>

#endif
