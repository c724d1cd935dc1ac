/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Pressure against flow: the path of a shot, with lines of equal hydraulic resistance. */
#include "plot/pictures.h"

#include <math.h>
#include <stdlib.h>

#include "plot/chart.h"
#include "plot/curve.h"
#include "plot/words.h"

/* Pressure and flow of a shot at the same times, [rows]. */
typedef struct path {
    const shot_table *shot;
    const double *pressure, *flow;
} path;

static path path_of(const shot_table *shot) {
    return (path){shot, shot_table_column(shot, "pressure"), shot_table_column(shot, "flow")};
}

/* ---- the rays ---- */

/* A line p = r q from the origin to where it leaves the chart, and its name there. */
static void draw_ray(plot_chart *chart, double resistance) {
    plot_page *page = &chart->page;
    const plot_type *type = &page->look.type;
    double q = chart->x.high, p = resistance * q;
    bool top = p > chart->y.high;
    if (top) {
        p = chart->y.high;
        q = p / resistance;
    }
    const double xy[] = {0, 0, q, p};
    shot_text text = {0};
    if (plot_words_add_figure(&text, resistance, "") != SHOT_OK)
        page->scene->status = SHOT_ERR_MEMORY;
    plot_scene_open(page->scene, "line resistance", text.bytes);
    plot_chart_line(chart, (plot_pen){PLOT_BEHIND, 1, PLOT_DASHED}, xy, 2);
    plot_page_words(page, plot_page_font(page, PLOT_SOFT, type->small, PLOT_END),
                    plot_chart_x(chart, q) - (top ? 6 : 4),
                    plot_chart_y(chart, p) + (top ? 0.9 * type->small : -5), 100, text.bytes);
    plot_scene_close(page->scene);
    shot_text_free(&text);
}

static void draw_rays(plot_chart *chart) {
    static const double steps[] = {0.5, 1, 2, 4, 8, 16, 32};
    double across = chart->x.to - chart->x.from, up = chart->y.from - chart->y.to;
    for (size_t i = 0; i < sizeof steps / sizeof *steps; i++) {
        double slope = steps[i] * (chart->x.high / across) / (chart->y.high / up);
        if (slope > 0.12 && slope < 12) /* neither along an axis */
            draw_ray(chart, steps[i]);
    }
}

/* ---- the path ---- */

static void draw_path(plot_chart *chart, const path *one, plot_pen pen) {
    size_t rows = one->shot->rows.rows;
    double *xy = malloc((2 * rows + 1) * sizeof *xy);
    size_t n = 0;
    if (xy == NULL) {
        chart->page.scene->status = SHOT_ERR_MEMORY;
        return;
    }
    for (size_t i = 0; i < rows; i++) /* rows that lack either are stepped over */
        if (isfinite(one->flow[i]) && isfinite(one->pressure[i])) {
            xy[2 * n] = one->flow[i];
            xy[2 * n++ + 1] = one->pressure[i];
        }
    plot_scene_open(chart->page.scene, "line", one->shot->head.name);
    plot_chart_line(chart, pen, xy, n);
    plot_scene_close(chart->page.scene);
    free(xy);
}

/* The places of the labels so far: one too near to another is left out, and so are those that come
 * when the page is full of them. */
typedef struct label_places {
    double xy[64][2];
    size_t count;
} label_places;

static bool has_room(label_places *self, double x, double y, double distance) {
    for (size_t i = 0; i < self->count; i++)
        if (hypot(x - self->xy[i][0], y - self->xy[i][1]) < distance)
            return false;
    if (self->count == sizeof self->xy / sizeof *self->xy)
        return false;
    self->xy[self->count][0] = x;
    self->xy[self->count++][1] = y;
    return true;
}

static void draw_time(plot_chart *chart, double t, double x, double y, label_places *places) {
    plot_page *page = &chart->page;
    const plot_type *type = &page->look.type;
    bool near_top = y - chart->y.to < 2 * type->line; /* where the lines have their names */
    shot_text text = {0};
    if (plot_words_add_figure(&text, t, "s") != SHOT_OK)
        page->scene->status = SHOT_ERR_MEMORY;
    plot_scene_open(page->scene, "mark time", text.bytes);
    plot_scene_dot(page->scene, PLOT_RING, (plot_pen){PLOT_ACCENT, 1.4, PLOT_SOLID}, x, y, 3);
    if (has_room(places, x, y, 2 * type->line))
        plot_page_words(page, plot_page_font(page, PLOT_ACCENT, type->small, PLOT_START), x + 7,
                        near_top ? y + type->small + 4 : y - 5, 100, text.bytes);
    plot_scene_close(page->scene);
    shot_text_free(&text);
}

/* A dot with its time on the path every `step` seconds. */
static void draw_times(plot_chart *chart, const path *one, double step) {
    const double *time = one->shot->rows.column[0];
    size_t rows = one->shot->rows.rows;
    plot_series p = {time, one->pressure, rows, 0}, q = {time, one->flow, rows, 0};
    label_places places = {.count = 0};
    double first = ceil(time[0] / step);
    for (size_t i = 0; (first + (double)i) * step <= time[rows - 1]; i++) {
        double t = (first + (double)i) * step;
        double x = plot_chart_x(chart, plot_curve_at(&q, t));
        double y = plot_chart_y(chart, plot_curve_at(&p, t));
        if (isfinite(x) && isfinite(y))
            draw_time(chart, t, x, y, &places);
    }
}

/* ---- the whole ---- */

static size_t count_paths(const plot_shots *shots, plot_chart_side *across,
                          plot_chart_side *values) {
    size_t count = 0;
    for (size_t i = 0; i < shots->count; i++) {
        path one = path_of(shots->items[i]);
        if (one.pressure == NULL || one.flow == NULL || one.shot->rows.rows == 0)
            continue;
        count++;
        plot_curve_reach(one.flow, one.shot->rows.rows, &across->low, &across->high);
        plot_curve_reach(one.pressure, one.shot->rows.rows, &values->low, &values->high);
    }
    return count;
}

static void draw_paths(plot_chart *chart, const plot_shots *shots, size_t count) {
    double line = chart->page.look.type.cells ? 3.2 : 1.4;
    for (size_t i = 0; i < shots->count; i++) {
        path one = path_of(shots->items[i]);
        if (one.pressure == NULL || one.flow == NULL || one.shot->rows.rows == 0)
            continue;
        plot_pen pen = {count > 4 ? PLOT_BEHIND : PLOT_LINE, line, (plot_dash)(i % 3)};
        draw_path(chart, &one, pen);
        if (count == 1) {
            const double *time = one.shot->rows.column[0];
            double span = time[one.shot->rows.rows - 1] - time[0];
            draw_times(chart, &one, span > 300 ? span / 10 : 5);
        }
    }
}

shot_status plot_path_draw(const plot_shots *shots, const plot_look *look, plot_scene *scene,
                           shot_error *error) {
    plot_chart_side across = {.name = "flow", .unit = "ml/s", .low = 0, .high = 0};
    plot_chart_side values = {.name = "pressure", .unit = "bar", .low = 0, .high = 0};
    size_t count = count_paths(shots, &across, &values);
    if (count == 0)
        return shot_fail(error, SHOT_ERR_DATA, "no shot has both pressure and flow");
    plot_chart chart;
    shot_text title = {0}, history = {0};
    shot_status status = count == 1 ? plot_words_add_title(&shots->items[0]->head, &title)
                                    : shot_text_add_format(&title, "%zu shots", count);
    if (status == SHOT_OK)
        status = plot_words_add_history(&shots->items[0]->head, &history);
    if (status == SHOT_OK) {
        plot_chart_begin(&chart, scene, look, title.bytes,
                         "dashed: equal hydraulic resistance, in bar\xc2\xb7s/ml", &across, &values,
                         22);
        draw_rays(&chart);
        draw_paths(&chart, shots, count);
        plot_chart_end(&chart, history.bytes);
        plot_scene_describe(scene, title.bytes,
                            "Pressure against flow, with lines of equal hydraulic resistance.");
    }
    shot_text_free(&title);
    shot_text_free(&history);
    return status == SHOT_OK ? scene->status : status;
}
