/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The pressure at the puck, which a gauge at the pump does not show. */
#ifndef SHOT_DETECT_PUCK_PRESSURE_H
#define SHOT_DETECT_PUCK_PRESSURE_H

#include "detect/channel_view.h"

/* *out gets K of the restrictor between gauge and puck, pressure lost = K flow^2, in bar.s2/ml2; 0
 * where the log shows none.  `rest` is the pressure without any; `before`: the log says that the
 * gauge sits before a restrictor, if there is one, so that less certain signs count.  *until (may
 * be NULL) gets the time up to which the puck has no pressure, so that all is lost in the
 * restrictor. SHOT_ERR_MEMORY. */
shot_status shot_restriction(const shot_channel_view *pressure, const shot_channel_view *flow,
                             double rest, bool before, double *until, double *out);

/* The restrictor, and the meter that tells what runs through it. */
typedef struct shot_restrictor {
    double k;      /* bar.s2/ml2; 0: there is none */
    double filled; /* s: until then the puck has no pressure; NaN where nobody knows */
    double lag;    /* s by which the flow is shown late */
    double half;   /* s: the loss is worked out from means of the flow over twice as long */
} shot_restrictor;

/* Half of the time over which a meter's figures are to be averaged: those of one that counts over a
 * gate may each be off by a count, and two on end by no more than one. */
double shot_restrictor_half(const shot_channel_view *flow);

/* A copy of `pressure` with the loss in the restrictor taken off.  SHOT_ERR_MEMORY.  Freed with
 * shot_channel_view_free. */
shot_status shot_puck_pressure(const shot_channel_view *pressure, const shot_channel_view *flow,
                               const shot_restrictor *restrictor, double rest,
                               shot_channel_view *out);

/* SD, bar, of what is taken off at a time, as far as it is common to some samples on end. */
double shot_restrictor_loss_sd(const shot_restrictor *restrictor, const shot_channel_view *flow,
                               double t);

#endif
