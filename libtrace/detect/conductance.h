/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The puck's hydraulic conductance (flow over pressure, the inverse of its resistance) as a linear
 * model of what a log shows, with a sudden step in it.
 *
 * Conductance is taken as a straight line in time, or a parabola, plus a step that opens evenly
 * from `onset` over `seconds`:
 *
 *     G(t) = b0 + b1 u + b2 u^2 + a S(t),   S = 0 before onset, 1 after onset + seconds
 *
 * A flow meter shows Q = G p; a scale shows W = W0 + integral of G p.  With the pressure p known
 * (its noise is a tenth of the flow's) both are linear in b and a, so that least squares on the
 * samples as they are gives a with its standard error: no derivative of noisy figures is taken, no
 * ratio formed that could blow up at small flows.  Darcy 1856, 'Les fontaines publiques de la ville
 * de Dijon', note D; the linear model: Seber & Lee 2003, 'Linear Regression Analysis', 2nd ed.,
 * section 3.
 */
#ifndef SHOT_DETECT_CONDUCTANCE_H
#define SHOT_DETECT_CONDUCTANCE_H

#include <stdbool.h>
#include <stddef.h>

#include <shottrace/status.h>

/* The samples of one channel over the brew, with the pressure at the puck at their instants. */
typedef struct conductance_data {
    double *t, *y, *pressure; /* [n] */
    size_t n;
    bool summed; /* y is the integral of the flow: a scale */
    double sd;   /* of the noise of a sample */
    double lag;  /* s by which y follows the flow through the puck */
} conductance_data;

typedef struct conductance_step {
    double onset, seconds; /* s */
    double from, to;       /* what is looked at, s */
    int order;             /* of the trend, 1 or 2 */
} conductance_step;

typedef struct conductance_fit {
    double step, step_se; /* a, for noise of SD 1 times `sd` of the data */
    double base;          /* conductance without the step, half way through it */
    double rss;           /* residual sum of squares */
    size_t n;             /* samples */
    double before, after; /* seconds of data before the onset and after the end */
} conductance_fit;

/* S(t) of a step. */
double conductance_opening(const conductance_step *step, double t);

/* Fit.  SHOT_ERR_SINGULAR where the samples do not suffice.  `work` holds
 * conductance_workspace(n) doubles. */
size_t conductance_workspace(size_t n);
shot_status conductance_fit_step(const conductance_data *data, const conductance_step *step,
                                 double *work, conductance_fit *out);

/* The residual sum of squares of a smooth trend of that order alone, over the same samples. */
shot_status conductance_fit_trend(const conductance_data *data, const conductance_step *step,
                                  int order, double *work, double *rss);

/* The weights by which the samples make the step: step = sum weights[i] y[i]; 0 outside. */
shot_status conductance_weights(const conductance_data *data, const conductance_step *step,
                                double *work, double *weights);

#endif
