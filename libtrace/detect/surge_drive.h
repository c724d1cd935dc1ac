/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What drives the puck: is pressure steady, or changed on purpose? */
#ifndef SHOT_DETECT_SURGE_DRIVE_H
#define SHOT_DETECT_SURGE_DRIVE_H

#include "detect/conductance.h"

/* The first sample that shows the puck at t or later. */
size_t surge_first_at(const conductance_data *data, double t);

/* When the last sample before t, and the first one from t on, show the puck; -inf and inf without.
 * Across a gap, or in a slow log, they lie far. */
double surge_last_before(const conductance_data *data, double t);
double surge_first_from(const conductance_data *data, double t);

/* Mean pressure over the samples that show what happened in the puck from..to; NaN without any;
 * and its standard error. */
double surge_mean_pressure(const conductance_data *data, double from, double to, double *se);

/* Water that moved in from..to, ml or g a second, and its standard error. */
double surge_mean_flow(const conductance_data *data, double from, double to, double *se);

/* Change of ln(pressure) in a second by which it is changed on purpose; common practice, no source.
 */
static const double surge_purpose = 0.04;

typedef enum surge_drive { SURGE_STEADY, SURGE_RAISED, SURGE_LOWERED } surge_drive;

/* Which samples lie where a person or a program raises or lowers the pressure: it changes by 4 % in
 * a second or more, and the flow goes with it; where the puck gives way, flow and pressure go
 * apart.  A fall that goes on evenly, as behind a spring, is none.
 *   drive   [data->n] */
void surge_drive_find(const conductance_data *data, surge_drive *drive);

/* The age of the load at each sample of `data`, s since pressure was last changed on purpose
 * according to `first` (or since its first sample). */
void surge_drive_age(const conductance_data *first, const surge_drive *drive,
                     conductance_data *data);

#endif
