/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The settings of shot-synth: whose shots, and what is said about them by hand.  Internal to
 * puck/. */
#ifndef SHOT_PUCK_SYNTH_SETTINGS_H
#define SHOT_PUCK_SYNTH_SETTINGS_H

#include <shottrace/puck/synth.h>
#include <shottrace/trace/option.h>

/* The figures that an option can set, in the structs that they belong to. */
struct synth_figures {
    shot_bed_recipe bed;
    shot_machine_recipe machine;
    shot_cup_recipe cup;
    shot_solubles_recipe solubles;
    shot_logger logger;
    double tail;
};

enum synth_gauge { GAUGE_DRAWN, GAUGE_PUMP, GAUGE_PUCK };
enum synth_draw { CHANNELS_DRAWN, CHANNELS_NONE };

struct synth_settings {
    int style, grade;
    long seed, first, count;
    double spread;
    bool truth, hold;
    char *name, *program, *file;
    int gauge;                                /* enum synth_gauge */
    int drawn;                                /* enum synth_draw */
    shot_texts at, mass, size, seconds, heal; /* of channels through the puck */
    shot_texts sensors;                       /* channels of the log */
    struct synth_figures figures;             /* NaN where nothing was said */
};

/* The option table; its QUANTITY and NUMBER options all fill `figures`, but for `spread`. */
extern const shot_option synth_options[];

/* Draw shot `index` of the settings and apply what was said by hand.  The recipe is owned by the
 * caller.  SHOT_ERR_USAGE with a sentence for what cannot be. */
shot_status synth_prepare(const struct synth_settings *settings, uint64_t index,
                          shot_recipe *recipe, shot_logger *logger, shot_error *error);

#endif
