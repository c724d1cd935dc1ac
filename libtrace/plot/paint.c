/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A scene through Cairo and Pango. */
#include "plot/paint.h"

#include <math.h>
#include <stdlib.h>

#include <cairo-pdf.h>
#include <cairo.h>
#include <pango/pangocairo.h>

typedef struct painter {
    const plot_scene *scene;
    cairo_t *cairo;
    PangoLayout *layout; /* one for all words, made at the first */
    bool with_words;
} painter;

/* ---- shapes ---- */

static void set_ink(painter *self, plot_ink ink) {
    unsigned colour = plot_ink_colour(self->scene->theme, ink);
    cairo_set_source_rgb(self->cairo, (colour >> 16) / 255.0, (colour >> 8 & 255) / 255.0,
                         (colour & 255) / 255.0);
}

/* In the cells of a terminal a dash is as long as its dots, 4 units, need to be seen. */
static void set_dash(painter *self, plot_dash dash) {
    static const double dashed[] = {6, 4}, dotted[] = {1.5, 3};
    static const double cells_dashed[] = {14, 8}, cells_dotted[] = {5, 7};
    const double *pattern = dash == PLOT_DASHED ? (self->with_words ? dashed : cells_dashed)
                                                : (self->with_words ? dotted : cells_dotted);
    cairo_set_dash(self->cairo, pattern, dash == PLOT_SOLID ? 0 : 2, 0);
}

static void stroke(painter *self, plot_pen pen) {
    set_ink(self, pen.ink);
    cairo_set_line_width(self->cairo, pen.width);
    set_dash(self, pen.dash);
    cairo_stroke(self->cairo);
}

static void trace(painter *self, const plot_shape *shape) {
    const double *xy = self->scene->points + shape->first;
    cairo_new_path(self->cairo); /* words leave a point behind */
    for (size_t i = 0; i < shape->count; i++)
        cairo_line_to(self->cairo, xy[2 * i], xy[2 * i + 1]);
}

/* The corners of the symbols are those of svg.c. */
static void paint_dot(painter *self, const plot_shape *shape) {
    cairo_t *cairo = self->cairo;
    double x = shape->x, y = shape->y, r = shape->w;
    cairo_new_path(cairo);
    if (shape->symbol == PLOT_DIAMOND || shape->symbol == PLOT_TRIANGLE) {
        bool diamond = shape->symbol == PLOT_DIAMOND;
        cairo_move_to(cairo, x, y - r);
        cairo_line_to(cairo, x + r, diamond ? y : y + 0.8 * r);
        if (diamond)
            cairo_line_to(cairo, x, y + r);
        cairo_line_to(cairo, x - r, diamond ? y : y + 0.8 * r);
        cairo_close_path(cairo);
    } else {
        cairo_arc(cairo, x, y, r, 0, 2 * acos(-1));
    }
    set_ink(self, shape->symbol == PLOT_RING ? PLOT_PAPER : shape->pen.ink);
    if (shape->symbol != PLOT_RING) {
        cairo_fill(cairo);
        return;
    }
    cairo_fill_preserve(cairo);
    stroke(self, shape->pen);
}

static PangoLayout *make_layout(cairo_t *cairo) {
    PangoLayout *layout = pango_cairo_create_layout(cairo);
    pango_layout_set_auto_dir(layout, FALSE); /* as in SVG: the page runs left to right */
    pango_layout_set_single_paragraph_mode(layout, TRUE);
    return layout;
}

static void paint_words(painter *self, const plot_shape *shape) {
    if (self->layout == NULL)
        self->layout = make_layout(self->cairo);
    const plot_font *font = &shape->font;
    PangoFontDescription *description = pango_font_description_new();
    pango_font_description_set_family(description, "Helvetica, Arial, sans-serif");
    pango_font_description_set_absolute_size(description, font->size * PANGO_SCALE);
    pango_font_description_set_weight(description,
                                      font->bold ? PANGO_WEIGHT_BOLD : PANGO_WEIGHT_NORMAL);
    pango_layout_set_font_description(self->layout, description);
    pango_font_description_free(description);
    pango_layout_set_text(self->layout, shape->words, -1);
    PangoRectangle logical;
    pango_layout_get_extents(self->layout, NULL, &logical);
    double width = (double)logical.width / PANGO_SCALE;
    double baseline = (double)pango_layout_get_baseline(self->layout) / PANGO_SCALE;
    double part = font->anchor == PLOT_START ? 0 : font->anchor == PLOT_MIDDLE ? 0.5 : 1;
    set_ink(self, font->ink);
    cairo_move_to(self->cairo, shape->x - part * width, shape->y - baseline);
    pango_cairo_show_layout(self->cairo, self->layout);
}

static void paint_shape(painter *self, const plot_shape *shape) {
    switch (shape->kind) {
    case PLOT_OPEN:
    case PLOT_CLOSE:
        break;
    case PLOT_PATH:
        trace(self, shape);
        stroke(self, shape->pen);
        break;
    case PLOT_AREA:
        trace(self, shape);
        set_ink(self, shape->pen.ink);
        cairo_fill(self->cairo);
        break;
    case PLOT_BOX:
        cairo_new_path(self->cairo);
        cairo_rectangle(self->cairo, shape->x, shape->y, shape->w, shape->h);
        set_ink(self, shape->pen.ink);
        cairo_fill(self->cairo);
        break;
    case PLOT_DOT:
        paint_dot(self, shape);
        break;
    case PLOT_WORDS:
        if (self->with_words)
            paint_words(self, shape);
        break;
    }
}

/* All shapes of the scene onto the surface, which stays the caller's. */
static shot_status paint(const plot_scene *scene, cairo_surface_t *surface, double scale,
                         bool with_words) {
    SHOT_TRY(scene->status);
    painter self = {.scene = scene, .cairo = cairo_create(surface), .with_words = with_words};
    cairo_scale(self.cairo, scale, scale);
    cairo_set_line_join(self.cairo, CAIRO_LINE_JOIN_ROUND);
    if (!with_words) /* for cells of a terminal: two clear colours serve them best */
        cairo_set_antialias(self.cairo, CAIRO_ANTIALIAS_NONE);
    set_ink(&self, PLOT_PAPER); /* also what a last row of cells or pixels has below the page */
    cairo_paint(self.cairo);
    for (size_t i = 0; i < scene->count; i++)
        paint_shape(&self, &scene->shapes[i]);
    bool fine = cairo_status(self.cairo) == CAIRO_STATUS_SUCCESS;
    g_clear_object(&self.layout);
    cairo_destroy(self.cairo);
    return fine ? SHOT_OK : SHOT_ERR_MEMORY;
}

/* ---- formats ---- */

static cairo_status_t take(void *user, const unsigned char *bytes, unsigned count) {
    return shot_text_add_bytes(user, (const char *)bytes, count) == SHOT_OK
               ? CAIRO_STATUS_SUCCESS
               : CAIRO_STATUS_NO_MEMORY;
}

static const double most_pixels = 32767; /* of an image surface, a side */

shot_status plot_paint_png(const plot_scene *scene, double scale, shot_text *out) {
    double width = ceil(scene->width * scale), height = ceil(scene->height * scale);
    if (!(width <= most_pixels && height <= most_pixels))
        return SHOT_ERR_RANGE;
    cairo_surface_t *surface =
        cairo_image_surface_create(CAIRO_FORMAT_RGB24, (int)width, (int)height);
    shot_status status = paint(scene, surface, scale, true);
    if (status == SHOT_OK &&
        cairo_surface_write_to_png_stream(surface, take, out) != CAIRO_STATUS_SUCCESS)
        status = SHOT_ERR_MEMORY;
    cairo_surface_destroy(surface);
    return status;
}

shot_status plot_paint_pdf(const plot_scene *scene, shot_text *out) {
    static const double points = 0.75; /* to a page unit */
    cairo_surface_t *surface = cairo_pdf_surface_create_for_stream(take, out, scene->width * points,
                                                                   scene->height * points);
    if (scene->title != NULL)
        cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_TITLE, scene->title);
    if (scene->description != NULL)
        cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_SUBJECT, scene->description);
    shot_status status = paint(scene, surface, points, true);
    cairo_surface_finish(surface);
    if (status == SHOT_OK && cairo_surface_status(surface) != CAIRO_STATUS_SUCCESS)
        status = SHOT_ERR_MEMORY;
    cairo_surface_destroy(surface);
    return status;
}

shot_status plot_paint_pixels(const plot_scene *scene, int width, int height, bool with_words,
                              unsigned char **out) {
    *out = NULL;
    if (width > most_pixels || height > most_pixels)
        return SHOT_ERR_RANGE;
    *out = calloc((size_t)width * (size_t)height, 4);
    if (*out == NULL)
        return SHOT_ERR_MEMORY;
    cairo_surface_t *surface =
        cairo_image_surface_create_for_data(*out, CAIRO_FORMAT_ARGB32, width, height, 4 * width);
    shot_status status = paint(scene, surface, width / scene->width, with_words);
    cairo_surface_flush(surface);
    cairo_surface_destroy(surface);
    if (status != SHOT_OK) {
        free(*out);
        *out = NULL;
    }
    return status;
}
