/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The puck as a lumped porous bed; docs/model.md, "Puck", gives each formula with its source. */
#include "puck/bed.h"

#include <math.h>
#include <stdlib.h>

#include <shottrace/puck/darcy.h>
#include <shottrace/puck/water.h>
#include <shottrace/signal/portable.h>

#include "puck/streams.h"
#include "signal/pi.h"

static const double REFERENCE_CELSIUS = 93, REFERENCE_PRESSURE = 9;
static const double ROUGH_TIME = 2; /* s, correlation of the slow random changes */

/* Steady flow P / (1 + (P/Pc)^n) is greatest where (n - 1) (P/Pc)^n = 1, so that the load term of
 * a bed whose flow peaks at `peak` is (P/peak)^n / (n - 1). */
static double load_term(const shot_bed_recipe *recipe, double pressure) {
    if (pressure <= 0)
        return 0;
    return shot_portable_pow(pressure / recipe->peak_pressure, recipe->stiffening) /
           (recipe->stiffening - 1);
}

static shot_status start_channels(struct bed *bed, const shot_recipe *recipe) {
    bed->channel_count = recipe->channel_count;
    bed->channels = calloc(recipe->channel_count + 1, sizeof *bed->channels);
    if (bed->channels == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t i = 0; i < recipe->channel_count; i++) {
        bed->channels[i].recipe = &recipe->channels[i];
        bed->channels[i].opened = NAN;
    }
    return SHOT_OK;
}

shot_status bed_start(struct bed *bed, const shot_recipe *recipe) {
    const shot_bed_recipe *r = &recipe->bed;
    const double area = SHOT_PI * r->basket * r->basket / 4 * 1e-6; /* m2 */
    const double depth = r->dose / r->tamped * 1e-6 / area;         /* m */
    const double viscosity = shot_water_viscosity(REFERENCE_CELSIUS);
    const double si = shot_darcy_resistance(r->permeability, area, depth, viscosity);
    *bed = (struct bed){
        .recipe = r,
        .reference = si * 1e-11, /* Pa s/m3 to bar.s/ml */
        .nine_bar = 1 + load_term(r, REFERENCE_PRESSURE),
        .front_room = r->uptake * r->dose,
        .late_room = r->late_uptake * r->dose,
        .temperature = recipe->machine.ambient,
        .random = puck_stream(recipe->seed, recipe->index, STREAM_BED),
    };
    for (int celsius = 0; celsius <= 110; celsius++)
        bed->viscosity[celsius] = shot_water_viscosity(celsius) / viscosity;
    bed->viscosity[111] = bed->viscosity[110];
    return start_channels(bed, recipe);
}

void bed_stop(struct bed *bed) {
    free(bed->channels);
    bed->channels = NULL;
}

static double relative_viscosity(const struct bed *bed) {
    const int low = (int)bed->temperature;
    const double part = bed->temperature - low;
    return bed->viscosity[low] * (1 - part) + bed->viscosity[low + 1] * part;
}

/* Resistance of the whole bed, as if saturated, in bar.s/ml. */
static double bed_resistance(const struct bed *bed, double washed) {
    const shot_bed_recipe *r = bed->recipe;
    const double compacted = (1 + bed->compaction) / bed->nine_bar;
    const double swollen = (1 + r->swelling * bed->swollen) / (1 + r->swelling);
    const double settled = bed->passed / (bed->passed + r->fines_volume);
    return bed->reference * relative_viscosity(bed) * compacted * swollen *
           (1 - r->washout * washed) * (1 + r->fines * settled) * (1 + bed->rough);
}

struct bed_face bed_face(const struct bed *bed, double washed) {
    struct bed_face face = {.suction = bed->front < 1 ? bed->recipe->suction : 0};
    /* Behind a sharp front only the wet part resists (Green & Ampt 1911). */
    face.conductance = 1 / (bed_resistance(bed, washed) * bed->front + bed->recipe->screen);
    for (size_t i = 0; i < bed->channel_count; i++)
        face.conductance += bed->channels[i].conductance * bed->channels[i].open;
    return face;
}

double bed_channel_share(const struct bed *bed, size_t channel, double washed) {
    const struct bed_channel *c = &bed->channels[channel];
    return c->conductance * c->open / bed_face(bed, washed).conductance;
}

void bed_open_channel(struct bed *bed, size_t channel, double washed) {
    struct bed_channel *c = &bed->channels[channel];
    c->opened = 0;
    c->open = 0;
    c->conductance = bed_face(bed, washed).conductance * c->recipe->size / (1 - c->recipe->size);
}

static void advance_channel(struct bed_channel *c, double dt) {
    if (isnan(c->opened))
        return;
    c->opened += dt;
    const double u = c->opened / c->recipe->seconds;
    if (u < 1)
        c->open = 1 - shot_portable_pow(1 - u, c->recipe->sharpness);
    else if (u - 1 < dt / c->recipe->seconds)
        c->open = 1;
    else
        c->open += (c->recipe->scar - c->open) * dt / c->recipe->heal;
}

/* Compaction follows the load quickly up, slowly and never fully down. */
static void advance_compaction(struct bed *bed, double pressure, double dt) {
    const shot_bed_recipe *r = bed->recipe;
    const double kept = r->set * bed->most;
    double goal = load_term(r, pressure);
    if (goal < kept)
        goal = kept;
    const double time = goal > bed->compaction ? r->compaction_time : r->relaxation_time;
    bed->compaction += (goal - bed->compaction) * dt / (time + dt);
    if (bed->compaction > bed->most)
        bed->most = bed->compaction;
}

static void advance_roughness(struct bed *bed, double dt) {
    if (bed->recipe->roughness == 0)
        return;
    if (bed->step_left == 0) {
        bed->step_left = shot_portable_exp(-dt / ROUGH_TIME);
        bed->step_kick = bed->recipe->roughness * sqrt(1 - bed->step_left * bed->step_left);
    }
    bed->rough = bed->rough * bed->step_left + bed->step_kick * shot_random_normal(&bed->random);
}

/* What passes the front; before it arrives below, nothing leaves. */
static double advance_water(struct bed *bed, double through, double dt) {
    double volume = through * dt;
    if (bed->front < 1) {
        const double room = (1 - bed->front) * bed->front_room;
        const double taken = volume < room ? volume : room;
        bed->front = volume < room ? bed->front + taken / bed->front_room : 1;
        volume -= taken;
    }
    double late = (bed->late_room - bed->late) * dt / (bed->recipe->swelling_time + dt);
    if (late > volume)
        late = volume;
    bed->late += late;
    volume -= late;
    bed->passed += volume;
    return volume / dt;
}

double bed_advance(struct bed *bed, double pressure, double through, double celsius, double dt) {
    const shot_bed_recipe *r = bed->recipe;
    const double out = advance_water(bed, through, dt);
    bed->swollen += (bed->front - bed->swollen) * dt / (r->swelling_time + dt);
    const double exchanged = through * dt / r->heat_volume;
    bed->temperature += (celsius - bed->temperature) * exchanged / (1 + exchanged);
    advance_compaction(bed, pressure, dt);
    advance_roughness(bed, dt);
    for (size_t i = 0; i < bed->channel_count; i++)
        advance_channel(&bed->channels[i], dt);
    return out;
}
