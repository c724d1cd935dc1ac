/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A picture before it has a format: shapes on a page, in the order in which they are laid down.
 *
 *     plot_scene scene = {.width = 960, .height = 540};
 *     plot_scene_open(&scene, "panel", "pressure [bar]");
 *     plot_scene_path(&scene, (plot_pen){PLOT_LINE, 1.5, PLOT_SOLID}, xy, n);
 *     plot_scene_close(&scene);
 *     if (scene.status == SHOT_OK) ... a backend draws it ...
 *     plot_scene_free(&scene);
 *
 * Lengths are in page units of 1/96 inch, from the upper left corner.  A failure (memory) stays in
 * `status` and makes later calls do nothing, so that one check at the end is enough.  Coordinates
 * that are not finite are dropped. */
#ifndef SHOT_PLOT_SCENE_H
#define SHOT_PLOT_SCENE_H

#include <stdbool.h>

#include <shottrace/status.h>

#include "plot/ink.h"

typedef enum plot_dash { PLOT_SOLID, PLOT_DASHED, PLOT_DOTTED } plot_dash;
typedef enum plot_anchor { PLOT_START, PLOT_MIDDLE, PLOT_END } plot_anchor;
typedef enum plot_symbol { PLOT_DISC, PLOT_RING, PLOT_DIAMOND, PLOT_TRIANGLE } plot_symbol;

typedef struct plot_pen {
    plot_ink ink;
    double width;
    plot_dash dash;
} plot_pen;

typedef struct plot_font {
    plot_ink ink;
    double size;
    plot_anchor anchor;
    bool bold;
    bool ends; /* a name: what does not fit is left out of its middle */
} plot_font;

typedef enum plot_shape_kind {
    PLOT_OPEN, /* a group: `part` says what it is (panel, knee), `words` tell it to a reader */
    PLOT_CLOSE,
    PLOT_PATH, /* an open line through points */
    PLOT_AREA, /* a filled polygon */
    PLOT_BOX,  /* a filled rectangle x, y, w, h */
    PLOT_DOT,  /* a symbol about x, y of radius w */
    PLOT_WORDS /* text whose baseline is at y and whose anchor is at x */
} plot_shape_kind;

typedef struct plot_shape {
    plot_shape_kind kind;
    plot_pen pen;
    plot_font font;
    plot_symbol symbol;
    double x, y, w, h;
    size_t first, count; /* of its points in the scene's */
    char *part, *words;
} plot_shape;

typedef struct plot_scene {
    double width, height;
    plot_theme theme;
    char *title, *description; /* plain sentences, for readers of the screen */
    plot_shape *shapes;
    size_t count, room;
    double *points; /* x, y in turn */
    size_t point_count, point_room;
    shot_status status;
} plot_scene;

void plot_scene_describe(plot_scene *scene, const char *title, const char *description);
void plot_scene_open(plot_scene *scene, const char *part, const char *words);
void plot_scene_close(plot_scene *scene);
/*   xy  n points, x and y in turn [2 n] */
void plot_scene_path(plot_scene *scene, plot_pen pen, const double *xy, size_t n);
void plot_scene_area(plot_scene *scene, plot_ink ink, const double *xy, size_t n);
void plot_scene_rule(plot_scene *scene, plot_pen pen, double x1, double y1, double x2, double y2);
void plot_scene_box(plot_scene *scene, plot_ink ink, double x, double y, double w, double h);
void plot_scene_dot(plot_scene *scene, plot_symbol symbol, plot_pen pen, double x, double y,
                    double radius);
/* Text from a log may hold anything: control characters and marks of writing direction, which could
 * reach beyond the text, are left out, and bytes that are no UTF-8 become U+FFFD. */
void plot_scene_words(plot_scene *scene, plot_font font, double x, double y, const char *words);
void plot_scene_free(plot_scene *scene);

#endif
