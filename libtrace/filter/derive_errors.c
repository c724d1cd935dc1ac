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
    noise->needed = noise->told = noise->learns = false;
    noise->sd = noise->summed = NAN;
    noise_watch_reset(&noise->watch);
    if (column < 0)
        return;
    const char *name = head->channels[column].name;
    noise->se = standard_errors_channel(head, name);
    noise->fault = error_basis_fault(head, name);
    noise->told = shot_noise_line_find(head, name, &noise->line);
    if (noise->told)
        noise->sd = noise->line.sd;
    if (noise->told && noise->line.correlation == 0)
        noise->summed = noise->line.sd;
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
        const bool summed = is_summed(quantity, c);
        if (!rests_on(quantity, c, shot) || (noise->se > 0 && !summed))
            continue;
        noise->needed = true;
        noise->learns = noise->learns || isnan(summed ? noise->summed : noise->sd);
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
    errors->inner = errors->last_half = 0;
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
        noise->sd = noise->told ? noise->line.sd : found.sd;
        noise->summed = noise->told ? standard_errors_of_line(&noise->line, found.spacing)
                                    : found.sd * sqrt(found.inflation);
    }
}

/* ---- rows ---- */

static double se_of(const derive_noise *noise, const shot_rows *held, size_t i) {
    return noise->se > 0 ? held->column[noise->se][i] : noise->sd;
}

derive_row derive_errors_of_row(const derive_errors *errors, const shot_rows *held, size_t i,
                                double gain) {
    const derive_noise *of = errors->of;
    return (derive_row){
        .pressure = se_of(&of[DERIVE_FROM_PRESSURE], held, i),
        .flow = se_of(&of[DERIVE_FROM_FLOW], held, i),
        .outflow = isnan(gain) ? se_of(&of[DERIVE_FROM_OUTFLOW], held, i)
                               : of[DERIVE_FROM_WEIGHT].summed * sqrt(gain),
        .celsius = of[DERIVE_FROM_TEMPERATURE].column > 0
                       ? se_of(&of[DERIVE_FROM_TEMPERATURE], held, i)
                       : 0,
    };
}

/* By the trapezoid each sample has half of the intervals on its two sides for its weight. */
void derive_errors_add_water(derive_errors *errors, double step) {
    if (isnan(step))
        return;
    const double weight = errors->last_half + step / 2;
    errors->inner += weight * weight;
    errors->last_half = step / 2;
}

double derive_errors_of_water(const derive_errors *errors) {
    return errors->of[DERIVE_FROM_FLOW].summed *
           sqrt(errors->inner + errors->last_half * errors->last_half);
}
