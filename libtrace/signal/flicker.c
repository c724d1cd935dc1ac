/* SPDX-License-Identifier: GPL-3.0-or-later */
/* 1/f noise as a sum of Ornstein-Uhlenbeck processes; see the header for the sources. */
#include <shottrace/signal/flicker.h>

#include <math.h>

#include <shottrace/signal/portable.h>

void shot_flicker_start(shot_flicker *noise, shot_random random, double slowest) {
    noise->random = random;
    noise->slowest = slowest;
    for (int i = 0; i < SHOT_FLICKER_OCTAVES; i++)
        noise->level[i] = shot_random_normal(&noise->random);
}

double shot_flicker_step(shot_flicker *noise, double dt) {
    double sum = 0;
    double left = shot_portable_exp(-dt / noise->slowest);
    for (int i = 0; i < SHOT_FLICKER_OCTAVES; i++) {
        noise->level[i] =
            left * noise->level[i] + sqrt(1 - left * left) * shot_random_normal(&noise->random);
        sum += noise->level[i];
        left *= left; /* half the time constant: the square of what is left */
    }
    return sum / sqrt((double)SHOT_FLICKER_OCTAVES);
}
