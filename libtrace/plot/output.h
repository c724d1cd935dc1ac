/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where a picture goes, and in which format. */
#ifndef SHOT_PLOT_OUTPUT_H
#define SHOT_PLOT_OUTPUT_H

#include <shottrace/trace/description.h>

#include "plot/page.h"
#include "plot/settings.h"
#include "plot/terminal.h"

typedef struct plot_output {
    plot_format format; /* decided */
    const char *path;   /* NULL: where the output of the tool goes */
    double scale;
    plot_terminal terminal; /* for text */
    plot_look look;
} plot_output;

/* SHOT_ERR_USAGE with a sentence where the name of the file tells no format. */
shot_status plot_output_choose(const struct plot_settings *settings, plot_output *out,
                               shot_error *error);
shot_status plot_output_write(const plot_output *output, const plot_scene *scene,
                              const shot_output *bytes, shot_error *error);

#endif
