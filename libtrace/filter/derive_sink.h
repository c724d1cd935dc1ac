/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The sink of shot-derive, and what it says of a shot. */
#ifndef SHOT_FILTER_DERIVE_SINK_H
#define SHOT_FILTER_DERIVE_SINK_H

#include <shottrace/trace/stage.h>
#include <shottrace/trace/text.h>

#include "filter/derive_errors.h"
#include "filter/derive_parts.h"

struct derive_settings {
    shot_texts quantities;
    double least_flow, least_pressure, window;
    bool errors;
};

typedef struct derive_sink {
    shot_stage stage;
    derive_shot shot;
    bool wanted[DERIVE_QUANTITIES];
    size_t added;
    derive_outflow outflow;
    derive_errors errors;
    shot_head head;      /* of the input */
    shot_rows held, out; /* rows that wait for the scale; rows made */
    double *row;
    double water, last_flow, last_time;
    double sum_permeability;
    size_t permeabilities;
    bool from_outflow; /* there is no flow of water */
} derive_sink;

/* As channels and --quantity have it. */
const char *derive_name(derive_quantity quantity);

/* Notes at the beginning of a shot: what was asked for and cannot be, and what is taken as given.
 */
shot_status derive_tell_begin(derive_sink *self, shot_error *error);

/* Notes at its end: errors that were left out, and a permeability that no bed has. */
shot_status derive_tell_end(derive_sink *self, shot_error *error);

#endif
