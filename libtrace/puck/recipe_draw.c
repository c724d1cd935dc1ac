/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Recipes drawn at random: kitchens, grinders and hands differ widely.  The distributions are
 * plausible ranges of the trade (common practice, no source), listed in docs/model.md; none of them
 * is fitted to anything. */
#include <shottrace/puck/recipe.h>

#include <math.h>
#include <string.h>

#include "puck/program.h"
#include "puck/streams.h"

static void draw_bed(struct draw *d, shot_bed_recipe *bed) {
    *bed = (shot_bed_recipe){
        .dose = draw_between(d, 14.5, 21.5),
        .basket = draw_between(d, 54, 60),
        .tamped = draw_between(d, 0.39, 0.46),
        .permeability = draw_around(d, 4.5e-15, 1.8),
        .uptake = draw_between(d, 0.75, 1.05),
        .late_uptake = draw_between(d, 0.05, 0.25),
        .swelling = draw_between(d, 0.05, 0.55),
        .swelling_time = draw_around(d, 6, 2),
        .peak_pressure = draw_between(d, 6.6, 8.2),
        .stiffening = draw_between(d, 1.8, 3.0),
        .compaction_time = draw_around(d, 0.8, 2),
        .relaxation_time = draw_around(d, 2.5, 2),
        .set = draw_between(d, 0.3, 0.8),
        .washout = draw_between(d, 0.1, 0.6),
        .fines = draw_between(d, 0, 0.5),
        .fines_volume = draw_around(d, 15, 2),
        .suction = draw_between(d, 0.02, 0.08),
        .screen = draw_between(d, 0.03, 0.12),
        .roughness = draw_between(d, 0, 0.008),
        .heat_volume = draw_between(d, 8, 18),
    };
}

static void draw_machine(struct draw *d, shot_machine_recipe *m) {
    *m = (shot_machine_recipe){
        .free_flow = draw_between(d, 14, 30),
        .stall = INFINITY,
        .regulation = draw_around(d, 18, 2),
        .response = draw_between(d, 0.12, 0.45),
        .damping = draw_between(d, 0.75, 1.15),
        .limit = draw_between(d, 8.5, 10),
        .jet = draw_between(d, 0.9, 1.5),
        .discharge = draw_between(d, 0.6, 0.7),
        .headspace = draw_between(d, 6, 28),
        .air = draw_around(d, 3, 2.5),
        .elastic = draw_around(d, 0.12, 2.5),
        .drain = draw_between(d, 0.35, 0.75),
        .leak = draw_between(d, 0, 0.03),
        .mains = 0,
        .spring_rate = draw_between(d, 0.04, 0.12),
        .wander = 0,
        .wander_time = draw_between(d, 0.6, 1.5),
        .water = draw_between(d, 88, 96),
        .ambient = draw_between(d, 18, 30),
        .dip = draw_between(d, 0, 8),
        .dip_volume = draw_between(d, 10, 30),
        .gauge_at_puck = draw_chance(d, 0.6),
    };
}

static void draw_cup(struct draw *d, shot_recipe *recipe) {
    recipe->cup = (shot_cup_recipe){
        .film = draw_between(d, 0.1, 0.6),
        .spout_time = draw_between(d, 0.15, 0.9),
        .drop = draw_between(d, 0.03, 0.08),
        .stream = draw_between(d, 0.2, 0.5),
        .fall = draw_between(d, 40, 130),
    };
    recipe->solubles = (shot_solubles_recipe){
        .fast = draw_between(d, 0.06, 0.09),
        .slow = draw_between(d, 0.21, 0.26),
        .fast_rate = draw_between(d, 0.3, 0.6),
        .slow_rate = draw_between(d, 0.002, 0.006),
        .slow_rate_per_flow = draw_between(d, 0.04, 0.07),
        .saturation = 0.212, /* Cameron et al. 2020: 212.4 kg/m3 */
    };
    recipe->tail = draw_between(d, 3, 8);
}

/* Half of the shots channel; the instant is a mass in the cup, so that it lies in the brew. */
static shot_status draw_channels(struct draw *d, shot_recipe *recipe) {
    const int count = draw_chance(d, 0.5) + draw_chance(d, 0.1);
    for (int i = 0; i < 2; i++) {
        const shot_recipe_channel channel = {
            .at = NAN,
            .mass = (i + 1) * draw_between(d, 3, 14),
            .size = draw_between(d, 0.05, 0.5),
            .seconds = draw_between(d, 0.2, 2),
            .sharpness = draw_between(d, 1, 2.5),
            .heal = draw_chance(d, 0.4) ? draw_around(d, 6, 2.5) : INFINITY,
            .scar = draw_between(d, 0, 0.8),
        };
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
