/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Yields of oats in six blocks of twelve plots, four levels of nitrogen on each of three: Yates
 * 1935, 'Complex experiments', J. R. Stat. Soc. Suppl. 2:181-247, as in R's package MASS (Venables
 * & Ripley 2002). */
#ifndef SHOT_TEST_OATS_H
#define SHOT_TEST_OATS_H

#include <stdbool.h>
#include <stddef.h>

enum { OATS = 72, OATS_BLOCKS = 6, OATS_LEVELS = 4, OATS_LOST = 11 };

static const double oats_yield[OATS] = {
    111, 130, 157, 174, 117, 114, 161, 141, 105, 140, 118, 156, /* block I */
    61,  91,  97,  100, 70,  108, 126, 149, 96,  124, 121, 144, 68,  64,  112,
    86,  60,  102, 89,  96,  89,  129, 132, 124, 74,  89,  81,  122, 64,  103,
    132, 133, 70,  89,  104, 117, 62,  90,  100, 116, 80,  82,  94,  126, 63,
    70,  109, 99,  53,  74,  118, 113, 89,  82,  86,  104, 97,  99,  119, 121};

/* Plots to leave out, from 0: incomplete blocks. */
static const size_t oats_lost[OATS_LOST] = {0, 1, 4, 8, 13, 22, 23, 39, 40, 54, 69};

typedef struct oats_plots {
    double nitrogen[OATS], y[OATS]; /* cwt an acre, quarter pounds */
    size_t setting[OATS], block[OATS], n;
} oats_plots;

static inline oats_plots oats_without(const size_t *lost, size_t count) {
    oats_plots o = {.n = 0};
    for (size_t i = 0; i < OATS; i++) {
        bool there = true;
        for (size_t k = 0; k < count; k++)
            there = there && lost[k] != i;
        if (!there)
            continue;
        o.setting[o.n] = i % OATS_LEVELS;
        o.nitrogen[o.n] = 0.2 * (double)(i % OATS_LEVELS);
        o.block[o.n] = i / 12;
        o.y[o.n++] = oats_yield[i];
    }
    return o;
}

#endif
