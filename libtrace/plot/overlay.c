/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Many shots over each other: all lines, their median, and the band of nine in ten. */
#include "plot/pictures.h"

#include <math.h>
#include <string.h>

#include "plot/group.h"
#include "plot/key.h"
#include "plot/words.h"

typedef struct overlay {
    plot_group group;
    plot_page page;
    plot_axis x;
} overlay;

static bool is_crowd(const overlay *self) {
    return self->group.shots->count > PLOT_KEY_FEW;
}

/* In characters a crowd of lines would leave nothing else to be seen. */
static bool shows_each(const overlay *self) {
    return !is_crowd(self) || !self->page.look.type.cells;
}

/* The edges of the band go over the lines, which would hide it where they are many. */
static plot_pen edge_pen(void) {
    return (plot_pen){PLOT_SOFT, 1.3, PLOT_DASHED};
}

static plot_pen median_pen(const overlay *self) {
    return (plot_pen){PLOT_LINE, self->page.look.type.cells ? 3.2 : 2, PLOT_SOLID};
}

static void draw_keys(overlay *self) {
    const shot_table_list *shots = self->group.shots;
    plot_key key = plot_key_begin(&self->page);
    for (size_t i = 0; i < shots->count && !is_crowd(self); i++)
        plot_key_add(&key, plot_key_pen(&self->page.look, i, shots->count),
                     shots->items[i]->head.name);
    if (is_crowd(self)) {
        plot_key_add(&key, median_pen(self), "median");
        plot_key_add(&key, shows_each(self) ? edge_pen() : (plot_pen){PLOT_BAND, 9, PLOT_SOLID},
                     "band of nine shots in ten");
        if (shows_each(self))
            plot_key_add(&key, plot_key_pen(&self->page.look, 0, shots->count), "each shot");
    }
    plot_key_end(&key);
}

/* ---- panels ---- */

static void draw_lines(overlay *self, const char *name, const plot_axis *y) {
    plot_page *page = &self->page;
    const plot_group *group = &self->group;
    const double pixel = page->look.pixel;
    if (is_crowd(self))
        plot_group_band(group, page->scene, &self->x, y, name, pixel);
    for (size_t i = 0; i < group->shots->count && shows_each(self); i++)
        plot_group_line(group, page->scene, &self->x, y, i, name,
                        plot_key_pen(&page->look, i, group->shots->count), pixel);
    if (!is_crowd(self))
        return;
    if (shows_each(self))
        plot_group_edges(group, page->scene, &self->x, y, name, edge_pen(), pixel);
    plot_group_median(group, page->scene, &self->x, y, name, median_pen(self), pixel);
}

static double height_of(const overlay *self) {
    return plot_page_panel_height(&self->page, self->group.name_count > 4 ? 6 : 7.5);
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
    const shot_table_list *shots = self->group.shots;
    shot_text title = {0}, history = {0}, name = {0};
    shot_status status = plot_words_add_count_of(shots, &title);
    if (status == SHOT_OK)
        status = plot_words_add_histories(shots, &history);
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

shot_status plot_overlay_draw(const shot_table_list *shots, const shot_texts *channels,
                              const plot_look *look, plot_scene *scene, shot_error *error) {
    overlay self = {.page = {.look = *look}};
    shot_status status = plot_group_find(shots, channels, &self.group, error);
    plot_look fit = *look;
    if (status == SHOT_OK)
        status = draw(&self, &fit, scene);
    while (status == SHOT_OK && plot_page_shrink(&fit, scene))
        status = draw(&self, &fit, scene);
    plot_group_free(&self.group);
    return status == SHOT_OK ? scene->status : status;
}
