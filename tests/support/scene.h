/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Shots from text in memory, and a look into the scene that was made of them. */
#ifndef SHOT_TEST_SCENE_H
#define SHOT_TEST_SCENE_H

#include <support/check.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/stream/reader.h>

#include "plot/intake.h"
#include "plot/page.h"

/* The shots of a trace stream; free with shot_table_collector_free. */
static inline void scene_shots(const char *text, shot_table_collector *out) {
    shot_reader_settings settings = {0};
    shot_source *reader;
    shot_error error = {0};
    shot_table_collector_init(out);
    assert_int_equal(shot_reader_new(&settings, &out->sink, &reader, &error), SHOT_OK);
    assert_int_equal(reader->calls->push(reader, text, strlen(text), &error), SHOT_OK);
    assert_int_equal(reader->calls->finish(reader, &error), SHOT_OK);
    reader->calls->free(reader);
}

static inline plot_look scene_look(void) {
    return (plot_look){.width = 960, .pixel = 1, .type = plot_type_page};
}

/* The shape that opens the n-th (from 0) group of that part, or NULL. */
static inline const plot_shape *scene_group(const plot_scene *scene, const char *part, size_t n) {
    for (size_t i = 0; i < scene->count; i++)
        if (scene->shapes[i].kind == PLOT_OPEN && strcmp(scene->shapes[i].part, part) == 0 &&
            n-- == 0)
            return &scene->shapes[i];
    return NULL;
}

/* The n-th shape of a kind inside a group, groups in it included, or NULL. */
static inline const plot_shape *scene_inside(const plot_shape *group, plot_shape_kind kind,
                                             size_t n) {
    int depth = 1;
    for (const plot_shape *shape = group + 1; depth > 0; shape++) {
        depth += shape->kind == PLOT_OPEN ? 1 : shape->kind == PLOT_CLOSE ? -1 : 0;
        if (shape->kind == kind && n-- == 0)
            return shape;
    }
    return NULL;
}

/* True if some text of the scene is this one. */
static inline bool scene_says(const plot_scene *scene, const char *words) {
    for (size_t i = 0; i < scene->count; i++)
        if (scene->shapes[i].kind == PLOT_WORDS && strcmp(scene->shapes[i].words, words) == 0)
            return true;
    return false;
}

/* What a label says; NaN if it is no number. */
static inline double scene_number(const char *label) {
    const size_t minus =
        strncmp(label, PLOT_MINUS, strlen(PLOT_MINUS)) == 0 ? strlen(PLOT_MINUS) : 0;
    char *end;
    const double size = strtod(label + minus, &end);
    return end == label + minus || *end != '\0' ? NAN : minus > 0 ? -size : size;
}

/* Where the labels of an axis of a group put a value: by two ticks, told apart by their text.
 * `down` chooses the places of an axis of values, else those of one across. */
static inline double scene_place(const plot_shape *group, double value, bool down) {
    const plot_shape *first = scene_inside(group, PLOT_WORDS, 0), *last = first, *next;
    for (size_t n = 1; (next = scene_inside(group, PLOT_WORDS, n)) != NULL; n++)
        if (!isnan(scene_number(next->words)))
            last = next;
    double a = scene_number(first->words), b = scene_number(last->words);
    double pa = down ? first->y : first->x, pb = down ? last->y : last->x;
    double offset =
        down ? 0.36 * first->font.size : 0; /* from the middle of digits to their foot */
    return pa + (value - a) / (b - a) * (pb - pa) - offset;
}

/* The coordinates of a shape, x and y in turn. */
static inline const double *scene_points(const plot_scene *scene, const plot_shape *shape) {
    return scene->points + shape->first;
}

#endif
