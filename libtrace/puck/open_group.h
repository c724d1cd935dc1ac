/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What tells water that meets a puck from water that runs through an open group.  All of it common
 * practice, no source; docs/split.md says what each is for. */
#ifndef SHOT_PUCK_OPEN_GROUP_H
#define SHOT_PUCK_OPEN_GROUP_H

#include <math.h>
#include <stdbool.h>

static const double group_pressure = 0.8;  /* bar: an open group stands under it */
static const double puck_pressure = 2;     /* bar, over which water goes through a puck */
static const double puck_resistance = 1.6; /* bar.s/ml: an open group with a jet has about 1 */
static const double puck_throttles = 0.75; /* of the greatest flow of a run of the pump */
static const double puck_holds = 0.8;      /* s: longer than a valve takes to close */
static const double headspace_takes = 12;  /* ml, at least, empty and over a dry bed */

/* What an open group has shown itself to take. */
typedef struct open_group {
    double since, p, q; /* s, bar, ml/s: since when flow and pressure stand, and what they were */
    double loss;        /* the least p / q^2 of a second in which they stood, bar.s2/ml2 */
} open_group;

static const open_group open_group_unseen = {NAN, NAN, NAN, INFINITY};

/* Take the levels of pressure and flow at a time.  An orifice loses as the square of the flow (ISO
 * 5167-1); where both stand for a second no line is charged and no meter lags.  A gauge's step and
 * zero may hide some of the loss: the more, the less water ran. */
static inline void open_group_take(open_group *group, double time, double p, double q) {
    static const double stands = 1, alike = 0.25; /* s, of itself */
    const double hidden = group_pressure / 2;
    const bool same = fabs(q - group->q) <= alike * group->q &&
                      fabs(p - group->p) <= fmax(hidden, alike * group->p);
    if (!same)
        *group = (open_group){.since = time, .p = p, .q = q, .loss = group->loss};
    else if (time - group->since >= stands)
        group->loss = fmin(group->loss, (fmax(p, 0) + hidden) / (q * q));
}

/* Does something hold up water of q ml/s under p bar, in a run of the pump of at most `most` ml/s?
 * Either less runs than through the open group, or as much by far more pressure than that took. */
static inline bool puck_resists(double p, double q, double most, const open_group *group) {
    const bool adds = p >= 2 * group->loss * q * q;
    return p >= group_pressure && (q < puck_throttles * most || p >= puck_resistance * q || adds);
}

#endif
