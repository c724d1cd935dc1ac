/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Small multiples: a panel a shot, all to the same scale. */
#include "plot/pictures.h"

#include <math.h>

#include "plot/group.h"
#include "plot/words.h"

typedef struct multiples {
    plot_group group;
    plot_page page;
    const char *channel;
    plot_axis x, y;
    size_t across; /* panels side by side */
    double width, height, gap;
} multiples;

static size_t panels_across(const plot_page *page, size_t count) {
    double room = page->right - page->left;
    size_t most = (size_t)fmax(1, floor(room / (page->look.type.cells ? 240 : 190)));
    return count < most ? count : most;
}

static void find_frame(multiples *self) {
    plot_page *page = &self->page;
    const plot_type *type = &page->look.type;
    self->height = (type->cells ? 6 : 4.5) * type->line;
    self->y =
        plot_group_axis(&self->group, self->channel, plot_page_ticks_down(page, self->height));
    plot_page_make_gutter(page, plot_page_label_width(page, &self->y));
    self->across = panels_across(page, self->group.shots->count);
    self->gap = 1.2 * type->line;
    double gaps = (double)(self->across - 1) * self->gap;
    self->width = (page->right - page->left - gaps) / (double)self->across;
    self->x = plot_axis_cover_time(self->group.low, self->group.high,
                                   plot_page_ticks_across(page, self->width));
}

/* The panel's name is that of its shot, shortened to its width. */
static void draw_name(multiples *self, double left, const char *name) {
    plot_page *page = &self->page;
    plot_font font = plot_font_of(PLOT_TEXT, page->look.type.small, PLOT_START);
    font.bold = font.ends = true;
    plot_page_words(page, font, left, plot_page_baseline(page, page->y, font.size), self->width,
                    name);
}

/* Grid lines go from page->left to page->right, and labels stand at the first panel of a row. */
static void draw_values(multiples *self, double left, bool labelled) {
    plot_page page = self->page;
    page.left = left;
    page.right = left + self->width;
    if (labelled) {
        plot_page_values(&page, &self->y);
        return;
    }
    for (size_t i = 0; i < plot_axis_ticks(&self->y) && !page.look.type.cells; i++) {
        double value = plot_axis_tick(&self->y, i), place = plot_axis_place(&self->y, value);
        plot_scene_rule(page.scene, (plot_pen){value == 0 ? PLOT_RULE : PLOT_GRID, 1, PLOT_SOLID},
                        page.left, place, page.right, place);
    }
}

static void draw_panel(multiples *self, size_t shot, bool bottom) {
    plot_page *page = &self->page;
    const plot_type *type = &page->look.type;
    size_t column = shot % self->across;
    double left = page->left + (double)column * (self->width + self->gap);
    const char *name = self->group.shots->items[shot]->head.name;
    plot_scene_open(page->scene, "panel", name);
    draw_name(self, left, name);
    self->y.to = page->y + type->line + (type->cells ? 8 : 2);
    self->y.from = page->y + type->line + self->height - (type->cells ? 8 : 0);
    self->x.from = left;
    self->x.to = left + self->width;
    draw_values(self, left, column == 0);
    plot_group_median(&self->group, page->scene, &self->x, &self->y, self->channel,
                      (plot_pen){PLOT_BEHIND, type->cells ? 2 : 1.2, PLOT_SOLID}, page->look.pixel);
    plot_group_line(&self->group, page->scene, &self->x, &self->y, shot, self->channel,
                    (plot_pen){PLOT_LINE, type->cells ? 3.2 : 1.5, PLOT_SOLID}, page->look.pixel);
    if (bottom) {
        plot_page under = *page;
        under.left = left;
        under.right = left + self->width;
        under.y = page->y + type->line + self->height;
        plot_page_bottom(&under, &self->x, "");
    }
    plot_scene_close(page->scene);
}

/* The last panel of each column bears the axis of time. */
static void draw_panels(multiples *self) {
    size_t count = self->group.shots->count;
    double row = self->page.look.type.line * (self->page.look.type.cells ? 1 : 1.5) + self->height;
    for (size_t i = 0; i < count; i++) {
        draw_panel(self, i, i + self->across >= count);
        if ((i + 1) % self->across == 0 && i + 1 < count)
            self->page.y += row;
    }
    self->page.y += row + 1.3 * self->page.look.type.line;
}

static shot_status draw(multiples *self, const plot_look *look, plot_scene *scene) {
    size_t channel = plot_group_channel(&self->group, self->channel);
    shot_text title = {0}, subtitle = {0}, history = {0};
    shot_status status = plot_page_add_name(self->channel, &title);
    if (status == SHOT_OK)
        status = shot_text_add(&title, " of ");
    if (status == SHOT_OK)
        status = plot_words_add_count_of(self->group.shots, &title);
    if (status == SHOT_OK)
        status = shot_text_add(&subtitle, "in ");
    if (status == SHOT_OK)
        status = plot_page_add_unit(self->group.channels.items[channel].unit, &subtitle);
    if (status == SHOT_OK)
        status = shot_text_add_format(&subtitle, ", over the seconds since the %s%s",
                                      self->group.at_water ? "water came" : "first row of the log",
                                      self->group.shots->count >= 3 ? "; pale: their median" : "");
    if (status == SHOT_OK)
        status = plot_words_add_histories(self->group.shots, &history);
    if (status == SHOT_OK) {
        plot_page_begin(&self->page, scene, look, title.bytes, subtitle.bytes);
        find_frame(self);
        draw_panels(self);
        plot_page_end(&self->page, history.bytes);
        plot_scene_describe(scene, title.bytes, subtitle.bytes);
    }
    shot_text_free(&title);
    shot_text_free(&subtitle);
    shot_text_free(&history);
    return status;
}

shot_status plot_multiples_draw(const shot_table_list *shots, const shot_texts *channels,
                                const plot_look *look, plot_scene *scene, shot_error *error) {
    multiples self = {.page = {.look = *look}};
    shot_status status = plot_group_find(shots, channels, &self.group, error);
    if (status == SHOT_OK && self.group.name_count == 0)
        status = shot_fail(error, SHOT_ERR_DATA, "no shot has a channel to draw");
    if (status == SHOT_OK) {
        self.channel = self.group.names[0];
        status = draw(&self, look, scene);
    }
    plot_group_free(&self.group);
    return status == SHOT_OK ? scene->status : status;
}
