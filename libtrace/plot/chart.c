/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One panel with an axis across and one of values. */
#include "plot/chart.h"

#include <math.h>
#include <stdlib.h>

static plot_axis cover(const plot_chart_side *side, size_t ticks) {
    plot_axis axis = side->logarithmic ? plot_axis_cover_log(side->low, side->high, ticks)
                                       : plot_axis_cover(side->low, side->high, ticks, false);
    if (side->whole)
        axis.step = ceil(axis.step - 1e-9);
    double span = axis.high - axis.low;
    if (!side->logarithmic && isfinite(span)) { /* nothing at the very edge */
        axis.low -= axis.low == 0 ? 0 : 0.04 * span;
        axis.high += axis.high == 0 ? 0 : 0.06 * span;
    }
    return axis;
}

static shot_status add_across_name(const plot_chart_side *across, shot_text *text) {
    SHOT_TRY(plot_page_add_name(across->name, text));
    if (across->unit[0] == '\0')
        return SHOT_OK;
    SHOT_TRY(shot_text_add(text, " ["));
    SHOT_TRY(plot_page_add_unit(across->unit, text));
    return shot_text_add(text, "]");
}

/* The name of the axis across stands under its right end: it may be long. */
static void name_across(plot_chart *chart, const plot_chart_side *across) {
    plot_page *page = &chart->page;
    const plot_type *type = &page->look.type;
    shot_text text = {0};
    if (add_across_name(across, &text) != SHOT_OK)
        page->scene->status = SHOT_ERR_MEMORY;
    else if (text.length > 0)
        plot_page_words(page, plot_font_of(PLOT_TEXT, type->text, PLOT_END), page->right,
                        plot_page_baseline(page, page->y, type->text), page->right - page->left,
                        text.bytes);
    page->y += type->line;
    shot_text_free(&text);
}

void plot_chart_panel(plot_chart *chart, const plot_chart_side *across,
                      const plot_chart_side *values, double height, const char *remark,
                      bool bottom) {
    plot_page *page = &chart->page;
    const plot_type *type = &page->look.type;
    height *= type->line;
    chart->y = cover(values, plot_page_ticks_down(page, height));
    chart->x = cover(across, plot_page_ticks_across(page, page->right - page->left));
    chart->x.from = page->left;
    chart->x.to = page->right;
    plot_scene_open(page->scene, "panel", values->name);
    plot_page_panel_name(page, values->name, values->unit, remark);
    chart->y.to = page->y + (type->cells ? 8 : 2);
    page->y += height;
    chart->y.from = page->y - (type->cells ? 8 : 0);
    plot_page_values(page, &chart->y);
    if (bottom) {
        plot_page_bottom(page, &chart->x, "");
        name_across(chart, across);
    }
    plot_scene_close(page->scene);
}

void plot_chart_open(plot_chart *chart, plot_scene *scene, const plot_look *look, const char *title,
                     const char *subtitle, const plot_chart_side *values, double height) {
    plot_page_begin(&chart->page, scene, look, title, subtitle);
    plot_axis y = cover(values, plot_page_ticks_down(&chart->page, height * look->type.line));
    plot_page_make_gutter(&chart->page, plot_page_label_width(&chart->page, &y));
}

void plot_chart_begin(plot_chart *chart, plot_scene *scene, const plot_look *look,
                      const char *title, const char *subtitle, const plot_chart_side *across,
                      const plot_chart_side *values, double height) {
    plot_chart_open(chart, scene, look, title, subtitle, values, height);
    plot_chart_panel(chart, across, values, height, NULL, true);
}

void plot_chart_end(plot_chart *chart, const char *words) {
    plot_page_end(&chart->page, words);
}

double plot_chart_x(const plot_chart *chart, double value) {
    return plot_axis_clamp(&chart->x, value);
}

double plot_chart_y(const plot_chart *chart, double value) {
    return plot_axis_clamp(&chart->y, value);
}

void plot_chart_line(plot_chart *chart, plot_pen pen, const double *xy, size_t n) {
    double *places = malloc((2 * n + 1) * sizeof *places);
    if (places == NULL) {
        chart->page.scene->status = SHOT_ERR_MEMORY;
        return;
    }
    size_t count = 0;
    for (size_t i = 0; i <= n; i++) {
        bool there = i < n && isfinite(xy[2 * i]) && isfinite(xy[2 * i + 1]);
        if (there) {
            places[2 * count] = plot_chart_x(chart, xy[2 * i]);
            places[2 * count++ + 1] = plot_chart_y(chart, xy[2 * i + 1]);
        } else if (count > 0) {
            plot_scene_path(chart->page.scene, pen, places, count);
            count = 0;
        }
    }
    free(places);
}
