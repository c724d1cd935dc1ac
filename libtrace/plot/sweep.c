/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A sweep: its shots, the fitted curve, and the peak with its interval. */
#include "plot/pictures.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "plot/chart.h"
#include "plot/curve.h"
#include "plot/words.h"

/* The rows of one part (point, mean, curve, peak) of the table. */
typedef struct sweep_table {
    const plot_csv *csv;
    size_t part, x, y, low, high, level, label, unit;
} sweep_table;

static bool is_part(const sweep_table *self, size_t row, const char *part) {
    return strcmp(plot_csv_text(self->csv, row, self->part), part) == 0;
}

static size_t row_of(const sweep_table *self, const char *part) {
    size_t row = 0;
    while (row < self->csv->rows && !is_part(self, row, part))
        row++;
    return row;
}

static plot_chart_side side_of(const sweep_table *self, const char *part, size_t column) {
    plot_chart_side side = {.name = "", .unit = "", .low = NAN, .high = NAN};
    size_t row = row_of(self, part);
    if (row < self->csv->rows) {
        side.name = plot_csv_text(self->csv, row, self->label);
        side.unit = plot_csv_text(self->csv, row, self->unit);
    }
    for (size_t i = 0; i < self->csv->rows; i++) {
        double value = plot_csv_number(self->csv, i, column);
        plot_curve_reach(&value, 1, &side.low, &side.high);
    }
    return side;
}

static void draw_curve(const sweep_table *self, plot_chart *chart) {
    double *xy = malloc((2 * self->csv->rows + 1) * sizeof *xy);
    size_t n = 0;
    if (xy == NULL) {
        chart->page.scene->status = SHOT_ERR_MEMORY;
        return;
    }
    for (size_t i = 0; i < self->csv->rows; i++) {
        if (!is_part(self, i, "curve"))
            continue;
        xy[2 * n] = plot_csv_number(self->csv, i, self->x);
        xy[2 * n++ + 1] = plot_csv_number(self->csv, i, self->y);
    }
    plot_scene_open(chart->page.scene, "line curve", "fitted parabola");
    plot_chart_line(
        chart, (plot_pen){PLOT_LINE, chart->page.look.type.cells ? 3.2 : 1.8, PLOT_SOLID}, xy, n);
    plot_scene_close(chart->page.scene);
    free(xy);
}

static void draw_points(const sweep_table *self, plot_chart *chart) {
    plot_scene *scene = chart->page.scene;
    for (size_t i = 0; i < self->csv->rows; i++) {
        bool mean = is_part(self, i, "mean");
        if (!mean && !is_part(self, i, "point"))
            continue;
        double x = plot_chart_x(chart, plot_csv_number(self->csv, i, self->x));
        double y = plot_chart_y(chart, plot_csv_number(self->csv, i, self->y));
        plot_scene_open(scene, mean ? "mark mean" : "mark point",
                        plot_csv_text(self->csv, i, self->label));
        if (mean)
            plot_scene_rule(scene, (plot_pen){PLOT_LINE, 1.5, PLOT_SOLID}, x - 8, y, x + 8, y);
        else
            plot_scene_dot(scene, PLOT_RING, (plot_pen){PLOT_LINE, 1.3, PLOT_SOLID}, x, y,
                           chart->page.look.type.cells ? 4 : 3.2);
        plot_scene_close(scene);
    }
}

/* The middle of a column of dots, of which a character has two. */
static double dot_column(double x) {
    return 4 * floor(x / 4) + 2;
}

/* In characters no tint shows through: dashes for the place, and the interval as a bar at its foot.
 */
static void draw_place_in_cells(plot_chart *chart, double x, double low, double high) {
    plot_scene *scene = chart->page.scene;
    const plot_pen bar = {PLOT_ACCENT, 3, PLOT_SOLID};
    const double foot = chart->y.from, column = dot_column(x);
    for (double y = chart->y.to; y < foot - 8 && !isnan(x); y += 16)
        plot_scene_rule(scene, bar, column, y, column, y + 8);
    plot_scene_rule(scene, bar, low, foot - 2, high, foot - 2);
    plot_scene_rule(scene, bar, dot_column(low), foot - 14, dot_column(low), foot);
    plot_scene_rule(scene, bar, dot_column(high), foot - 14, dot_column(high), foot);
}

/* Drawn before the points: the interval as a tint over the whole height, the place as a line where
 * it is known. */
static void draw_place(plot_chart *chart, double x, double low, double high) {
    plot_scene *scene = chart->page.scene;
    if (chart->page.look.type.cells) {
        draw_place_in_cells(chart, x, low, high);
        return;
    }
    plot_scene_box(scene, PLOT_ACCENT_TINT, low, chart->y.to, high - low,
                   chart->y.from - chart->y.to);
    if (!isnan(x))
        plot_scene_rule(scene, (plot_pen){PLOT_ACCENT, 1.5, PLOT_SOLID}, x, chart->y.to, x,
                        chart->y.from);
}

static void draw_peak(const sweep_table *self, plot_chart *chart, shot_text *says) {
    plot_scene *scene = chart->page.scene;
    size_t row = row_of(self, "peak");
    if (row == self->csv->rows) {
        scene->status = shot_text_add(says, "no peak inside the sweep is shown");
        return;
    }
    double place = plot_csv_number(self->csv, row, self->x);
    double low = plot_csv_number(self->csv, row, self->low);
    double high = plot_csv_number(self->csv, row, self->high);
    const char *unit = plot_csv_text(self->csv, row, self->unit);
    /* without a curve that fits there is no height, and the highest setting is no place of a peak
     */
    const bool fits = isfinite(plot_csv_number(self->csv, row, self->y));
    shot_status status =
        shot_text_add(says, fits ? "peak at " : "a peak inside the sweep, highest setting ");
    if (status == SHOT_OK)
        status = plot_words_add_figure(says, place, unit);
    if (status == SHOT_OK)
        status = shot_text_add_format(says, ", %g %% interval ",
                                      100 * plot_csv_number(self->csv, row, self->level));
    if (status == SHOT_OK)
        status = plot_words_add_figure(says, low, "");
    if (status == SHOT_OK)
        status = shot_text_add(says, " to ");
    if (status == SHOT_OK)
        status = plot_words_add_figure(says, high, unit);
    if (status != SHOT_OK)
        scene->status = status;
    plot_scene_open(scene, "mark peak", says->bytes);
    draw_place(chart, fits ? plot_chart_x(chart, place) : NAN, plot_chart_x(chart, low),
               plot_chart_x(chart, high));
    plot_scene_close(scene);
}

/* What the signs mean that are drawn. */
static shot_status add_signs(const sweep_table *self, shot_text *text) {
    const size_t less = row_of(self, "less");
    SHOT_TRY(shot_text_add(text, "rings: shots"));
    if (less < self->csv->rows)
        SHOT_TRY(shot_text_add_format(text, ", less what their %s adds",
                                      plot_csv_text(self->csv, less, self->label)));
    SHOT_TRY(shot_text_add(text, "; dashes: mean of each setting"));
    if (row_of(self, "curve") < self->csv->rows)
        SHOT_TRY(shot_text_add(text, "; curve: the parabola through them"));
    return row_of(self, "peak") < self->csv->rows
               ? shot_text_add(text, "; tint: where the peak may lie")
               : SHOT_OK;
}

shot_status plot_sweep_draw(const plot_csv *csv, const plot_look *look, plot_scene *scene,
                            shot_error *error) {
    sweep_table self = {.csv = csv,
                        .part = plot_csv_column(csv, "part"),
                        .x = plot_csv_column(csv, "x"),
                        .y = plot_csv_column(csv, "y"),
                        .low = plot_csv_column(csv, "low"),
                        .high = plot_csv_column(csv, "high"),
                        .level = plot_csv_column(csv, "level"),
                        .label = plot_csv_column(csv, "label"),
                        .unit = plot_csv_column(csv, "unit")};
    if (row_of(&self, "point") == csv->rows)
        return shot_fail(error, SHOT_ERR_DATA, "the sweep has no shots to draw");
    plot_chart_side across = side_of(&self, "axis.x", self.x);
    plot_chart_side values = side_of(&self, "axis.y", self.y);
    plot_chart chart;
    shot_text title = {0}, says = {0}, signs = {0};
    shot_status status = shot_text_add_format(&title, "%s against %s", values.name, across.name);
    if (status == SHOT_OK)
        status = add_signs(&self, &signs);
    if (status == SHOT_OK) {
        plot_chart_begin(&chart, scene, look, title.bytes, look->type.cells ? NULL : signs.bytes,
                         &across, &values, 20);
        draw_peak(&self, &chart, &says);
        draw_curve(&self, &chart);
        draw_points(&self, &chart);
        plot_chart_end(&chart, says.bytes);
        plot_scene_describe(scene, title.bytes, says.bytes);
    }
    shot_text_free(&title);
    shot_text_free(&says);
    shot_text_free(&signs);
    return status == SHOT_OK ? scene->status : status;
}
