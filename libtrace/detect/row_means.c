/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Slow rows that may be means. */
#include "detect/row_means.h"

#include "detect/brewing.h"

/* bar: finer than a person reads a needle; common practice, no source */
static const double finer_than_needle = 0.05;

/* A hand writes down what a needle shows at a time; a logger that takes as long for a row may have
 * looked often, and write the mean of that. */
static bool may_be_means(const shot_channel_view *gauge) {
    return gauge->n > 0 && gauge->noise.spacing >= shot_by_hand &&
           shot_channel_view_written_step(gauge) < finer_than_needle;
}

shot_instant shot_over_row_means(const shot_phase_input *input, shot_instant one) {
    if (may_be_means(&input->pressure))
        one.low -= input->pressure.noise.spacing;
    return one;
}
