/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The machine and its program for each style; docs/model.md, "Styles". */
#include "puck/program.h"

/* The longest main part that anyone waits for, and the shortest that anyone calls one, s. */
static const double PATIENCE = 60, HASTE = 7;

static double target_mass(struct draw *d, const shot_recipe *recipe) {
    return recipe->bed.dose * draw_between(d, 1.6, 2.4);
}

static shot_status add(shot_recipe *recipe, shot_drive drive, double seconds, double from,
                       double to) {
    return shot_recipe_add_step(
        recipe, (shot_recipe_step){.drive = drive, .seconds = seconds, .from = from, .to = to});
}

static shot_status add_main(shot_recipe *recipe, shot_drive drive, double pressure, double mass) {
    return shot_recipe_add_step(recipe, (shot_recipe_step){.drive = drive,
                                                           .seconds = PATIENCE,
                                                           .from = pressure,
                                                           .to = pressure,
                                                           .until_mass = mass,
                                                           .main = true,
                                                           .at_least = HASTE});
}

/* A vibratory pump: a falling curve, a relief valve that holds the pressure, strokes at mains. */
static void use_vibratory_pump(struct draw *d, shot_machine_recipe *m) {
    m->free_flow = draw_between(d, 7, 11);
    m->stall = draw_between(d, 13, 17);
    m->regulation = draw_around(d, 6, 2);
    m->response = 0.03 + 0.05 * draw_between(d, 0, 1);
    m->damping = 1;
    m->jet = draw_chance(d, 0.3) ? draw_between(d, 0.6, 1.0) : 0;
    m->mains = draw_chance(d, 0.7) ? 50 : 60;
}

static shot_status program_restrictor(struct draw *d, shot_recipe *recipe) {
    recipe->machine.jet = draw_between(d, 0.55, 0.72);
    recipe->machine.headspace = draw_between(d, 14, 32);
    recipe->machine.gauge_at_puck = draw_chance(d, 0.35);
    recipe->machine.regulation = draw_around(d, 22, 2); /* a final rise of 0.1 to 0.6 bar */
    const double pressure = draw_between(d, 8.2, 9.8);
    return add_main(recipe, SHOT_DRIVE_PRESSURE, pressure, target_mass(d, recipe));
}

static shot_status program_line(struct draw *d, shot_recipe *recipe) {
    const double line = draw_between(d, 1, 3), seconds = draw_between(d, 5, 13);
    if (draw_chance(d, 0.4))
        recipe->machine.jet = draw_between(d, 0.6, 0.8);
    SHOT_TRY(add(recipe, SHOT_DRIVE_PRESSURE, seconds, line, line));
    const double pressure = draw_between(d, 8, 9.8);
    return add_main(recipe, SHOT_DRIVE_PRESSURE, pressure, target_mass(d, recipe));
}

static shot_status program_soak(struct draw *d, shot_recipe *recipe) {
    const double level = draw_between(d, 1.5, 3.8);
    const double seconds = draw_between(d, 9, 31);
    const double on = draw_between(d, 3, 6);
    const bool shut = draw_chance(d, 0.4) && d->spread > 0;
    const bool spring = draw_chance(d, 0.4) && d->spread > 0;
    const double pressure = draw_between(d, 7.5, 9.8);
    SHOT_TRY(add(recipe, SHOT_DRIVE_PRESSURE, shut ? on : seconds, level, level));
    if (shut)
        SHOT_TRY(add(recipe, SHOT_DRIVE_SHUT, seconds, 0, 0));
    if (spring)
        recipe->machine.drain = 0;
    return add_main(recipe, spring ? SHOT_DRIVE_SPRING : SHOT_DRIVE_PRESSURE, pressure,
                    target_mass(d, recipe));
}

static shot_status program_pulses(struct draw *d, shot_recipe *recipe) {
    use_vibratory_pump(d, &recipe->machine);
    recipe->machine.headspace = draw_between(d, 3, 12);
    const double pressure = draw_between(d, 8, 9.8);
    const double first = draw_between(d, 0.8, 2.5), on = draw_between(d, 0.4, 1.4);
    const double off = draw_between(d, 0.8, 3.5);
    const int count = 2 + (int)(draw_between(d, 0, 1) * 4.9);
    const bool vented = draw_chance(d, 0.25);
    for (int i = 0; i < count; i++) {
        const double stray = draw_between(d, 0.95, 1.05);
        SHOT_TRY(
            add(recipe, SHOT_DRIVE_PRESSURE, (i == 0 ? first : on) * stray, pressure, pressure));
        SHOT_TRY(add(recipe, vented ? SHOT_DRIVE_DRAIN : SHOT_DRIVE_SHUT, off * stray, 0, 0));
    }
    return add_main(recipe, SHOT_DRIVE_PRESSURE, pressure, target_mass(d, recipe));
}

static shot_status program_spring(struct draw *d, shot_recipe *recipe) {
    shot_machine_recipe *m = &recipe->machine;
    m->drain = 0;
    m->jet = 0;
    m->regulation = draw_around(d, 10, 1.8);
    m->response = draw_between(d, 0.2, 0.6);
    m->damping = 1;
    const double boiler = draw_between(d, 0.8, 1.6), seconds = draw_between(d, 4, 14);
    const double pressure = draw_between(d, 8, 10.5);
    SHOT_TRY(add(recipe, SHOT_DRIVE_PRESSURE, seconds, boiler, boiler));
    return add_main(recipe, SHOT_DRIVE_SPRING, pressure, target_mass(d, recipe));
}

static shot_status program_hand(struct draw *d, shot_recipe *recipe) {
    shot_machine_recipe *m = &recipe->machine;
    m->drain = 0;
    m->jet = 0;
    m->regulation = draw_around(d, 8, 1.5);
    m->response = draw_between(d, 0.3, 0.7);
    m->damping = 1;
    m->wander = draw_between(d, 0.05, 0.35);
    const double low = draw_between(d, 1, 3), seconds = draw_between(d, 5, 15);
    const double top = draw_between(d, 6, 9.5), end = top * draw_between(d, 0.5, 1);
    SHOT_TRY(add(recipe, SHOT_DRIVE_PRESSURE, seconds, low, low));
    const double patience = draw_between(d, 25, 45), mass = target_mass(d, recipe);
    const shot_recipe_step main = {SHOT_DRIVE_PRESSURE, patience, top, end, mass, true, HASTE};
    return shot_recipe_add_step(recipe, main);
}

/* Line pressure, then full pressure until two thirds are in the cup, then lower. */
static shot_status program_step(struct draw *d, shot_recipe *recipe) {
    const double line = draw_between(d, 1, 3), seconds = draw_between(d, 4, 10);
    const double top = draw_between(d, 8, 9.8), low = draw_between(d, 5, 7.2);
    const double fall = draw_between(d, 0.1, 2), mass = target_mass(d, recipe);
    SHOT_TRY(add(recipe, SHOT_DRIVE_PRESSURE, seconds, line, line));
    SHOT_TRY(add_main(recipe, SHOT_DRIVE_PRESSURE, top, mass * 2 / 3));
    SHOT_TRY(add(recipe, SHOT_DRIVE_PRESSURE, fall, top, low));
    shot_recipe_step rest = {SHOT_DRIVE_PRESSURE, PATIENCE, low, low, mass, false, 3};
    return shot_recipe_add_step(recipe, rest);
}

/* A regulated pump follows a profile of straight pieces, up and down. */
static shot_status program_free(struct draw *d, shot_recipe *recipe) {
    shot_machine_recipe *m = &recipe->machine;
    m->response = draw_between(d, 0.2, 0.7);
    m->damping = draw_between(d, 0.6, 1.1);
    m->jet = 0;
    const double low = draw_between(d, 1.5, 3.5), wait = draw_between(d, 4, 12);
    SHOT_TRY(add(recipe, SHOT_DRIVE_PRESSURE, wait, low, low));
    const int pieces = 2 + (int)(draw_between(d, 0, 1) * 3.9);
    const double mass = target_mass(d, recipe);
    double level = low;
    for (int i = 0; i < pieces; i++) {
        const double next = i == 0 ? draw_between(d, 7, 9.8) : draw_between(d, 4, 9.8);
        const double ramp = draw_between(d, 0.5, 6), hold = draw_between(d, 2, 12);
        shot_recipe_step rise = {SHOT_DRIVE_PRESSURE, ramp,   level, next,
                                 i == 0 ? 0 : mass,   i == 0, 0};
        shot_recipe_step stay = {SHOT_DRIVE_PRESSURE, hold, next, next, mass, false, 2};
        SHOT_TRY(shot_recipe_add_step(recipe, rise));
        SHOT_TRY(shot_recipe_add_step(recipe, stay));
        level = next;
    }
    return SHOT_OK;
}

static shot_status program_flow(struct draw *d, shot_recipe *recipe) {
    shot_machine_recipe *m = &recipe->machine;
    m->jet = 0;
    m->response = draw_between(d, 0.2, 0.6);
    const double fill = draw_between(d, 4, 8), flow = draw_between(d, 1.2, 3);
    const double room = m->headspace + recipe->bed.uptake * recipe->bed.dose;
    const double seconds = room * draw_between(d, 0.85, 1) / fill;
    const double soak = draw_between(d, 3, 15);
    const bool soaked = draw_chance(d, 0.4);
    shot_recipe_step first = {SHOT_DRIVE_FLOW, seconds, fill, fill, 0, !soaked, 0};
    SHOT_TRY(shot_recipe_add_step(recipe, first));
    if (soaked)
        SHOT_TRY(add(recipe, SHOT_DRIVE_SHUT, soak, 0, 0));
    shot_recipe_step main = {SHOT_DRIVE_FLOW,        PATIENCE, flow, flow,
                             target_mass(d, recipe), soaked,   HASTE};
    return shot_recipe_add_step(recipe, main);
}

static shot_status program_choked(struct draw *d, shot_recipe *recipe) {
    recipe->bed.permeability /= draw_around(d, 9, 2.2);
    if (draw_chance(d, 0.4)) {
        const double line = draw_between(d, 1, 3);
        SHOT_TRY(add(recipe, SHOT_DRIVE_PRESSURE, draw_between(d, 5, 12), line, line));
    }
    const double pressure = draw_between(d, 8.2, 10);
    const double patience = draw_between(d, 25, 60), mass = target_mass(d, recipe);
    const shot_recipe_step main = {
        SHOT_DRIVE_PRESSURE, patience, pressure, pressure, mass, true, HASTE};
    return shot_recipe_add_step(recipe, main);
}

shot_status draw_program(struct draw *draw, shot_recipe *recipe) {
    static shot_status (*const program[SHOT_STYLE_COUNT])(struct draw *, shot_recipe *) = {
        program_restrictor, program_line, program_soak, program_pulses, program_spring,
        program_hand,       program_step, program_free, program_flow,   program_choked,
    };
    return program[recipe->style](draw, recipe);
}
