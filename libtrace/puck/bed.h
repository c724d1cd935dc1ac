/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The puck between dry and spent: a wetting front, then a bed whose resistance changes with
 * pressure, time and what has passed through it, and channels beside it.  Internal to puck/. */
#ifndef SHOT_PUCK_BED_H
#define SHOT_PUCK_BED_H

#include <shottrace/puck/recipe.h>
#include <shottrace/signal/random.h>

/* One channel while the shot runs. */
struct bed_channel {
    const shot_recipe_channel *recipe;
    double opened;      /* s since it began to open; NaN: not yet */
    double conductance; /* when fully open, ml/s for each bar */
    double open;        /* share that is open now */
};

struct bed {
    const shot_bed_recipe *recipe;
    double reference;   /* resistance at 93 degC, 9 bar, swollen, nothing washed out, bar.s/ml */
    double nine_bar;    /* 1 + load term at the reference pressure */
    double front_room;  /* water that saturates the bed, ml */
    double late_room;   /* water that swelling takes after that, ml */
    double front;       /* share of the bed that is wet */
    double late;        /* water taken by swelling, ml */
    double swollen;     /* 0 to 1 */
    double compaction;  /* the (p/pc)^n of the resistance, with its lag */
    double most;        /* its greatest value so far */
    double passed;      /* water out of the bed, ml */
    double temperature; /* degC */
    double rough;       /* relative change of resistance, random and slow */
    double step_left;   /* what is left of `rough` after a step, and its innovation */
    double step_kick;
    shot_random random;
    double viscosity[112]; /* relative to 93 degC, each whole degC */
    struct bed_channel *channels;
    size_t channel_count;
};

/* What the bed shows to the water for one step: through = conductance * (pressure + suction). */
struct bed_face {
    double conductance; /* ml/s for each bar, with channels */
    double suction;     /* bar */
};

shot_status bed_start(struct bed *bed, const shot_recipe *recipe);
void bed_stop(struct bed *bed);

/* `washed` is the share of the solubles that has left the grains. */
struct bed_face bed_face(const struct bed *bed, double washed);

/* Move on by a step in which `through` ml/s entered at `pressure` bar and `celsius`.
 * Returns the flow that leaves below, ml/s. */
double bed_advance(struct bed *bed, double pressure, double through, double celsius, double dt);

/* Share of the whole conductance that a channel has now, 0 to <1. */
double bed_channel_share(const struct bed *bed, size_t channel, double washed);

/* Begin to open a channel, against the conductance that the bed has now. */
void bed_open_channel(struct bed *bed, size_t channel, double washed);

#endif
