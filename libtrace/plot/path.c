/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Pressure against flow: the path of a shot, with lines of equal hydraulic resistance. */
#include "plot/pictures.h"

#include <math.h>
#include <stdlib.h>

#include "plot/chart.h"
#include "plot/curve.h"
#include "plot/key.h"
#include "plot/labels.h"
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

/* A line p = r q from the origin to where it leaves the chart, and its name there: above it, but
 * for one that leaves beside the top, where words would run into those over the chart. */
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
    plot_chart_line(chart, (plot_pen){PLOT_BEHIND, 1, PLOT_DOTTED}, xy, 2);
    const double y = plot_chart_y(chart, p);
    const bool below = !top && y - 5 - type->small < chart->y.to;
    plot_page_words(page, plot_font_of(PLOT_SOFT, type->small, PLOT_END),
                    plot_chart_x(chart, q) - (top ? 6 : 4),
                    y + (top     ? 0.9 * type->small
                         : below ? 1.7 * type->small
                                 : -5),
                    100, text.bytes);
    plot_scene_close(page->scene);
    shot_text_free(&text);
}

/* How many are drawn. */
static size_t draw_rays(plot_chart *chart) {
    size_t count = 0;
    static const double steps[] = {0.5, 1, 2, 4, 8, 16, 32};
    double across = chart->x.to - chart->x.from, up = chart->y.from - chart->y.to;
    for (size_t i = 0; i < sizeof steps / sizeof *steps; i++) {
        double slope = steps[i] * (chart->x.high / across) / (chart->y.high / up);
        if (!(slope > 0.12 && slope < 12)) /* along an axis */
            continue;
        draw_ray(chart, steps[i]);
        count++;
    }
    return count;
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

/* A time on the path. */
typedef struct stop {
    double time, x, y;
} stop;

/* The line from a dot to a label that does not stand beside it. */
typedef struct leader {
    double x, y, to_x, to_y, length;
} leader;

static leader leader_to(const stop *one, const plot_box *box) {
    leader out = {one->x, one->y, fmax(box->left, fmin(one->x, box->right)),
                  fmax(box->top, fmin(one->y, box->bottom)), 0};
    out.length = hypot(out.to_x - out.x, out.to_y - out.y);
    return out;
}

static bool is_needed(const leader *line) {
    return line->length > 10;
}

/* Does it run through another dot or label?  The last label is its own. */
static bool is_crossed(const leader *line, const plot_labels *labels) {
    for (double at = 0; at < line->length; at += 2) {
        const double x = line->x + at / line->length * (line->to_x - line->x);
        const double y = line->y + at / line->length * (line->to_y - line->y);
        for (size_t i = labels->soft; i + 1 < labels->count; i++) {
            const plot_box *box = &labels->taken[i];
            const bool own = plot_box_holds(box, line->x, line->y);
            if (!own && plot_box_holds(box, x, y))
                return true;
        }
    }
    return false;
}

static void draw_leader(plot_page *page, const leader *line) {
    const double start = 4 / line->length; /* outside of the ring */
    plot_scene_rule(page->scene, (plot_pen){PLOT_ACCENT, 0.8, PLOT_SOLID},
                    line->x + start * (line->to_x - line->x),
                    line->y + start * (line->to_y - line->y), line->to_x, line->to_y);
}

/* A place for a label that is seen to belong to its dot. */
static shot_status find_label(const stop *one, const plot_box *bounds, double width, double height,
                              plot_labels *labels, plot_box *box, bool *found) {
    const plot_label label = {one->x, one->y, width, height};
    SHOT_TRY(plot_labels_place(labels, bounds, &label, box, found));
    if (!*found)
        return SHOT_OK;
    const leader line = leader_to(one, box);
    *found = !is_needed(&line) || !is_crossed(&line, labels);
    labels->count -= !*found;
    return SHOT_OK;
}

/* A dot at each, and its time where there is room beside it. */
static shot_status draw_stop(plot_chart *chart, const stop *one, plot_labels *labels) {
    plot_page *page = &chart->page;
    const plot_type *type = &page->look.type;
    const plot_box bounds = {page->left, chart->y.to + 1.4 * type->small, page->right,
                             chart->y.from}; /* at the top the lines have their names */
    shot_text text = {0};
    plot_box box;
    bool found = false;
    shot_status status = plot_words_add_figure(&text, one->time, "s");
    if (status == SHOT_OK)
        status = find_label(one, &bounds, plot_glyphs_width(type, text.bytes, type->small, false),
                            type->small, labels, &box, &found);
    if (status == SHOT_OK) {
        plot_scene_open(page->scene, "mark time", text.bytes);
        plot_scene_dot(page->scene, PLOT_RING, (plot_pen){PLOT_ACCENT, 1.4, PLOT_SOLID}, one->x,
                       one->y, 3);
        if (found) {
            const leader line = leader_to(one, &box);
            if (is_needed(&line) && !type->cells)
                draw_leader(page, &line);
            plot_page_words(page, plot_font_of(PLOT_ACCENT, type->small, PLOT_START), box.left,
                            box.bottom - 0.14 * type->small, 100, text.bytes);
        }
        plot_scene_close(page->scene);
    }
    shot_text_free(&text);
    return status;
}

/* The stops of the path every `step` seconds; `stops` has room for all. */
static size_t find_stops(const plot_chart *chart, const path *one, double step, stop *stops) {
    const double *time = one->shot->rows.column[0];
    size_t rows = one->shot->rows.rows, count = 0;
    plot_series p = {time, one->pressure, rows, 0}, q = {time, one->flow, rows, 0};
    const double first = ceil(time[0] / step);
    for (size_t i = 0; (first + (double)i) * step <= time[rows - 1]; i++) {
        const double t = (first + (double)i) * step;
        const stop at = {t, plot_chart_x(chart, plot_curve_at(&q, t)),
                         plot_chart_y(chart, plot_curve_at(&p, t))};
        if (isfinite(at.x) && isfinite(at.y))
            stops[count++] = at;
    }
    return count;
}

enum { MOST_OF_LINE = 20000 }; /* boxes: a line that needs more leaves no room beside it */

/* Keep labels off the line: every few units along it, so that none passes between. */
static shot_status keep_line_free(const plot_chart *chart, const path *one, plot_labels *labels) {
    static const double step = 4;
    double x = NAN, y = NAN;
    for (size_t i = 0; i < one->shot->rows.rows && labels->count < MOST_OF_LINE; i++) {
        const double next_x = plot_chart_x(chart, one->flow[i]);
        const double next_y = plot_chart_y(chart, one->pressure[i]);
        if (!isfinite(next_x) || !isfinite(next_y))
            continue;
        const double length = isnan(x) ? step : hypot(next_x - x, next_y - y);
        if (length < step)
            continue;
        const double pieces = isnan(x) ? 1 : fmin(ceil(length / step), MOST_OF_LINE);
        for (double piece = 1; piece <= pieces; piece++) {
            const double left = 1 - piece / pieces; /* 0 at the end, also where no start is */
            const double back_x = left > 0 ? left * (next_x - x) : 0;
            const double back_y = left > 0 ? left * (next_y - y) : 0;
            SHOT_TRY(plot_labels_keep_free(labels, next_x - back_x, next_y - back_y, 2));
        }
        x = next_x;
        y = next_y;
    }
    plot_labels_harden(labels);
    return SHOT_OK;
}

static shot_status draw_times(plot_chart *chart, const path *one) {
    const double *time = one->shot->rows.column[0];
    const double span = time[one->shot->rows.rows - 1] - time[0];
    const double step = span > 300 ? span / 10 : 5;
    plot_labels labels = {0};
    stop *stops = malloc(((size_t)(span / step) + 2) * sizeof *stops);
    if (stops == NULL)
        return SHOT_ERR_MEMORY;
    const size_t count = find_stops(chart, one, step, stops);
    shot_status status = keep_line_free(chart, one, &labels);
    for (size_t i = 0; i < count && status == SHOT_OK; i++)
        status = plot_labels_keep_free(&labels, stops[i].x, stops[i].y, 4);
    for (size_t i = 0; i < count && status == SHOT_OK; i++)
        status = draw_stop(chart, &stops[i], &labels);
    plot_labels_free(&labels);
    free(stops);
    return status;
}

/* ---- the whole ---- */

static bool is_path(const path *one) {
    return one->pressure != NULL && one->flow != NULL && one->shot->rows.rows > 0;
}

static size_t count_paths(const shot_table_list *shots, plot_chart_side *across,
                          plot_chart_side *values) {
    size_t count = 0;
    for (size_t i = 0; i < shots->count; i++) {
        const path one = path_of(shots->items[i]);
        if (!is_path(&one))
            continue;
        count++;
        plot_curve_reach(one.flow, one.shot->rows.rows, &across->low, &across->high);
        plot_curve_reach(one.pressure, one.shot->rows.rows, &values->low, &values->high);
    }
    return count;
}

static void draw_keys(plot_page *page, const shot_table_list *shots, size_t count) {
    if (count == 1 || count > PLOT_KEY_FEW)
        return;
    plot_key key = plot_key_begin(page);
    for (size_t i = 0, k = 0; i < shots->count; i++) {
        const path one = path_of(shots->items[i]);
        if (is_path(&one))
            plot_key_add(&key, plot_key_pen(&page->look, k++, count), one.shot->head.name);
    }
    plot_key_end(&key);
}

static shot_status draw_paths(plot_chart *chart, const shot_table_list *shots, size_t count) {
    size_t k = 0;
    for (size_t i = 0; i < shots->count; i++) {
        const path one = path_of(shots->items[i]);
        if (!is_path(&one))
            continue;
        draw_path(chart, &one, plot_key_pen(&chart->page.look, k++, count));
        if (count == 1)
            SHOT_TRY(draw_times(chart, &one));
    }
    return SHOT_OK;
}

static shot_status draw(plot_chart *chart, const shot_table_list *shots, size_t count,
                        const plot_chart_side *across, const plot_chart_side *values) {
    const double height = 22; /* lines of text */
    plot_page *page = &chart->page;
    const plot_type *type = &page->look.type;
    draw_keys(page, shots, count);
    const double top = page->y;
    const double name = plot_glyphs_width(type, values->name, type->text, true) +
                        plot_glyphs_width(type, values->unit, type->text, false) + 2 * type->line;
    plot_chart_panel(chart, across, values, height, NULL, true);
    if (draw_rays(chart) > 0)
        plot_page_words(page, plot_font_of(PLOT_SOFT, type->small, PLOT_END), page->right,
                        plot_page_baseline(page, top, type->text), page->right - page->left - name,
                        "dotted: equal hydraulic resistance, in bar\xc2\xb7s/ml");
    return draw_paths(chart, shots, count);
}

/* The first shot that has a path; there is one. */
static const shot_table *first_path(const shot_table_list *shots) {
    size_t i = 0;
    while (i + 1 < shots->count) {
        const path one = path_of(shots->items[i]);
        if (is_path(&one))
            break;
        i++;
    }
    return shots->items[i];
}

shot_status plot_path_draw(const shot_table_list *shots, const plot_look *look, plot_scene *scene,
                           shot_error *error) {
    plot_chart_side across = {.name = "flow", .unit = "ml/s", .low = 0, .high = 0};
    plot_chart_side values = {.name = "pressure", .unit = "bar", .low = 0, .high = 0};
    size_t count = count_paths(shots, &across, &values);
    if (count == 0)
        return shot_fail(error, SHOT_ERR_DATA, "no shot has both pressure and flow");
    plot_chart chart;
    shot_text title = {0}, history = {0};
    shot_status status = count == 1 ? plot_words_add_title(&first_path(shots)->head, &title)
                                    : plot_words_add_count(&title, count);
    if (status == SHOT_OK)
        status = plot_words_add_histories(shots, &history);
    if (status == SHOT_OK) {
        plot_chart_open(&chart, scene, look, title.bytes,
                        count > PLOT_KEY_FEW ? "each line is a shot" : NULL, &values, 22);
        status = draw(&chart, shots, count, &across, &values);
        plot_chart_end(&chart, history.bytes);
        plot_scene_describe(scene, title.bytes,
                            "Pressure against flow, with lines of equal hydraulic resistance.");
    }
    shot_text_free(&title);
    shot_text_free(&history);
    return status == SHOT_OK ? scene->status : status;
}
