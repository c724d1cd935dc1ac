/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a person asked shot-plot for. */
#ifndef SHOT_PLOT_SETTINGS_H
#define SHOT_PLOT_SETTINGS_H

#include <shottrace/trace/option.h>

typedef enum plot_format {
    PLOT_FORMAT_AUTO, /* by the name of the output; a terminal gets text, a pipe SVG */
    PLOT_FORMAT_SVG,
    PLOT_FORMAT_PDF,
    PLOT_FORMAT_PNG,
    PLOT_FORMAT_TERMINAL,
    PLOT_FORMAT_TEXT
} plot_format;

enum { PLOT_THEME_AUTO, PLOT_THEME_LIGHT, PLOT_THEME_DARK };

typedef enum plot_show {
    PLOT_SHOW_AUTO, /* by what comes in */
    PLOT_SHOW_PANELS,
    PLOT_SHOW_OVERLAY,
    PLOT_SHOW_MULTIPLES,
    PLOT_SHOW_PATH,
    PLOT_SHOW_CONTROL
} plot_show;

struct plot_settings {
    const char *output, *behind;
    int format, show, theme;
    shot_texts channels, measures;
    long width;
    double scale;
};

#endif
