/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Extraction with two time scales; docs/model.md, "Extraction". */
#include "puck/solubles.h"

void solubles_start(struct solubles *solubles, const shot_recipe *recipe) {
    const shot_solubles_recipe *r = &recipe->solubles;
    *solubles = (struct solubles){
        .recipe = r,
        .fast = r->fast * recipe->bed.dose,
        .slow = r->slow * recipe->bed.dose,
    };
    solubles->total = solubles->fast + solubles->slow;
}

double solubles_washed(const struct solubles *solubles) {
    if (solubles->total == 0)
        return 0;
    return 1 - (solubles->fast + solubles->slow) / solubles->total;
}

/* What leaves a store in dt at `rate`: implicit, so never more than it holds. */
static double dissolve(double *store, double rate, double dt) {
    const double gone = *store * rate * dt / (1 + rate * dt);
    *store -= gone;
    return gone;
}

double solubles_advance(struct solubles *solubles, double wet, double held, double out, double dt) {
    const shot_solubles_recipe *r = solubles->recipe;
    if (held <= 0)
        return 0;
    double hunger = 1 - solubles->liquid / (held * r->saturation);
    if (hunger < 0)
        hunger = 0;
    const double drive = wet * hunger;
    const double slow_rate = r->slow_rate + r->slow_rate_per_flow * out;
    solubles->liquid += dissolve(&solubles->fast, r->fast_rate * drive, dt);
    solubles->liquid += dissolve(&solubles->slow, slow_rate * drive, dt);
    const double share = out * dt / (held + out * dt); /* implicit again */
    const double leaving = solubles->liquid * share;
    solubles->liquid -= leaving;
    return leaving / dt;
}
