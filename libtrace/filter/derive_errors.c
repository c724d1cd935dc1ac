/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Standard errors for shot-derive.
 *
 * A quotient of one row needs the errors of that row alone: it may rest on a channel that was
 * smoothed, if the smoother left its NAME.se.  A sum over rows (the water, the slope of the weight)
 * needs to know how they depend on each other, and has none where that is not known. */
#include "filter/derive_errors.h"

#include <math.h>
#include <stdlib.h>

#include "filter/error_basis.h"
#include "filter/standard_errors.h"

/* ---- which quantity rests on which channel ---- */

static void look_at(derive_noise *noise, ptrdiff_t column, const shot_head *head) {
    noise->column = column;
    noise->se = -1;
    noise->fault = NULL;
    noise->needed = noise->learns = false;
    noise->is = (shot_noise_line){NAN, 0};
    noise_watch_reset(&noise->watch);
    noise->watch.way.fits = true;
    if (column < 0)
        return;
    const char *name = head->channels[column].name;
    noise->se = standard_errors_channel(head, name);
    noise->fault = error_basis_fault(head, name);
    shot_noise_line_find(head, name, &noise->is);
    noise->own = noise->is.sd;
}

/* Which channels the flow through the puck comes from. */
static derive_channel source_of_flow(const derive_shot *shot) {
    return shot->flow > 0      ? DERIVE_FROM_FLOW
           : shot->outflow > 0 ? DERIVE_FROM_OUTFLOW
                               : DERIVE_FROM_WEIGHT;
}

static bool rests_on(derive_quantity quantity, derive_channel channel, const derive_shot *shot) {
    const derive_channel flow = source_of_flow(shot);
    switch (quantity) {
    case DERIVE_OUTFLOW:
        return channel == DERIVE_FROM_WEIGHT;
    case DERIVE_WATER:
        return channel == DERIVE_FROM_FLOW;
    default:
        return channel == DERIVE_FROM_PRESSURE || channel == flow ||
               (channel == DERIVE_FROM_TEMPERATURE && shot->temperature > 0 &&
                (quantity == DERIVE_PERMEABILITY || flow != DERIVE_FROM_FLOW));
    }
}

/* Are its samples added up?  Then their own errors are not enough. */
static bool is_summed(derive_quantity quantity, derive_channel channel) {
    return channel == DERIVE_FROM_WEIGHT || quantity == DERIVE_WATER;
}

static const char *fault_of(const derive_errors *errors, derive_quantity quantity,
                            const derive_shot *shot) {
    for (derive_channel c = 0; c < DERIVE_CHANNELS; c++) {
        const derive_noise *noise = &errors->of[c];
        if (rests_on(quantity, c, shot) && noise->fault != NULL &&
            (noise->se < 0 || is_summed(quantity, c)))
            return noise->fault;
    }
    return NULL;
}

/* Mark what the quantity needs of each channel. */
static void need(derive_errors *errors, derive_quantity quantity, const derive_shot *shot) {
    for (derive_channel c = 0; c < DERIVE_CHANNELS; c++) {
        derive_noise *noise = &errors->of[c];
        if (!rests_on(quantity, c, shot) || (noise->se > 0 && !is_summed(quantity, c)))
            continue;
        noise->needed = true;
        noise->learns = isnan(noise->is.sd);
    }
}

void derive_errors_begin(derive_errors *errors, const derive_shot *shot, const shot_head *head,
                         const bool wanted[DERIVE_QUANTITIES]) {
    const ptrdiff_t columns[DERIVE_CHANNELS] = {shot->pressure, shot->flow, shot->outflow,
                                                shot->weight, shot->temperature};
    for (derive_channel c = 0; c < DERIVE_CHANNELS; c++)
        look_at(&errors->of[c], columns[c], head);
    for (derive_quantity q = 0; q < DERIVE_QUANTITIES; q++) {
        errors->fault[q] = wanted[q] ? fault_of(errors, q, shot) : NULL;
        errors->added[q] = wanted[q] && errors->fault[q] == NULL;
        if (errors->added[q])
            need(errors, q, shot);
    }
    errors->waits = false;
    for (derive_channel c = 0; c < DERIVE_CHANNELS; c++)
        errors->waits = errors->waits || errors->of[c].learns;
    errors->water = (correlated_variance){0};
    errors->last_half = 0;
    errors->last_time = NAN;
}

void derive_errors_free(derive_errors *errors) {
    for (derive_channel c = 0; c < DERIVE_CHANNELS; c++)
        noise_watch_free(&errors->of[c].watch);
}

/* ---- the noise ---- */

shot_status derive_errors_watch(derive_errors *errors, const shot_block *block) {
    for (derive_channel c = 0; c < DERIVE_CHANNELS; c++) {
        derive_noise *noise = &errors->of[c];
        if (noise->learns)
            SHOT_TRY(noise_watch_push(&noise->watch, block->column[0], block->column[noise->column],
                                      block->rows));
    }
    return SHOT_OK;
}

void derive_errors_learn(derive_errors *errors) {
    for (derive_channel c = 0; c < DERIVE_CHANNELS; c++) {
        derive_noise *noise = &errors->of[c];
        shot_noise found;
        if (!noise->learns || !noise_watch_estimate(&noise->watch, &found))
            continue;
        noise->own = found.fitted_sd;
        noise->is = standard_errors_found(&found);
    }
}

/* ---- rows ---- */

static double se_of(const derive_noise *noise, const shot_rows *held, size_t i) {
    return noise->se > 0 ? held->column[noise->se][i] : noise->own;
}

derive_row derive_errors_of_row(const derive_errors *errors, const shot_rows *held, size_t i,
                                double gain) {
    const derive_noise *of = errors->of;
    return (derive_row){
        .pressure = se_of(&of[DERIVE_FROM_PRESSURE], held, i),
        .flow = se_of(&of[DERIVE_FROM_FLOW], held, i),
        .outflow = isnan(gain) ? se_of(&of[DERIVE_FROM_OUTFLOW], held, i)
                               : of[DERIVE_FROM_WEIGHT].is.sd * sqrt(gain),
        .celsius = of[DERIVE_FROM_TEMPERATURE].column > 0
                       ? se_of(&of[DERIVE_FROM_TEMPERATURE], held, i)
                       : 0,
    };
}

/* By the trapezoid each sample has half of the intervals on its two sides for its weight. */
void derive_errors_add_water(derive_errors *errors, double t) {
    const double half = isnan(errors->last_time) ? 0 : (t - errors->last_time) / 2;
    if (!isnan(errors->last_time))
        correlated_variance_add(&errors->water, errors->last_time, errors->last_half + half,
                                errors->of[DERIVE_FROM_FLOW].is.correlation);
    errors->last_half = half;
    errors->last_time = t;
}

double derive_errors_of_water(const derive_errors *errors) {
    const shot_noise_line *is = &errors->of[DERIVE_FROM_FLOW].is;
    correlated_variance all = errors->water;
    correlated_variance_add(&all, errors->last_time, errors->last_half, is->correlation);
    return is->sd * sqrt(all.total);
}
