/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A scene as SVG. */
#include "plot/svg.h"

#include <math.h>
#include <string.h>

/* ---- pieces ---- */

/* The words of a scene are clean UTF-8; what is left to do are the characters of the markup. */
static shot_status add_escaped(shot_text *out, const char *words) {
    for (; *words != '\0'; words++) {
        const char *entity = *words == '&'    ? "&amp;"
                             : *words == '<'  ? "&lt;"
                             : *words == '>'  ? "&gt;"
                             : *words == '"'  ? "&quot;"
                             : *words == '\'' ? "&#39;"
                                              : NULL;
        SHOT_TRY(entity ? shot_text_add(out, entity) : shot_text_add_bytes(out, words, 1));
    }
    return SHOT_OK;
}

/* A coordinate in hundredths of a unit, a twentieth of what an eye can tell. */
static shot_status add_length(shot_text *out, double value) {
    char digits[24];
    size_t at = sizeof digits;
    long long whole = llround(fmin(fmax(value, -1e9), 1e9) * 100);
    unsigned long long rest = (unsigned long long)(whole < 0 ? -whole : whole);
    unsigned fraction = (unsigned)(rest % 100);
    rest /= 100;
    if (fraction % 10 != 0)
        digits[--at] = (char)('0' + fraction % 10);
    if (fraction != 0) {
        digits[--at] = (char)('0' + fraction / 10);
        digits[--at] = '.';
    }
    do
        digits[--at] = (char)('0' + rest % 10);
    while ((rest /= 10) > 0);
    if (whole < 0)
        digits[--at] = '-';
    return shot_text_add_bytes(out, digits + at, sizeof digits - at);
}

static shot_status add_attribute(shot_text *out, const char *name, double value) {
    SHOT_TRY(shot_text_add_format(out, " %s=\"", name));
    SHOT_TRY(add_length(out, value));
    return shot_text_add(out, "\"");
}

static shot_status add_ink(const plot_scene *scene, shot_text *out, const char *name,
                           plot_ink ink) {
    return shot_text_add_format(out, " %s=\"#%06x\"", name, plot_ink_colour(scene->theme, ink));
}

static shot_status add_stroke(const plot_scene *scene, shot_text *out, plot_pen pen) {
    SHOT_TRY(add_ink(scene, out, "stroke", pen.ink));
    SHOT_TRY(add_attribute(out, "stroke-width", pen.width));
    if (pen.dash == PLOT_SOLID)
        return SHOT_OK;
    return shot_text_add(out, pen.dash == PLOT_DASHED ? " stroke-dasharray=\"6 4\""
                                                      : " stroke-dasharray=\"1.5 3\"");
}

static shot_status add_points(const plot_scene *scene, shot_text *out, const plot_shape *shape) {
    const double *xy = scene->points + shape->first;
    SHOT_TRY(shot_text_add(out, " points=\""));
    for (size_t i = 0; i < 2 * shape->count; i++) {
        if (i > 0)
            SHOT_TRY(shot_text_add(out, i % 2 ? "," : " "));
        SHOT_TRY(add_length(out, xy[i]));
    }
    return shot_text_add(out, "\"");
}

/* ---- shapes ---- */

static shot_status add_group(shot_text *out, const plot_shape *shape) {
    SHOT_TRY(shot_text_add(out, "<g class=\""));
    SHOT_TRY(add_escaped(out, shape->part));
    SHOT_TRY(shot_text_add(out, "\">"));
    if (shape->words[0] == '\0')
        return shot_text_add(out, "\n");
    SHOT_TRY(shot_text_add(out, "<title>"));
    SHOT_TRY(add_escaped(out, shape->words));
    return shot_text_add(out, "</title>\n");
}

static shot_status add_path(const plot_scene *scene, shot_text *out, const plot_shape *shape) {
    SHOT_TRY(shot_text_add(out, "<polyline fill=\"none\" stroke-linejoin=\"round\""));
    SHOT_TRY(add_stroke(scene, out, shape->pen));
    SHOT_TRY(add_points(scene, out, shape));
    return shot_text_add(out, "/>\n");
}

static shot_status add_area(const plot_scene *scene, shot_text *out, const plot_shape *shape) {
    SHOT_TRY(shot_text_add(out, "<polygon"));
    SHOT_TRY(add_ink(scene, out, "fill", shape->pen.ink));
    SHOT_TRY(add_points(scene, out, shape));
    return shot_text_add(out, "/>\n");
}

static shot_status add_box(const plot_scene *scene, shot_text *out, const plot_shape *shape) {
    SHOT_TRY(shot_text_add(out, "<rect"));
    SHOT_TRY(add_attribute(out, "x", shape->x));
    SHOT_TRY(add_attribute(out, "y", shape->y));
    SHOT_TRY(add_attribute(out, "width", shape->w));
    SHOT_TRY(add_attribute(out, "height", shape->h));
    SHOT_TRY(add_ink(scene, out, "fill", shape->pen.ink));
    return shot_text_add(out, "/>\n");
}

static shot_status add_dot(const plot_scene *scene, shot_text *out, const plot_shape *shape) {
    bool corners = shape->symbol == PLOT_DIAMOND || shape->symbol == PLOT_TRIANGLE;
    SHOT_TRY(shot_text_add(out, corners ? "<path d=\"" : "<circle"));
    double r = shape->w;
    if (corners) {
        SHOT_TRY(shot_text_add(out, "M"));
        SHOT_TRY(add_length(out, shape->x));
        SHOT_TRY(shot_text_add(out, ","));
        SHOT_TRY(add_length(out, shape->y - r));
        SHOT_TRY(shot_text_add_format(out,
                                      shape->symbol == PLOT_DIAMOND
                                          ? "l%.4g,%.4g %.4g,%.4g %.4g,%.4gz\""
                                          : "l%.4g,%.4g %.4g,%.4gz\"",
                                      r, shape->symbol == PLOT_DIAMOND ? r : 1.8 * r,
                                      shape->symbol == PLOT_DIAMOND ? -r : -2 * r,
                                      shape->symbol == PLOT_DIAMOND ? r : 0.0, -r, -r));
    } else {
        SHOT_TRY(add_attribute(out, "cx", shape->x));
        SHOT_TRY(add_attribute(out, "cy", shape->y));
        SHOT_TRY(add_attribute(out, "r", r));
    }
    if (shape->symbol != PLOT_RING) {
        SHOT_TRY(add_ink(scene, out, "fill", shape->pen.ink));
    } else {
        SHOT_TRY(add_ink(scene, out, "fill", PLOT_PAPER));
        SHOT_TRY(add_stroke(scene, out, shape->pen));
    }
    return shot_text_add(out, "/>\n");
}

static shot_status add_words(const plot_scene *scene, shot_text *out, const plot_shape *shape) {
    static const char *const anchors[] = {"", " text-anchor=\"middle\"", " text-anchor=\"end\""};
    SHOT_TRY(shot_text_add(out, "<text"));
    SHOT_TRY(add_attribute(out, "x", shape->x));
    SHOT_TRY(add_attribute(out, "y", shape->y));
    SHOT_TRY(add_attribute(out, "font-size", shape->font.size));
    SHOT_TRY(shot_text_add(out, anchors[shape->font.anchor]));
    SHOT_TRY(shot_text_add(out, shape->font.bold ? " font-weight=\"bold\"" : ""));
    SHOT_TRY(add_ink(scene, out, "fill", shape->font.ink));
    SHOT_TRY(shot_text_add(out, ">"));
    SHOT_TRY(add_escaped(out, shape->words));
    return shot_text_add(out, "</text>\n");
}

static shot_status add_shape(const plot_scene *scene, shot_text *out, const plot_shape *shape) {
    switch (shape->kind) {
    case PLOT_OPEN:
        return add_group(out, shape);
    case PLOT_CLOSE:
        return shot_text_add(out, "</g>\n");
    case PLOT_PATH:
        return add_path(scene, out, shape);
    case PLOT_AREA:
        return add_area(scene, out, shape);
    case PLOT_BOX:
        return add_box(scene, out, shape);
    case PLOT_DOT:
        return add_dot(scene, out, shape);
    case PLOT_WORDS:
        return add_words(scene, out, shape);
    }
    return SHOT_OK;
}

/* ---- the document ---- */

static shot_status add_root(const plot_scene *scene, shot_text *out) {
    SHOT_TRY(shot_text_add(out, "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
                                "<svg xmlns=\"http://www.w3.org/2000/svg\" version=\"1.1\""));
    SHOT_TRY(add_attribute(out, "width", scene->width));
    SHOT_TRY(add_attribute(out, "height", scene->height));
    SHOT_TRY(shot_text_add_format(out, " viewBox=\"0 0 %.0f %.0f\"", scene->width, scene->height));
    SHOT_TRY(shot_text_add(out, " role=\"img\" aria-labelledby=\"plot-title plot-description\" "
                                "font-family=\"Helvetica, Arial, 'Liberation Sans', 'DejaVu Sans', "
                                "sans-serif\">\n<title id=\"plot-title\">"));
    SHOT_TRY(add_escaped(out, scene->title ? scene->title : ""));
    SHOT_TRY(shot_text_add(out, "</title>\n<desc id=\"plot-description\">"));
    SHOT_TRY(add_escaped(out, scene->description ? scene->description : ""));
    return shot_text_add(out, "</desc>\n");
}

shot_status plot_svg_write(const plot_scene *scene, shot_text *out) {
    SHOT_TRY(scene->status);
    SHOT_TRY(add_root(scene, out));
    for (size_t i = 0; i < scene->count; i++)
        SHOT_TRY(add_shape(scene, out, &scene->shapes[i]));
    return shot_text_add(out, "</svg>\n");
}
