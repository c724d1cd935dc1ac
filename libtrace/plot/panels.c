/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One shot as stacked panels. */
#include "plot/panels.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "plot/channels.h"
#include "plot/curve.h"
#include "plot/lanes.h"
#include "plot/legend.h"
#include "plot/words.h"

typedef struct panels {
    const shot_table *shot, *behind;
    plot_channel_list list;
    plot_page page;
    plot_axis x;
    plot_axis *y; /* [list.count] */
} panels;

/* ---- sizes ---- */

static double panel_height(const panels *self, const plot_channel *one) {
    const plot_type *type = &self->page.look.type;
    const double lines = type->cells ? 7 : self->list.count > 4 ? 5 : 6.5;
    const double full = plot_page_panel_height(&self->page, lines);
    if (one->deviation == NULL)
        return full;
    return type->cells ? ceil(0.5 * full / type->line) * type->line : 0.5 * full;
}

static void find_axes(panels *self) {
    plot_page *page = &self->page;
    double widest = plot_lanes_label_width(page, self->shot);
    for (size_t i = 0; i < self->list.count; i++) {
        plot_channel *one = &self->list.items[i];
        size_t ticks = plot_page_ticks_down(page, panel_height(self, one));
        self->y[i] = plot_channel_axis(one, self->shot, self->behind, ticks);
        widest = fmax(widest, plot_page_label_width(page, &self->y[i]));
    }
    const shot_rows *rows = &self->shot->rows;
    double low = NAN, high = NAN;
    plot_curve_reach(rows->column[0], rows->rows, &low, &high);
    plot_page_make_gutter(page, fmax(widest, plot_page_name_width(page, "time min")));
    self->x =
        plot_axis_cover_time(low, high, plot_page_ticks_across(page, page->right - page->left));
    self->x.from = page->left;
    self->x.to = page->right;
}

/* ---- one panel ---- */

static void draw_knees(panels *self, const plot_channel *one, const plot_axis *y,
                       const plot_series *series) {
    plot_scene *scene = self->page.scene;
    plot_pen pen = {PLOT_ACCENT, 1.3, PLOT_SOLID};
    for (size_t i = 0; i < self->shot->marks.count; i++) {
        const shot_mark *mark = &self->shot->marks.marks[i];
        if (strcmp(mark->kind, "knee") != 0 || mark->channel == NULL ||
            strcmp(mark->channel, one->name) != 0)
            continue;
        double place = plot_axis_clamp(y, plot_curve_at(series, mark->from));
        shot_text text = {0};
        if (plot_words_add_mark(mark, &text) != SHOT_OK)
            scene->status = SHOT_ERR_MEMORY;
        plot_scene_open(scene, "mark knee", text.bytes);
        shot_text_free(&text);
        if (isfinite(mark->from_low) && isfinite(mark->from_high))
            plot_scene_rule(scene, pen, plot_axis_clamp(&self->x, mark->from_low), place,
                            plot_axis_clamp(&self->x, mark->from_high), place);
        plot_scene_dot(scene, PLOT_RING, pen, plot_axis_place(&self->x, mark->from), place, 2.6);
        plot_scene_close(scene);
    }
}

/* The stretch of the line over which a detector found a surge in this channel, in the warm ink. */
static void draw_surges(panels *self, const plot_channel *one, const plot_axis *y,
                        const plot_series *series) {
    for (size_t i = 0; i < self->shot->marks.count; i++) {
        const shot_mark *mark = &self->shot->marks.marks[i];
        if (strcmp(mark->kind, "surge") != 0 || mark->channel == NULL ||
            strcmp(mark->channel, one->name) != 0)
            continue;
        plot_series part = {.time = series->time, .value = series->value};
        while (part.n < series->n && series->time[part.n] < mark->from)
            part.n++;
        part.time += part.n;
        part.value += part.n;
        size_t rest = series->n - part.n;
        for (part.n = 0; part.n < rest && !(part.time[part.n] > mark->to);)
            part.n++;
        plot_curve_line(self->page.scene, &self->x, y, &part,
                        (plot_pen){PLOT_ACCENT, 2.4, PLOT_SOLID}, self->page.look.pixel);
    }
}

static void draw_band(panels *self, const plot_channel *one, const plot_axis *y,
                      const plot_series *series) {
    if (one->low != NULL)
        plot_curve_band(self->page.scene, &self->x, y, series, one->low, one->high, PLOT_BAND,
                        self->page.look.pixel);
}

static const double *behind_of(const panels *self, const plot_channel *one) {
    if (self->behind == NULL || one->deviation != NULL)
        return NULL;
    return shot_table_column(self->behind, one->name);
}

static void draw_behind(panels *self, const plot_channel *one, const plot_axis *y) {
    const double *value = behind_of(self, one);
    if (value == NULL)
        return;
    plot_series series = {self->behind->rows.column[0], value, self->behind->rows.rows, 0};
    plot_scene_open(self->page.scene, "line behind", one->name);
    plot_curve_line(self->page.scene, &self->x, y, &series,
                    (plot_pen){PLOT_BEHIND, 1.2, PLOT_SOLID}, self->page.look.pixel);
    plot_scene_close(self->page.scene);
}

static bool has_values(const panels *self, const plot_channel *one) {
    const double *before = behind_of(self, one);
    double low = NAN, high = NAN;
    plot_curve_reach(one->value, self->shot->rows.rows, &low, &high);
    if (before != NULL)
        plot_curve_reach(before, self->behind->rows.rows, &low, &high);
    return !isnan(low);
}

static void draw_panel(panels *self, size_t index) {
    const plot_channel *one = &self->list.items[index];
    plot_page *page = &self->page;
    plot_axis *y = &self->y[index];
    const plot_pen pen = {PLOT_LINE, page->look.type.cells ? 3.2 : 1.5, PLOT_SOLID};
    plot_series series = {self->shot->rows.column[0], one->value, self->shot->rows.rows, 0};
    plot_scene_open(page->scene, "panel", one->label);
    bool before = one->remark == NULL && behind_of(self, one) != NULL;
    plot_page_panel_name(page, one->label, one->unit, before ? "pale: before" : one->remark);
    y->to = page->y + (page->look.type.cells ? 8 : 2);
    page->y += panel_height(self, one);
    y->from = page->y - (page->look.type.cells ? 8 : 0);
    plot_lanes_lay_under(page, &self->x, self->shot, y->to, y->from);
    if (has_values(self, one))
        plot_page_values(page, y);
    else
        plot_page_no_values(page, y->to, y->from);
    draw_band(self, one, y, &series);
    draw_behind(self, one, y);
    plot_scene_open(page->scene, "line", one->label);
    plot_curve_line(page->scene, &self->x, y, &series, pen, page->look.pixel);
    plot_scene_close(page->scene);
    draw_surges(self, one, y, &series);
    draw_knees(self, one, y, &series);
    plot_scene_close(page->scene);
    page->y += page->look.type.cells ? 0 : 0.55 * page->look.type.line;
}

/* ---- the whole ---- */

static shot_status describe(panels *self, const char *title) {
    const shot_table *shot = self->shot;
    shot_text text = {0};
    shot_status status = shot_text_add_format(
        &text, "%zu row%s over time in panels, one below the other:", shot->rows.rows,
        shot->rows.rows == 1 ? "" : "s");
    for (size_t i = 0; i < self->list.count && status == SHOT_OK; i++)
        status = plot_channel_describe(&self->list.items[i], shot->rows.rows, &text);
    for (size_t i = 0; i < shot->marks.count && status == SHOT_OK; i++) {
        status = shot_text_add(&text, " ");
        if (status == SHOT_OK)
            status = plot_words_add_mark(&shot->marks.marks[i], &text);
        if (status == SHOT_OK)
            status = shot_text_add(&text, ".");
    }
    if (status == SHOT_OK)
        plot_scene_describe(self->page.scene, title, text.bytes);
    shot_text_free(&text);
    return status;
}

static shot_status draw(panels *self, plot_scene *scene, const plot_look *look) {
    shot_text title = {0}, subtitle = {0}, history = {0}, axis = {0}, legend = {0};
    const shot_head *head = &self->shot->head;
    shot_status status = plot_words_add_title(head, &title);
    if (status == SHOT_OK && self->shot->cut)
        status = shot_text_add(&title, ", cut short");
    if (status == SHOT_OK)
        status = plot_words_add_metadata(head, &subtitle);
    if (status == SHOT_OK)
        status = plot_words_add_history(head, &history);
    if (status == SHOT_OK) {
        plot_page_begin(&self->page, scene, look, title.bytes, subtitle.bytes);
        find_axes(self);
        const bool figures = plot_lanes_draw(&self->page, &self->x, self->shot);
        if (!look->type.cells)
            status = plot_legend_write(&self->shot->marks, figures, &legend);
        for (size_t i = 0; i < self->list.count; i++)
            draw_panel(self, i);
        if (status == SHOT_OK)
            status = plot_words_add_time_name(&self->x, &axis);
        plot_page_bottom(&self->page, &self->x, axis.bytes);
        plot_page_legend(&self->page, legend.bytes);
        plot_page_end(&self->page, history.bytes);
    }
    if (status == SHOT_OK)
        status = describe(self, title.bytes);
    shot_text_free(&title);
    shot_text_free(&subtitle);
    shot_text_free(&history);
    shot_text_free(&axis);
    shot_text_free(&legend);
    return status;
}

shot_status plot_panels_draw(const shot_table *shot, const shot_table *behind,
                             const shot_texts *channels, const plot_look *look, plot_scene *scene,
                             shot_error *error) {
    panels self = {.shot = shot, .behind = behind};
    plot_look fit = *look;
    shot_status status = plot_channels_of(shot, channels, &self.list, error);
    if (status == SHOT_OK) {
        self.y = calloc(self.list.count + 1, sizeof *self.y);
        status = self.y != NULL ? SHOT_OK : SHOT_ERR_MEMORY;
    }
    if (status == SHOT_OK)
        status = draw(&self, scene, &fit);
    while (status == SHOT_OK && plot_page_shrink(&fit, scene))
        status = draw(&self, scene, &fit);
    free(self.y);
    plot_channels_free(&self.list);
    return status == SHOT_OK ? scene->status : status;
}
