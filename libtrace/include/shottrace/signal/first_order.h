/* SPDX-License-Identifier: GPL-3.0-or-later */
/* First-order low-pass on uneven times: what an R-C circuit, or a scale that settles, shows.
 *
 *     shown = shot_first_order(shown, y, t - last, 0.5);
 *
 * The exact solution of  tau dy/dt + y = x  for an input that holds its newest value since the last
 * sample (step-invariant; common practice, no source), so that a step gives 1 - exp(-t / tau)
 * whatever the times of the samples. */
#ifndef SHOTTRACE_SIGNAL_FIRST_ORDER_H
#define SHOTTRACE_SIGNAL_FIRST_ORDER_H

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* The output after a sample.
 *   shown   the output at the sample before
 *   value   the sample
 *   dt      time since the sample before, >= 0
 *   tau     time constant in the same unit, > 0
 * A missing argument (NaN) gives NaN: leave missing samples out. */
SHOT_API double shot_first_order(double shown, double value, double dt, double tau);

#ifdef __cplusplus
}
#endif
#endif
