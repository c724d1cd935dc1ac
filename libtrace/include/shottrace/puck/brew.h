/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One shot, brewed by the model: what really happened, with no logger in between.
 *
 *     shot_brew *brew;
 *     SHOT_TRY(shot_brew_new(&recipe, &brew));
 *     printf("%g g at %g %%\n", brew->beverage, brew->tds);
 *     shot_brew_free(brew);
 *
 * The same recipe gives the same bytes on every machine.  The model, its sources and its limits
 * stand in docs/model.md.
 */
#ifndef SHOTTRACE_PUCK_BREW_H
#define SHOTTRACE_PUCK_BREW_H

#include <shottrace/puck/recipe.h>
#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Seconds between two moments of a brew. */
#define SHOT_BREW_STEP 0.01

/* The state at one instant, and the flows that led to it. */
typedef struct shot_moment {
    double puck;        /* pressure over the puck, bar */
    double pump;        /* pressure at the pump, bar */
    double flow;        /* water into the basket, ml/s */
    double water;       /* water that has entered the basket, ml */
    double through;     /* water into the bed, ml/s */
    double resistance;  /* of the bed with its channels, bar.s/ml */
    double spout;       /* beverage leaving the spout, g/s, before drops form */
    double fallen;      /* beverage that has left the spout as drops or stream, g */
    double solids;      /* solubles in it, g */
    double temperature; /* of the water at the group, degC */
    double ripple;      /* amplitude of the pump's ripple at the pump, bar */
    double wanted_pressure, wanted_flow; /* what the machine was asked for; NaN: nothing */
} shot_moment;

/* Something that happened from one instant to another. */
typedef struct shot_brew_span {
    double from, to; /* s; to is NaN when it had not ended */
    double value;
} shot_brew_span;

typedef struct shot_brew {
    shot_moment *moments; /* moment i is at i * SHOT_BREW_STEP seconds */
    size_t count;
    double water_in;  /* instants in s; NaN: never */
    double main_rise; /* the main step begins */
    double pump_off;
    double wet_through; /* the front reaches the underside of the bed */
    double first_drip;
    shot_brew_span *runs; /* pump on to pump off, the main run last */
    size_t run_count;
    shot_brew_span *channels; /* opening of each, in the recipe's order; value: share of the
                                 resistance lost by then */
    size_t channel_count;
    double beverage;                    /* g that left the spout */
    double tds;                         /* of it, % */
    double yield;                       /* solubles in it, % of the dose */
    double dissolved;                   /* solubles out of the grains at the end, g */
    double water_error, solubles_error; /* what the balances leave, ml and g */
} shot_brew;

/* Brew a shot.  `*out` is owned by the caller (shot_brew_free), NULL on failure.
 * Errors: SHOT_ERR_RANGE if shot_recipe_check refuses the recipe; SHOT_ERR_MEMORY. */
SHOT_API shot_status shot_brew_new(const shot_recipe *recipe, shot_brew **out);

SHOT_API void shot_brew_free(shot_brew *brew);

/* The moment at `seconds`, interpolated linearly; the first or last one outside. */
SHOT_API shot_moment shot_brew_at(const shot_brew *brew, double seconds);

#ifdef __cplusplus
}
#endif
#endif
