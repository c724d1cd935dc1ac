/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A recipe's growing parts, and what physics forbids in one. */
#include <shottrace/puck/recipe.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "puck/limits.h"

shot_status shot_recipe_add_step(shot_recipe *recipe, shot_recipe_step step) {
    shot_recipe_step *grown =
        realloc(recipe->steps, (recipe->step_count + 1) * sizeof *recipe->steps);
    if (grown == NULL)
        return SHOT_ERR_MEMORY;
    recipe->steps = grown;
    recipe->steps[recipe->step_count++] = step;
    return SHOT_OK;
}

shot_status shot_recipe_add_channel(shot_recipe *recipe, shot_recipe_channel channel) {
    shot_recipe_channel *grown =
        realloc(recipe->channels, (recipe->channel_count + 1) * sizeof *recipe->channels);
    if (grown == NULL)
        return SHOT_ERR_MEMORY;
    recipe->channels = grown;
    recipe->channels[recipe->channel_count++] = channel;
    return SHOT_OK;
}

void shot_recipe_free(shot_recipe *recipe) {
    if (recipe == NULL)
        return;
    free(recipe->steps);
    free(recipe->channels);
    memset(recipe, 0, sizeof *recipe);
}

static shot_status check_bed(const shot_bed_recipe *bed, shot_error *error) {
    const struct limit limits[] = {
        {"dose", bed->dose, 0.1, 1000},
        {"basket", bed->basket, 5, 500},
        {"tamped density", bed->tamped, 0.05, 1.2},
        {"permeability", bed->permeability, 1e-20, 1e-8},
        {"uptake", bed->uptake, 0.01, 10},
        {"late uptake", bed->late_uptake, 0, 10},
        {"swelling", bed->swelling, 0, 100},
        {"swelling time", bed->swelling_time, 0.05, 1e4},
        {"peak pressure", bed->peak_pressure, 0.1, 1e3},
        {"stiffening", bed->stiffening, 1.01, 10},
        {"compaction time", bed->compaction_time, 0.02, 1e4},
        {"relaxation time", bed->relaxation_time, 0.02, 1e4},
        {"set", bed->set, 0, 1},
        {"washout", bed->washout, 0, 0.95},
        {"fines", bed->fines, 0, 100},
        {"fines volume", bed->fines_volume, 0.1, 1e6},
        {"suction", bed->suction, 0, 5},
        {"screen", bed->screen, 0.001, 1e3},
        {"roughness", bed->roughness, 0, 0.1},
        {"heat volume", bed->heat_volume, 0.1, 1e6},
    };
    return limits_check(limits, sizeof limits / sizeof *limits, error);
}

static shot_status check_machine(const shot_machine_recipe *machine, shot_error *error) {
    const struct limit limits[] = {
        {"free flow", machine->free_flow, 0.01, 1e3},
        {"stall pressure", machine->stall, 0.5, INFINITY},
        {"regulation", machine->regulation, 0.1, 1e4},
        {"response", machine->response, 0.02, 100},
        {"damping", machine->damping, 0.3, 3},
        {"pressure limit", machine->limit, 0.1, 100},
        {"jet, where there is one,", machine->jet == 0 ? 20 : machine->jet, 0.01, 20},
        {"discharge coefficient", machine->discharge, 0.1, 1},
        {"headspace", machine->headspace, 0, 1e4},
        {"air", machine->air, 0, 1e4},
        {"elastic give", machine->elastic, 0.001, 1e3},
        {"drain", machine->drain, 0, 20},
        {"leak", machine->leak, 0, 100},
        {"mains", machine->mains, 0, 1e4},
        {"spring rate", machine->spring_rate, 0, 10},
        {"wander", machine->wander, 0, 5},
        {"wander time", machine->wander_time, 0.1, 1e4},
        {"water temperature", machine->water, 1, 109},
        {"ambient temperature", machine->ambient, 1, 109},
        {"dip", machine->dip, 0, 100},
        {"temperature of the first water", machine->water - machine->dip, 0, 109},
        {"dip volume", machine->dip_volume, 0.1, 1e6},
        {"gauge at the puck", machine->gauge_at_puck, 0, 1},
    };
    return limits_check(limits, sizeof limits / sizeof *limits, error);
}

static shot_status check_cup(const shot_recipe *recipe, shot_error *error) {
    const shot_cup_recipe *cup = &recipe->cup;
    const shot_solubles_recipe *solubles = &recipe->solubles;
    const struct limit limits[] = {
        {"film", cup->film, 0, 100},
        {"spout time", cup->spout_time, 0.02, 100},
        {"drop", cup->drop, 0.001, 10},
        {"stream", cup->stream, 0, 100},
        {"fall", cup->fall, 0, 1e4},
        {"fast solubles", solubles->fast, 0, 0.5},
        {"slow solubles", solubles->slow, 0, 0.5},
        {"fast rate", solubles->fast_rate, 0, 20},
        {"slow rate", solubles->slow_rate, 0, 20},
        {"slow rate with flow", solubles->slow_rate_per_flow, 0, 2},
        {"saturation", solubles->saturation, 0.01, 10},
        {"tail", recipe->tail, 0, 1e5},
    };
    return limits_check(limits, sizeof limits / sizeof *limits, error);
}

static shot_status check_step(const shot_recipe_step *step, shot_error *error) {
    const struct limit limits[] = {
        {"length of a step", step->seconds, 0, 1e5},
        {"start of a step", step->from, 0, 1e3},
        {"end of a step", step->to, 0, 1e3},
        {"mass that ends a step", step->until_mass, 0, 1e5},
        {"least length of a step", step->at_least, 0, 1e5},
    };
    return limits_check(limits, sizeof limits / sizeof *limits, error);
}

static shot_status check_channel(const shot_recipe_channel *channel, shot_error *error) {
    const struct limit limits[] = {
        {"time of a channel", isnan(channel->at) ? 0 : channel->at, 0, 1e5},
        {"mass at a channel", isnan(channel->at) ? channel->mass : 0, 0, 1e5},
        {"size of a channel", channel->size, 0, 0.95},
        {"opening time of a channel", channel->seconds, 0.01, 1e4},
        {"sharpness of a channel", channel->sharpness, 1, 10},
        {"healing time of a channel", channel->heal, 0.1, INFINITY},
        {"scar of a channel", channel->scar, 0, 1},
    };
    return limits_check(limits, sizeof limits / sizeof *limits, error);
}

shot_status shot_recipe_check(const shot_recipe *recipe, shot_error *error) {
    SHOT_TRY(check_bed(&recipe->bed, error));
    SHOT_TRY(check_machine(&recipe->machine, error));
    SHOT_TRY(check_cup(recipe, error));
    for (size_t i = 0; i < recipe->step_count; i++)
        SHOT_TRY(check_step(&recipe->steps[i], error));
    for (size_t i = 0; i < recipe->channel_count; i++)
        SHOT_TRY(check_channel(&recipe->channels[i], error));
    return SHOT_OK;
}
