/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Inks: what is drawn with, named for its part in the picture, and the colour that each theme gives
 * it.  One dark hue tells all lines, one warm hue what a detector found; lightness alone tells them
 * apart too, so that a grey print and eyes that see fewer hues lose nothing. */
#ifndef SHOT_PLOT_INK_H
#define SHOT_PLOT_INK_H

typedef enum plot_ink {
    PLOT_NO_INK,
    PLOT_PAPER,
    PLOT_TEXT,
    PLOT_SOFT, /* text of second rank */
    PLOT_RULE, /* axes, borders of phases */
    PLOT_GRID,
    PLOT_LINE,   /* measured values */
    PLOT_BEHIND, /* the same before a filter, or other shots */
    PLOT_BAND,   /* intervals and bands about a line */
    PLOT_TINT,   /* spans, in turn with ... */
    PLOT_SHADE,
    PLOT_ACCENT, /* what to look at: surges, signals, a peak */
    PLOT_ACCENT_TINT,
    PLOT_INKS
} plot_ink;

/* `mono` is for characters without colours: black, white, and greys that become patterns. */
typedef enum plot_theme { PLOT_LIGHT, PLOT_DARK, PLOT_MONO } plot_theme;

/* sRGB, 0xRRGGBB. */
unsigned plot_ink_colour(plot_theme theme, plot_ink ink);

#endif
