/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The colours of the themes, chosen by lightness, chroma and hue in OKLCH, which stand beside each.
 * Source of the space: Ottosson 2020, 'A perceptual color space for image processing'. */
#include "plot/ink.h"

static const unsigned colours[][PLOT_INKS] = {
    [PLOT_LIGHT] =
        {
            [PLOT_PAPER] = 0xffffff,       /* 1 0 0 */
            [PLOT_TEXT] = 0x1d222b,        /* 0.25 0.02 265 */
            [PLOT_SOFT] = 0x555b66,        /* 0.47 0.02 265 */
            [PLOT_RULE] = 0xa7abb3,        /* 0.74 0.012 265 */
            [PLOT_GRID] = 0xe4e6ea,        /* 0.925 0.006 265 */
            [PLOT_LINE] = 0x213566,        /* 0.34 0.09 265 */
            [PLOT_BEHIND] = 0x9aa5bb,      /* 0.72 0.035 265 */
            [PLOT_BAND] = 0xccd6ea,        /* 0.875 0.03 265 */
            [PLOT_TINT] = 0xe9edf5,        /* 0.945 0.012 265 */
            [PLOT_SHADE] = 0xd2d9e8,       /* 0.885 0.022 265 */
            [PLOT_ACCENT] = 0xb95115,      /* 0.56 0.15 45 */
            [PLOT_ACCENT_TINT] = 0xfbe2d2, /* 0.93 0.035 55 */
        },
    [PLOT_DARK] =
        {
            [PLOT_PAPER] = 0x111419,       /* 0.19 0.012 265 */
            [PLOT_TEXT] = 0xe8ebf1,        /* 0.94 0.008 265 */
            [PLOT_SOFT] = 0xa6abb5,        /* 0.74 0.015 265 */
            [PLOT_RULE] = 0x51555e,        /* 0.45 0.015 265 */
            [PLOT_GRID] = 0x22252c,        /* 0.265 0.014 265 */
            [PLOT_LINE] = 0xafd5fe,        /* 0.86 0.07 250 */
            [PLOT_BEHIND] = 0x5c6a80,      /* 0.52 0.04 260 */
            [PLOT_BAND] = 0x2e394e,        /* 0.345 0.04 262 */
            [PLOT_TINT] = 0x1d222a,        /* 0.25 0.018 265 */
            [PLOT_SHADE] = 0x2d3444,       /* 0.325 0.03 265 */
            [PLOT_ACCENT] = 0xf49d56,      /* 0.77 0.135 58 */
            [PLOT_ACCENT_TINT] = 0x472b1b, /* 0.32 0.05 50 */
        },
    [PLOT_MONO] =
        {
            [PLOT_PAPER] = 0xffffff,
            [PLOT_TEXT] = 0x000000,
            [PLOT_SOFT] = 0x000000,
            [PLOT_RULE] = 0x000000,
            [PLOT_GRID] = 0xffffff,
            [PLOT_LINE] = 0x000000,
            [PLOT_BEHIND] = 0x808080,
            [PLOT_BAND] = 0xc0c0c0,
            [PLOT_TINT] = 0xc0c0c0,
            [PLOT_SHADE] = 0x808080,
            [PLOT_ACCENT] = 0x000000,
            [PLOT_ACCENT_TINT] = 0xffffff,
        },
};

unsigned plot_ink_colour(plot_theme theme, plot_ink ink) {
    return colours[theme][ink];
}
