/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The noise-free curves behind the logs of both generators, for the bound of support/ideal.h.  What
 * the bound leaves out makes it too narrow rather than too wide: 1/f noise counts as white, ripple
 * and spikes not at all. */
#ifndef SHOT_TEST_FINDINGS_IDEAL_H
#define SHOT_TEST_FINDINGS_IDEAL_H

#include <shottrace/puck/synth.h>

#include "support/analytic_shot.h"
#include "support/ideal.h"

/* What the curves of a shot of the physical model lie in; freed with findings_ideal_free. */
typedef struct findings_ideal {
    ideal_curves curves;
    double *pressure, *flow, *puck, *conductance;
    shot_log *scale;
    analytic_shot *quiet;
} findings_ideal;

/* SD of a sample's noise, its steps and pulses included. */
double findings_ideal_noise(const shot_logger *logger, shot_sensor_kind kind);

/* `logged` is borrowed by the curves. */
void findings_ideal_of_brew(const shot_synth *shot, findings_ideal *out);
void findings_ideal_of_pieces(analytic_family family, shot_grade grade, uint64_t seed,
                              uint64_t index, const analytic_shot *logged, findings_ideal *out);
void findings_ideal_free(findings_ideal *ideal);

#endif
