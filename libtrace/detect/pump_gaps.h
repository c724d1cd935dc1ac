/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The times before the main rise at which the pump stands: the flow is nothing, or the pressure
 * turns from rising to falling and back. */
#ifndef SHOT_DETECT_PUMP_GAPS_H
#define SHOT_DETECT_PUMP_GAPS_H

#include "detect/phases.h"

typedef struct pump_gap {
    shot_instant off, on; /* the pump stops, and starts again */
    double lost;          /* pressure lost, bar; 0 where the flow tells */
    bool faint;           /* the flow tells, but it is not quite nothing */
} pump_gap;

/* All gaps from `from` to `to`, in order; *out is freed by the caller.  `restriction`
 * is K of the restrictor between gauge and puck (detect/puck_pressure.h), 0 without one; `rest`
 * what the gauge shows without pressure.  SHOT_ERR_MEMORY. */
shot_status pump_gaps_find(const shot_phase_input *input, double restriction, double rest,
                           double from, double to, pump_gap **out, size_t *count);

#endif
