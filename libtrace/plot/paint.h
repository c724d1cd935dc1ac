/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A scene through Cairo and Pango: PNG, PDF, or pixels in memory. */
#ifndef SHOT_PLOT_PAINT_H
#define SHOT_PLOT_PAINT_H

#include <shottrace/trace/text.h>

#include "plot/scene.h"

/* Append a PNG of `scale` pixels to a page unit. SHOT_ERR_RANGE if that is more than an image can
 * hold (32767 pixels a side), SHOT_ERR_MEMORY. */
shot_status plot_paint_png(const plot_scene *scene, double scale, shot_text *out);

/* Append a PDF, whose page is as large as the scene (1 unit = 0.75 points). */
shot_status plot_paint_pdf(const plot_scene *scene, shot_text *out);

/* Pixels, 4 bytes each in the order of a native-endian 0xAARRGGBB [height * stride]; the caller
 * frees *out with free().  `with_words` false leaves all text out.  SHOT_ERR_RANGE beyond 32767
 * pixels a side, SHOT_ERR_MEMORY. */
shot_status plot_paint_pixels(const plot_scene *scene, int width, int height, bool with_words,
                              unsigned char **out);

#endif
