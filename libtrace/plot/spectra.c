/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Spectra: power against frequency with the continuum under it, a panel for each shot and channel.
 */
#include "plot/pictures.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "plot/chart.h"
#include "plot/curve.h"
#include "plot/words.h"

/* Bins whose chance of so much power, were there no ripple, is below this are marked. */
static const double alarm = 0.001;

typedef struct spectrum_table {
    const plot_csv *csv;
    size_t shot, channel, frequency, power, unit, continuum, chance;
} spectrum_table;

/* The rows of one spectrum: from `first` on, before `end`. */
typedef struct spectrum {
    size_t first, end;
} spectrum;

static bool same(const spectrum_table *self, size_t a, size_t b) {
    return strcmp(plot_csv_text(self->csv, a, self->shot),
                  plot_csv_text(self->csv, b, self->shot)) == 0 &&
           strcmp(plot_csv_text(self->csv, a, self->channel),
                  plot_csv_text(self->csv, b, self->channel)) == 0;
}

static spectrum next_of(const spectrum_table *self, size_t first) {
    spectrum one = {first, first};
    while (one.end < self->csv->rows && same(self, first, one.end))
        one.end++;
    return one;
}

static void reach(const spectrum_table *self, spectrum one, size_t column, double *low,
                  double *high) {
    for (size_t i = one.first; i < one.end; i++) {
        double value = plot_csv_number(self->csv, i, column);
        if (value > 0)
            plot_curve_reach(&value, 1, low, high);
    }
}

/* All spectra of one unit share their scale, so that panels can be compared. */
static void reach_alike(const spectrum_table *self, const char *unit, double *low, double *high) {
    for (spectrum one = next_of(self, 0); one.first < self->csv->rows;
         one = next_of(self, one.end)) {
        if (strcmp(plot_csv_text(self->csv, one.first, self->unit), unit) != 0)
            continue;
        reach(self, one, self->power, low, high);
        reach(self, one, self->continuum, low, high);
    }
}

static void draw_column(const spectrum_table *self, spectrum one, plot_chart *chart, size_t column,
                        plot_pen pen) {
    double *xy = malloc((2 * (one.end - one.first) + 1) * sizeof *xy);
    if (xy == NULL) {
        chart->page.scene->status = SHOT_ERR_MEMORY;
        return;
    }
    for (size_t i = one.first; i < one.end; i++) {
        double power = plot_csv_number(self->csv, i, column);
        xy[2 * (i - one.first)] = plot_csv_number(self->csv, i, self->frequency);
        xy[2 * (i - one.first) + 1] = power > 0 ? power : NAN;
    }
    plot_chart_line(chart, pen, xy, one.end - one.first);
    free(xy);
}

static bool is_peak(const spectrum_table *self, spectrum one, size_t i) {
    double power = plot_csv_number(self->csv, i, self->power);
    return plot_csv_number(self->csv, i, self->chance) <= alarm &&
           !(i > one.first && plot_csv_number(self->csv, i - 1, self->power) > power) &&
           !(i + 1 < one.end && plot_csv_number(self->csv, i + 1, self->power) > power);
}

static void draw_peaks(const spectrum_table *self, spectrum one, plot_chart *chart) {
    const plot_type *type = &chart->page.look.type;
    plot_scene *scene = chart->page.scene;
    for (size_t i = one.first; i < one.end; i++) {
        if (!is_peak(self, one, i))
            continue;
        double frequency = plot_csv_number(self->csv, i, self->frequency);
        double x = plot_chart_x(chart, frequency);
        double y = plot_chart_y(chart, plot_csv_number(self->csv, i, self->power));
        shot_text text = {0};
        if (plot_words_add_figure(&text, frequency, "Hz") != SHOT_OK)
            scene->status = SHOT_ERR_MEMORY;
        bool left = x > chart->page.right - 5 * type->line;
        plot_scene_open(scene, "mark ripple", text.bytes);
        plot_scene_dot(scene, PLOT_DIAMOND, (plot_pen){PLOT_ACCENT, 1, PLOT_SOLID}, x, y, 4.5);
        plot_page_words(&chart->page,
                        plot_font_of(PLOT_ACCENT, type->small, left ? PLOT_END : PLOT_START),
                        left ? x - 8 : x + 8, y + 0.36 * type->small, 6 * type->line, text.bytes);
        plot_scene_close(scene);
        shot_text_free(&text);
    }
}

static void draw_one(const spectrum_table *self, spectrum one, plot_chart *chart,
                     const plot_chart_side *across, bool bottom) {
    plot_page *page = &chart->page;
    plot_chart_side values = {.name = plot_csv_text(self->csv, one.first, self->channel),
                              .unit = plot_csv_text(self->csv, one.first, self->unit),
                              .low = NAN,
                              .high = NAN,
                              .logarithmic = true};
    reach_alike(self, values.unit, &values.low, &values.high);
    plot_chart_panel(chart, across, &values, 9, plot_csv_text(self->csv, one.first, self->shot),
                     bottom);
    double line = page->look.type.cells ? 3.2 : 1.4;
    plot_scene_open(page->scene, "line", values.name);
    draw_column(self, one, chart, self->continuum, (plot_pen){PLOT_SOFT, 1.2, PLOT_DASHED});
    draw_column(self, one, chart, self->power, (plot_pen){PLOT_LINE, line, PLOT_SOLID});
    plot_scene_close(page->scene);
    draw_peaks(self, one, chart);
    page->y += page->look.type.cells ? 0 : 0.5 * page->look.type.line;
}

shot_status plot_spectra_draw(const plot_csv *csv, const plot_look *look, plot_scene *scene,
                              shot_error *error) {
    spectrum_table self = {csv,
                           plot_csv_column(csv, "shot"),
                           plot_csv_column(csv, "channel"),
                           plot_csv_column(csv, "frequency"),
                           plot_csv_column(csv, "power"),
                           plot_csv_column(csv, "unit"),
                           plot_csv_column(csv, "continuum"),
                           plot_csv_column(csv, "false.alarm")};
    plot_chart_side across = {.name = "frequency", .unit = "Hz", .low = 0, .high = 0};
    if (csv->rows == 0)
        return shot_fail(error, SHOT_ERR_DATA, "the table holds no spectrum");
    reach(&self, (spectrum){0, csv->rows}, self.frequency, &across.low, &across.high);
    plot_chart chart;
    plot_page_begin(&chart.page, scene, look, "Power spectrum",
                    "dashed: the continuum under it; diamonds: bins that noise alone reaches once "
                    "in a thousand");
    plot_page_make_gutter(&chart.page,
                          plot_glyphs_width(&look->type, "0.00001", look->type.small, false));
    for (spectrum one = next_of(&self, 0); one.first < csv->rows; one = next_of(&self, one.end))
        draw_one(&self, one, &chart, &across, one.end == csv->rows);
    plot_page_end(&chart.page, NULL);
    plot_scene_describe(scene, "Power spectrum", "Power against frequency, a panel a channel.");
    return scene->status;
}
