/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Many shots over each other: all lines, their median, and the band of nine in ten. */
#include "plot/pictures.h"

#include <math.h>
#include <string.h>

#include "plot/group.h"
#include "plot/words.h"

/* So many shots can be told apart by the kind of their line; more are a crowd with a median. */
enum { FEW = 4 };

typedef struct overlay {
    plot_group group;
    plot_page page;
    plot_axis x;
} overlay;

static plot_pen pen_of(const overlay *self, size_t shot) {
    static const plot_pen few[FEW] = {{PLOT_LINE, 1.6, PLOT_SOLID},
                                      {PLOT_ACCENT, 1.6, PLOT_DASHED},
                                      {PLOT_LINE, 1.6, PLOT_DOTTED},
                                      {PLOT_BEHIND, 2.2, PLOT_SOLID}};
    static const plot_pen crowd = {PLOT_BEHIND, 0.8, PLOT_SOLID};
    plot_pen pen = self->group.shots->count <= FEW ? few[shot] : crowd;
    if (self->page.look.type.cells)
        pen.width = 3;
    return pen;
}

/* ---- the key ---- */

/* A piece of the line and its name; moves *x on. */
static void draw_key(overlay *self, plot_pen pen, double *x, const char *name) {
    plot_page *page = &self->page;
    const plot_type *type = &page->look.type;
    double y = page->y + type->line / 2, length = 2 * type->line;
    double width = plot_glyphs_width(type, name, type->small, false);
    double room = page->right - *x - length - 8;
    if (room < 3 * type->line)
        return;
    plot_scene_rule(page->scene, pen, *x, y, *x + length, y);
    plot_page_words(page, plot_page_font(page, PLOT_TEXT, type->small, PLOT_START), *x + length + 8,
                    plot_page_baseline(page, page->y, type->small), room, name);
    *x += length + 8 + fmin(width, room) + 1.5 * type->line;
}

static void draw_keys(overlay *self) {
    plot_page *page = &self->page;
    const plot_shots *shots = self->group.shots;
    double x = page->left;
    plot_scene_open(page->scene, "key", NULL);
    if (shots->count <= FEW) {
        for (size_t i = 0; i < shots->count; i++)
            draw_key(self, pen_of(self, i), &x, shots->items[i]->head.name);
    } else {
        draw_key(self, (plot_pen){PLOT_LINE, 2, PLOT_SOLID}, &x, "median");
        draw_key(self, (plot_pen){PLOT_BAND, 9, PLOT_SOLID}, &x, "nine shots of ten");
        draw_key(self, pen_of(self, 0), &x, "each shot");
    }
    plot_scene_close(page->scene);
    page->y += page->look.type.line * (page->look.type.cells ? 1 : 1.4);
}

/* ---- panels ---- */

static void draw_lines(overlay *self, const char *name, const plot_axis *y) {
    plot_page *page = &self->page;
    double pixel = page->look.pixel;
    bool crowd = self->group.shots->count > FEW;
    if (crowd)
        plot_group_band(&self->group, page->scene, &self->x, y, name, pixel);
    for (size_t i = 0; i < self->group.shots->count; i++)
        plot_group_line(&self->group, page->scene, &self->x, y, i, name, pen_of(self, i), pixel);
    if (crowd)
        plot_group_median(&self->group, page->scene, &self->x, y, name,
                          (plot_pen){PLOT_LINE, page->look.type.cells ? 3.2 : 2, PLOT_SOLID},
                          pixel);
}

static double height_of(const overlay *self) {
    return (self->group.name_count > 4 ? 6 : 7.5) * self->page.look.type.line;
}

static void draw_panel(overlay *self, const char *name) {
    plot_page *page = &self->page;
    const plot_type *type = &page->look.type;
    size_t channel = plot_group_channel(&self->group, name);
    plot_axis y = plot_group_axis(&self->group, name, plot_page_ticks_down(page, height_of(self)));
    plot_scene_open(page->scene, "panel", name);
    plot_page_panel_name(page, name, self->group.channels.items[channel].unit, NULL);
    y.to = page->y + (type->cells ? 8 : 2);
    page->y += height_of(self);
    y.from = page->y - (type->cells ? 8 : 0);
    plot_page_values(page, &y);
    draw_lines(self, name, &y);
    plot_scene_close(page->scene);
    page->y += type->cells ? 0 : 0.55 * type->line;
}

static void find_frame(overlay *self) {
    plot_page *page = &self->page;
    double widest = plot_page_name_width(page, "time min");
    for (size_t i = 0; i < self->group.name_count; i++) {
        plot_axis y = plot_group_axis(&self->group, self->group.names[i],
                                      plot_page_ticks_down(page, height_of(self)));
        widest = fmax(widest, plot_page_label_width(page, &y));
    }
    plot_page_make_gutter(page, widest);
    self->x = plot_axis_cover_time(self->group.low, self->group.high,
                                   plot_page_ticks_across(page, page->right - page->left));
    self->x.from = page->left;
    self->x.to = page->right;
}

static shot_status draw(overlay *self, const plot_look *look, plot_scene *scene) {
    const plot_shots *shots = self->group.shots;
    shot_text title = {0}, history = {0}, name = {0};
    shot_status status = shot_text_add_format(&title, "%zu shots", shots->count);
    if (status == SHOT_OK)
        status = plot_words_add_history(&shots->items[0]->head, &history);
    if (status == SHOT_OK) {
        plot_page_begin(&self->page, scene, look, title.bytes,
                        self->group.at_water ? "time 0: water enters the basket"
                                             : "time 0: the first row of each log");
        find_frame(self);
        draw_keys(self);
        for (size_t i = 0; i < self->group.name_count; i++)
            draw_panel(self, self->group.names[i]);
        status = plot_words_add_time_name(&self->x, &name);
        plot_page_bottom(&self->page, &self->x, name.bytes);
        plot_page_end(&self->page, history.bytes);
        plot_scene_describe(scene, title.bytes, "Shots over each other, a panel a channel.");
    }
    shot_text_free(&title);
    shot_text_free(&history);
    shot_text_free(&name);
    return status;
}

shot_status plot_overlay_draw(const plot_shots *shots, const shot_texts *channels,
                              const plot_look *look, plot_scene *scene, shot_error *error) {
    overlay self = {.page = {.look = *look}};
    shot_status status = plot_group_find(shots, channels, &self.group, error);
    if (status == SHOT_OK)
        status = draw(&self, look, scene);
    plot_group_free(&self.group);
    return status == SHOT_OK ? scene->status : status;
}
