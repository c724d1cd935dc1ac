/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Recipes drawn at random: kitchens, grinders and hands differ widely.  The distributions are
 * plausible ranges of the trade (common practice, no source), listed in docs/model.md; none of them
 * is fitted to anything.
 *
 * One draw a statement, throughout: C leaves open in which order the parts of an expression or of
 * an initializer are evaluated, and every compiler must draw the same. */
#include <shottrace/puck/recipe.h>

#include <math.h>
#include <string.h>

#include "puck/program.h"
#include "puck/streams.h"

static void draw_bed(struct draw *d, shot_bed_recipe *bed) {
    bed->dose = draw_between(d, 14.5, 21.5);
    bed->basket = draw_between(d, 54, 60);
    bed->tamped = draw_between(d, 0.39, 0.46);
    bed->permeability = draw_around(d, 4.5e-15, 1.8);
    bed->uptake = draw_between(d, 0.75, 1.05);
    bed->late_uptake = draw_between(d, 0.05, 0.25);
    bed->swelling = draw_between(d, 0.05, 0.55);
    bed->swelling_time = draw_around(d, 6, 2);
    bed->peak_pressure = draw_between(d, 6.6, 8.2);
    bed->stiffening = draw_between(d, 1.8, 3.0);
    bed->compaction_time = draw_around(d, 0.8, 2);
    bed->relaxation_time = draw_around(d, 2.5, 2);
    bed->set = draw_between(d, 0.3, 0.8);
    bed->washout = draw_between(d, 0.1, 0.6);
    bed->fines = draw_between(d, 0, 0.5);
    bed->fines_volume = draw_around(d, 15, 2);
    bed->suction = draw_between(d, 0.02, 0.08);
    bed->screen = draw_between(d, 0.03, 0.12);
    bed->roughness = draw_between(d, 0, 0.008);
    bed->heat_volume = draw_between(d, 8, 18);
}

static void draw_machine(struct draw *d, shot_machine_recipe *m) {
    m->free_flow = draw_between(d, 7, 16);
    m->stall = INFINITY;
    m->regulation = draw_around(d, 18, 2);
    m->response = draw_between(d, 0.12, 0.45);
    m->damping = draw_between(d, 0.75, 1.15);
    m->limit = draw_between(d, 8.5, 10);
    m->jet = draw_between(d, 0.7, 1.3);
    m->discharge = draw_between(d, 0.6, 0.7);
    m->headspace = draw_between(d, 6, 28);
    m->air = draw_around(d, 3, 2.5);
    m->elastic = draw_around(d, 0.12, 2.5);
    m->drain = draw_between(d, 0.35, 0.75);
    m->leak = draw_between(d, 0, 0.03);
    m->mains = 0;
    m->spring_rate = draw_between(d, 0.04, 0.12);
    m->wander = 0;
    m->wander_time = draw_between(d, 0.6, 1.5);
    m->water = draw_between(d, 88, 96);
    m->ambient = draw_between(d, 18, 30);
    m->dip = draw_between(d, 0, 8);
    m->dip_volume = draw_between(d, 10, 30);
    m->gauge_at_puck = draw_chance(d, 0.6);
}

static void draw_cup(struct draw *d, shot_recipe *recipe) {
    recipe->cup.film = draw_between(d, 0.1, 0.6);
    recipe->cup.spout_time = draw_between(d, 0.15, 0.9);
    recipe->cup.drop = draw_between(d, 0.03, 0.08);
    recipe->cup.stream = draw_between(d, 0.2, 0.5);
    recipe->cup.fall = draw_between(d, 40, 130);
    recipe->solubles.fast = draw_between(d, 0.06, 0.09);
    recipe->solubles.slow = draw_between(d, 0.21, 0.26);
    recipe->solubles.fast_rate = draw_between(d, 0.3, 0.6);
    recipe->solubles.slow_rate = draw_between(d, 0.002, 0.006);
    recipe->solubles.slow_rate_per_flow = draw_between(d, 0.04, 0.07);
    recipe->solubles.saturation = 0.212; /* Cameron et al. 2020: 212.4 kg/m3 */
    recipe->tail = draw_between(d, 3, 8);
}

/* Half of the shots channel; the instant is a mass in the cup, so that it lies in the brew. */
static shot_status draw_channels(struct draw *d, shot_recipe *recipe) {
    const int first = draw_chance(d, 0.5), second = draw_chance(d, 0.1);
    const int count = first + second;
    for (int i = 0; i < 2; i++) {
        shot_recipe_channel channel = {.at = NAN};
        channel.mass = (i + 1) * draw_between(d, 3, 14);
        channel.size = draw_between(d, 0.05, 0.5);
        channel.seconds = draw_between(d, 0.2, 2);
        channel.sharpness = draw_between(d, 1, 2.5);
        const bool heals = draw_chance(d, 0.4);
        const double heal = draw_around(d, 6, 2.5);
        channel.heal = heals ? heal : INFINITY;
        channel.scar = draw_between(d, 0, 0.8);
        if (i < count && d->spread > 0)
            SHOT_TRY(shot_recipe_add_channel(recipe, channel));
    }
    return SHOT_OK;
}

shot_status shot_recipe_draw(shot_style style, uint64_t seed, uint64_t index, double spread,
                             shot_recipe *out) {
    memset(out, 0, sizeof *out);
    if ((int)style < 0 || (int)style >= SHOT_STYLE_COUNT || !(spread >= 0 && spread <= 1))
        return SHOT_ERR_RANGE;
    struct draw d = {puck_stream(seed, index, STREAM_RECIPE), spread};
    out->style = style;
    out->seed = seed;
    out->index = index;
    draw_bed(&d, &out->bed);
    draw_machine(&d, &out->machine);
    draw_cup(&d, out);
    shot_status status = draw_program(&d, out);
    if (status == SHOT_OK)
        status = draw_channels(&d, out);
    if (status != SHOT_OK)
        shot_recipe_free(out);
    return status;
}
