/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The key above a picture: a piece of each kind of line with what it stands for. */
#ifndef SHOT_PLOT_KEY_H
#define SHOT_PLOT_KEY_H

#include "plot/page.h"

/* So many lines can be told apart by their kind; more are a crowd. */
enum { PLOT_KEY_FEW = 4 };

/* The pen of line `index` of `count`; of a crowd all are alike, the thinner the more there are. */
plot_pen plot_key_pen(const plot_look *look, size_t index, size_t count);

/* A key under way: opens below page->y, which plot_key_end moves on. */
typedef struct plot_key {
    plot_page *page;
    double x;
} plot_key;

plot_key plot_key_begin(plot_page *page);
/* A piece of the line (of PLOT_BAND: of the band) and its name, on a further row of the key where
 * this one is full. */
void plot_key_add(plot_key *key, plot_pen pen, const char *name);
void plot_key_end(plot_key *key);

#endif
