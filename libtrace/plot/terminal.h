/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A scene in a terminal: characters in cells, their patterns chosen by chafa, words as words; or,
 * where the terminal can, the picture itself. */
#ifndef SHOT_PLOT_TERMINAL_H
#define SHOT_PLOT_TERMINAL_H

#include <shottrace/trace/text.h>

#include "plot/page.h"

typedef enum plot_colours {
    PLOT_NO_COLOURS,
    PLOT_256_COLOURS, /* xterm's palette */
    PLOT_ALL_COLOURS
} plot_colours;

typedef struct plot_terminal {
    int columns;
    int rows; /* of the screen; 1 where nobody knows */
    plot_colours colours;
    bool utf8;   /* else ASCII alone */
    bool pixels; /* it shows pictures (sixels and the like) */
} plot_terminal;

/* What the terminal behind a file descriptor is, by its size and the environment: COLUMNS, LINES,
 * TERM, COLORTERM, the locale's variables, and NO_COLOR, which forbids colours where it is set and
 * not empty. */
plot_terminal plot_terminal_detect(int file);
/* Plain text of so many columns, UTF-8, no colours. */
plot_terminal plot_terminal_plain(int columns);

/* Append the scene, one that was made for cells of plot_type_cells (for pixels: for the page). */
shot_status plot_terminal_write(const plot_scene *scene, const plot_terminal *terminal,
                                shot_text *out);

#endif
