/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A picture before it has a format. */
#include "plot/scene.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/trace/text.h>

#include "plot/glyphs.h"
#include "room.h"

/* ---- room ---- */

static plot_shape *add(plot_scene *scene, plot_shape_kind kind) {
    if (scene->status != SHOT_OK)
        return NULL;
    plot_shape *shapes =
        room_for_more(scene->shapes, scene->count, &scene->room, 256, sizeof *shapes);
    if (shapes == NULL) {
        scene->status = SHOT_ERR_MEMORY;
        return NULL;
    }
    scene->shapes = shapes;
    plot_shape *shape = &scene->shapes[scene->count++];
    *shape = (plot_shape){.kind = kind};
    return shape;
}

static bool add_points(plot_scene *scene, const double *xy, size_t n) {
    size_t needed = scene->point_count + 2 * n;
    if (needed > scene->point_room) {
        size_t room = needed > 2 * scene->point_room ? needed : 2 * scene->point_room;
        double *points = realloc(scene->points, room * sizeof *points);
        if (points == NULL) {
            scene->status = SHOT_ERR_MEMORY;
            return false;
        }
        scene->points = points;
        scene->point_room = room;
    }
    memcpy(scene->points + scene->point_count, xy, 2 * n * sizeof *xy);
    scene->point_count = needed;
    return true;
}

static char *clean_copy(plot_scene *scene, const char *words) {
    shot_text text = {0};
    shot_status status = words != NULL ? plot_glyphs_clean(words, &text) : SHOT_OK;
    if (status == SHOT_OK)
        status = shot_text_add(&text, ""); /* an empty text is one too */
    if (status == SHOT_OK)
        return text.bytes;
    shot_text_free(&text);
    scene->status = status;
    return NULL;
}

/* ---- shapes ---- */

void plot_scene_describe(plot_scene *scene, const char *title, const char *description) {
    free(scene->title);
    free(scene->description);
    scene->title = clean_copy(scene, title);
    scene->description = clean_copy(scene, description);
}

void plot_scene_open(plot_scene *scene, const char *part, const char *words) {
    plot_shape *shape = add(scene, PLOT_OPEN);
    if (shape == NULL)
        return;
    shape->part = clean_copy(scene, part);
    shape->words = clean_copy(scene, words);
}

void plot_scene_close(plot_scene *scene) {
    add(scene, PLOT_CLOSE);
}

static void add_line(plot_scene *scene, plot_shape_kind kind, plot_pen pen, const double *xy,
                     size_t n) {
    for (size_t i = 0; i < 2 * n; i++)
        if (!isfinite(xy[i]))
            return;
    plot_shape *shape = n > 0 ? add(scene, kind) : NULL;
    if (shape == NULL)
        return;
    shape->pen = pen;
    shape->first = scene->point_count;
    shape->count = add_points(scene, xy, n) ? n : 0;
}

void plot_scene_path(plot_scene *scene, plot_pen pen, const double *xy, size_t n) {
    add_line(scene, PLOT_PATH, pen, xy, n);
}

void plot_scene_area(plot_scene *scene, plot_ink ink, const double *xy, size_t n) {
    add_line(scene, PLOT_AREA, (plot_pen){ink, 0, PLOT_SOLID}, xy, n);
}

void plot_scene_rule(plot_scene *scene, plot_pen pen, double x1, double y1, double x2, double y2) {
    double xy[] = {x1, y1, x2, y2};
    plot_scene_path(scene, pen, xy, 2);
}

void plot_scene_box(plot_scene *scene, plot_ink ink, double x, double y, double w, double h) {
    if (!isfinite(x) || !isfinite(y) || !isfinite(w) || !isfinite(h))
        return;
    plot_shape *shape = add(scene, PLOT_BOX);
    if (shape == NULL)
        return;
    shape->pen.ink = ink;
    shape->x = w < 0 ? x + w : x;
    shape->y = h < 0 ? y + h : y;
    shape->w = fabs(w);
    shape->h = fabs(h);
}

void plot_scene_dot(plot_scene *scene, plot_symbol symbol, plot_pen pen, double x, double y,
                    double radius) {
    if (!isfinite(x) || !isfinite(y))
        return;
    plot_shape *shape = add(scene, PLOT_DOT);
    if (shape == NULL)
        return;
    shape->symbol = symbol;
    shape->pen = pen;
    shape->x = x;
    shape->y = y;
    shape->w = radius;
}

void plot_scene_words(plot_scene *scene, plot_font font, double x, double y, const char *words) {
    if (!isfinite(x) || !isfinite(y))
        return;
    plot_shape *shape = add(scene, PLOT_WORDS);
    if (shape == NULL)
        return;
    shape->font = font;
    shape->x = x;
    shape->y = y;
    shape->words = clean_copy(scene, words);
}

void plot_scene_free(plot_scene *scene) {
    for (size_t i = 0; i < scene->count; i++) {
        free(scene->shapes[i].part);
        free(scene->shapes[i].words);
    }
    free(scene->shapes);
    free(scene->points);
    free(scene->title);
    free(scene->description);
    *scene = (plot_scene){0};
}
