/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Random figures whose spread can be drawn in towards the middle.  Internal to puck/. */
#ifndef SHOT_PUCK_DRAW_H
#define SHOT_PUCK_DRAW_H

#include <shottrace/signal/random.h>

struct draw {
    shot_random random;
    double spread; /* 0: always the middle, to 1: the whole distribution */
};

/* Uniform between two figures. */
double draw_between(struct draw *draw, double low, double high);

/* Log-uniform between middle/factor and middle*factor. */
double draw_around(struct draw *draw, double middle, double factor);

/* 1 with probability p, else 0; without spread what is likelier. */
int draw_chance(struct draw *draw, double p);

#endif
