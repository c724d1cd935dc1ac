/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What tells water that meets a puck from water that runs through an open group.  All of it common
 * practice, no source; docs/split.md says what each is for. */
#ifndef SHOT_PUCK_OPEN_GROUP_H
#define SHOT_PUCK_OPEN_GROUP_H

#include <stdbool.h>

static const double group_pressure = 0.8;  /* bar: an open group stands under it */
static const double puck_pressure = 2;     /* bar, over which water goes through a puck */
static const double puck_resistance = 1.6; /* bar.s/ml: an open group with a jet has about 1 */
static const double puck_throttles = 0.75; /* of the greatest flow of a run of the pump */
static const double puck_holds = 0.8;      /* s: longer than a valve takes to close */
static const double headspace_takes = 12;  /* ml, at least, empty and over a dry bed */

/* Does something hold up water of q ml/s under p bar, in a run of the pump of at most `most` ml/s?
 */
static inline bool puck_resists(double p, double q, double most) {
    return p >= group_pressure && (q < puck_throttles * most || p >= puck_resistance * q);
}

#endif
