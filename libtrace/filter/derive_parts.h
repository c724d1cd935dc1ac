/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the parts of shot-derive share. */
#ifndef SHOT_FILTER_DERIVE_PARTS_H
#define SHOT_FILTER_DERIVE_PARTS_H

#include <stdbool.h>

#include <shottrace/signal/local_fit.h>
#include <shottrace/trace/block.h>
#include <shottrace/trace/shot.h>

#include "signal/fit_noise.h"

typedef enum derive_quantity {
    DERIVE_OUTFLOW, /* first: the others may rest on it */
    DERIVE_WATER,
    DERIVE_RESISTANCE,
    DERIVE_CONDUCTANCE,
    DERIVE_POWER,
    DERIVE_PERMEABILITY,
    DERIVE_QUANTITIES
} derive_quantity;

/* What is known of a shot: where its channels stand (-1: nowhere) and the bed. */
typedef struct derive_shot {
    ptrdiff_t pressure, flow, outflow, weight, temperature, water;
    double area, length;   /* of the bed, m2 and m; NaN if not known */
    bool bed_is_guessed;   /* its depth comes from the dose */
    double celsius;        /* of the last temperature seen, or 93 */
    double least_flow;     /* ml/s */
    double least_pressure; /* bar */
} derive_shot;

/* Roast and ground coffee, tamped, weighs about so much, g/ml (common practice, no source). */
#define DERIVE_TAMPED 0.45

/* Where the channels stand; the limits of the flow and the pressure are left as they are. */
void derive_shot_find(derive_shot *shot, const shot_head *head);
/* The bed from '# basket:', '# bed:' and '# dose:', as far as they are known. */
shot_status derive_shot_read_bed(derive_shot *shot, const shot_head *head);
bool derive_shot_allows(const derive_shot *shot, derive_quantity quantity);
/* What a quantity needs, in words. */
const char *derive_needs(derive_quantity quantity);

/* Why nothing can be derived from the shot, as words; NULL where something can. */
const char *derive_nothing(const derive_shot *shot, const shot_head *head);

/* One row's values, or their standard errors: what is not measured is NaN. */
typedef struct derive_row {
    double pressure, flow, outflow; /* bar, ml/s, g/s */
    double celsius;
} derive_row;

/* A quantity of the row (not OUTFLOW or WATER, which need more than a row); NaN where it cannot be
 * known. */
double derive_value(derive_quantity quantity, const derive_row *row, const derive_shot *shot);

/* The standard error of that quantity from those of the row, to the first order: the root of the
 * sum of (df/dx)^2 u(x)^2 over what it rests on (Joint Committee for Guides in Metrology 2008, JCGM
 * 100, 'Guide to the expression of uncertainty in measurement', eq. 10).  The bed is taken as
 * given. */
double derive_error(derive_quantity quantity, const derive_row *row, const derive_row *se,
                    const derive_shot *shot);

/* ---- outflow ---- */

/* The slope of the weight, on the clock of the cup: a straight line through the samples within half
 * a window of the time at which the scale shows what leaves the spout now. */
typedef struct derive_outflow {
    shot_local_fit *fit;
    fit_noise noise;   /* of the weight */
    shot_rows samples; /* time and weight, those still within reach */
    double half, lag;  /* s */
} derive_outflow;

shot_status derive_outflow_begin(derive_outflow *outflow, double window, double lag);
shot_status derive_outflow_add(derive_outflow *outflow, double t, double weight);
/* The outflow at `t`, and what it carries of the noise of the samples, for rows in order; samples
 * that no later row reaches are forgotten.  NaN where there is none. */
shot_status derive_outflow_at(derive_outflow *outflow, double t, shot_local_fit_value *out);
void derive_outflow_free(derive_outflow *outflow);

#endif
