/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A second generator of shots with known truth, unlike the physical model on purpose: pressure is a
 * chain of straight and exponential pieces, resistance a formula of time, flow their quotient.
 * Nothing here knows a pump, a headspace or a bed, and nothing of libtrace/puck makes the curves,
 * so that a detector that passes on both was not tuned to either.
 *
 *     analytic_shot *shot;
 *     analytic_shot_new(ANALYTIC_SOAK, SHOT_GRADE_TYPICAL, seed, index, &shot);
 *     ... shot->time[i], shot->pressure[i], shot->flow[i], shot->weight[i], i < shot->rows ...
 *     ... shot->truth.items[k] ...
 *     analytic_shot_free(shot);
 */
#ifndef SHOT_TEST_ANALYTIC_SHOT_H
#define SHOT_TEST_ANALYTIC_SHOT_H

#include <shottrace/puck/logger.h>
#include <shottrace/puck/truth.h>

typedef enum analytic_family {
    ANALYTIC_DIRECT,  /* one ramp, a small final lift, a hold: like the textbook shot */
    ANALYTIC_PREWET,  /* a low level, a ramp, a hold */
    ANALYTIC_SOAK,    /* a long low level, a ramp, a linear decline */
    ANALYTIC_DECLINE, /* a ramp, an exponential decline */
    ANALYTIC_STEP,    /* a low level, a ramp, a hold, a step down */
    ANALYTIC_PULSES,  /* exponential pulses, a ramp, a hold */
    ANALYTIC_COUNT
} analytic_family;

typedef struct analytic_shot {
    size_t rows;
    double *time, *pressure, *flow, *weight; /* s, bar, ml/s, g; NaN where missing */
    double scale_lag;                        /* s */
    double noise[3], step[3];                /* of pressure, flow and weight */
    shot_truth_list truth;
} analytic_shot;

/* Shot `index` of `seed`.  `*out` is owned by the caller; NULL on failure (SHOT_ERR_MEMORY). */
shot_status analytic_shot_new(analytic_family family, shot_grade grade, uint64_t seed,
                              uint64_t index, analytic_shot **out);

/* The same shot without noise, steps or lost rows, at `rate` Hz: what the log was made from. */
shot_status analytic_shot_quiet(analytic_family family, shot_grade grade, uint64_t seed,
                                uint64_t index, double rate, analytic_shot **out);

/* The same shot on a typical logger of `rate` Hz, with one opening, of this `size`, where it brews
 * long enough for one. */
shot_status analytic_shot_opening(analytic_family family, uint64_t seed, uint64_t index,
                                  double rate, double size, analytic_shot **out);

/* The textbook shot: t in s: 0-6.5 ramp 0 to 8.7 bar; 6.5-7.0 lift to 9.0; hold to 27; 27-28 to 0;
 * first drip at 7.0, outflow 2 (1 - exp(-(t - 7)/1.5)) g/s until 27.  Exact answers: knees of the
 * pressure at 6.5, 7, 27 and 28 s, 37.000004859 g at 27 s.  Sampled from 0 to 30 s at `rate` Hz
 * with white noise of SD `noise` bar on the pressure and nothing else. */
shot_status analytic_shot_textbook(double rate, double noise, uint64_t seed, analytic_shot **out);

void analytic_shot_free(analytic_shot *shot);

#endif
