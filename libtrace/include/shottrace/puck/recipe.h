/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Everything that makes a simulated shot: the puck, the machine, its program, the cup.
 *
 *     shot_recipe recipe;
 *     SHOT_TRY(shot_recipe_draw(SHOT_STYLE_RESTRICTOR, seed, index, 1, &recipe));
 *     recipe.bed.dose = 18;
 *     ... shot_brew_new(&recipe, &brew) ...
 *     shot_recipe_free(&recipe);
 *
 * Units are those of the trade: bar (gauge), ml, s, g, degC, mm; permeability in m2.  The model
 * that reads these figures stands in docs/model.md.
 */
#ifndef SHOTTRACE_PUCK_RECIPE_H
#define SHOTTRACE_PUCK_RECIPE_H

#include <stdbool.h>
#include <stdint.h>

#include <shottrace/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* How the water is driven.  The names of the styles, in this order, are SHOT_STYLE_NAMES. */
typedef enum shot_style {
    SHOT_STYLE_RESTRICTOR, /* straight to nine bar through a jet */
    SHOT_STYLE_LINE,       /* line pressure first, then the pump */
    SHOT_STYLE_SOAK,       /* held or shut-off pre-wetting of 10 s and more, then pump or spring */
    SHOT_STYLE_PULSES,     /* pre-wetting in pulses of a vibratory pump */
    SHOT_STYLE_SPRING,     /* boiler pressure, then a spring lever */
    SHOT_STYLE_HAND,       /* a lever pushed by hand */
    SHOT_STYLE_STEP,       /* line pressure, nine bar, lower for the last third */
    SHOT_STYLE_FREE,       /* a profile of several straight pieces */
    SHOT_STYLE_FLOW,       /* constant flow */
    SHOT_STYLE_CHOKED      /* ground far too fine */
} shot_style;

enum { SHOT_STYLE_COUNT = 10 };
#define SHOT_STYLE_NAMES "restrictor|line|soak|pulses|spring|hand|step|free|flow|choked"

typedef struct shot_bed_recipe {
    double dose;            /* dry coffee, g */
    double basket;          /* inner diameter, mm */
    double tamped;          /* dry density of the tamped bed, g/ml */
    double permeability;    /* of the saturated, swollen bed compacted at 9 bar, m2 */
    double uptake;          /* water the dry bed takes before it drips, ml/g */
    double late_uptake;     /* water the swelling grains take afterwards, ml/g */
    double swelling;        /* share by which swelling raises the resistance */
    double swelling_time;   /* s */
    double peak_pressure;   /* at which the steady flow is greatest, bar */
    double stiffening;      /* exponent of compaction, > 1 */
    double compaction_time; /* s, when the load rises */
    double relaxation_time; /* s, when it falls */
    double set;             /* share of the compaction that stays, 0 to 1 */
    double washout;         /* share of the resistance lost with the last solubles, 0 to <1 */
    double fines;           /* share by which settling fines raise the resistance */
    double fines_volume;    /* water that brings most of them down, ml */
    double suction;         /* capillary suction of the dry bed, bar */
    double screen;          /* resistance of screen and basket, bar.s/ml */
    double roughness;       /* SD of slow random changes of resistance, as a share */
    double heat_volume;     /* water that brings the bed near its temperature, ml */
} shot_bed_recipe;

typedef struct shot_machine_recipe {
    double free_flow;     /* most that the pump gives, at no pressure, ml/s */
    double stall;         /* pressure at which it gives nothing, bar; infinite: a flat curve */
    double regulation;    /* how hard bypass or regulator hold their pressure, ml/s for each bar */
    double response;      /* time constant of the approach to a new pressure, s */
    double damping;       /* of that approach; below 1 it overshoots */
    double limit;         /* highest pressure in a flow-controlled step, bar */
    double jet;           /* diameter of the restrictor, mm; 0: none */
    double discharge;     /* its discharge coefficient */
    double headspace;     /* volume to fill above the dry bed, ml */
    double air;           /* air that stays trapped in it, ml */
    double elastic;       /* give of hoses and gaskets, ml/bar */
    double drain;         /* bore of the three-way valve, mm; 0: none */
    double leak;          /* backwards through the shut pump, ml/s for each bar */
    double mains;         /* strokes of a vibratory pump, Hz; 0: no ripple */
    double spring_rate;   /* fall of a spring lever, bar/ml */
    double wander;        /* SD of a hand on a lever, bar */
    double wander_time;   /* s */
    double water;         /* degC at the group */
    double ambient;       /* degC of the dry bed */
    double dip;           /* how much cooler the first water is, degC */
    double dip_volume;    /* water that takes the dip away, ml */
    double gauge_at_puck; /* 1: the gauge sits over the puck; 0: at the pump */
} shot_machine_recipe;

typedef struct shot_cup_recipe {
    double film;       /* wets basket and spout before the first drop leaves, g */
    double spout_time; /* with which basket and spout drain, s */
    double drop;       /* mass of a drop, g */
    double stream;     /* flow above which drops become a stream, g/s */
    double fall;       /* height of the spout over the liquid, mm */
} shot_cup_recipe;

typedef struct shot_solubles_recipe {
    double fast;               /* at broken surfaces, share of the dose */
    double slow;               /* inside the grains, share of the dose */
    double fast_rate;          /* 1/s */
    double slow_rate;          /* 1/s without flow */
    double slow_rate_per_flow; /* 1/s more for each ml/s */
    double saturation;         /* g in each ml of liquid */
} shot_solubles_recipe;

typedef enum shot_drive {
    SHOT_DRIVE_SHUT,     /* no water; the pressure stays in */
    SHOT_DRIVE_PRESSURE, /* from `from` to `to` bar over the step */
    SHOT_DRIVE_FLOW,     /* from `from` to `to` ml/s over the step */
    SHOT_DRIVE_SPRING,   /* a spring released at `from` bar */
    SHOT_DRIVE_DRAIN     /* off; the three-way valve is open */
} shot_drive;

/* A step of the machine's program. */
typedef struct shot_recipe_step {
    shot_drive drive;
    double seconds;    /* longest, >= 0 */
    double from, to;   /* bar or ml/s */
    double until_mass; /* ends earlier when the cup holds so much, g; 0: no */
    bool main;         /* the main rise starts here */
    double at_least;   /* ... but `until_mass` does not count before so long, s */
} shot_recipe_step;

/* A channel: a path beside the bed that opens suddenly. */
typedef struct shot_recipe_channel {
    double at;        /* seconds after water entered the basket; NaN: by `mass` */
    double mass;      /* opens when the cup holds so much, g */
    double size;      /* share of the hydraulic resistance lost, 0 to <1 */
    double seconds;   /* it takes to open */
    double sharpness; /* 1: evenly; larger: fast at first */
    double heal;      /* time constant with which it closes again, s; infinite: stays */
    double scar;      /* share of it that never closes, 0 to 1 */
} shot_recipe_channel;

typedef struct shot_recipe {
    shot_style style;
    uint64_t seed, index; /* stream of everything random in the shot itself */
    shot_bed_recipe bed;
    shot_machine_recipe machine;
    shot_cup_recipe cup;
    shot_solubles_recipe solubles;
    double tail; /* seconds that follow the last step */
    shot_recipe_step *steps;
    size_t step_count;
    shot_recipe_channel *channels;
    size_t channel_count;
} shot_recipe;

/* A recipe of a style, with everything that varies from kitchen to kitchen drawn at random from
 * the distributions of docs/model.md.
 *   seed, index   the same pair gives the same recipe
 *   spread        0: the middle of every distribution, 1: all of it
 * `out` is owned by the caller (shot_recipe_free); on failure it is zeroed.
 * Errors: SHOT_ERR_MEMORY; SHOT_ERR_RANGE for an unknown style or spread outside 0 to 1. */
SHOT_API shot_status shot_recipe_draw(shot_style style, uint64_t seed, uint64_t index,
                                      double spread, shot_recipe *out);

/* Append a step or a channel.  SHOT_ERR_MEMORY leaves the recipe as it was. */
SHOT_API shot_status shot_recipe_add_step(shot_recipe *recipe, shot_recipe_step step);
SHOT_API shot_status shot_recipe_add_channel(shot_recipe *recipe, shot_recipe_channel channel);

/* SHOT_OK, or SHOT_ERR_RANGE with a sentence that names the figure that physics forbids. */
SHOT_API shot_status shot_recipe_check(const shot_recipe *recipe, shot_error *error);

SHOT_API void shot_recipe_free(shot_recipe *recipe);

#ifdef __cplusplus
}
#endif
#endif
