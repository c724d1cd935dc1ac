/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A control chart: a measure over the order of the shots, its centre and limits, and what is out of
 * the ordinary. */
#include "plot/pictures.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/judge/repeatability.h>
#include <shottrace/signal/control_chart.h>

#include "plot/chart.h"
#include "plot/curve.h"
#include "plot/words.h"

/* Drawn where no measure is named: those that tell most of a bench, as far as the shots have them.
 */
static const char *const usual[] = {"brew.pressure", "brew.flow", "first-drip.time",
                                    "beverage.mass"};

/* A measure of all shots in their order. */
typedef struct control_series {
    const shot_measure_table *table;
    size_t column;
    double *values; /* [n] */
    size_t n;
    shot_control_limits limits;
    unsigned char *signals; /* [n] */
    bool limited;           /* else there are too few values for limits */
    double named_to[2];     /* how far names reach below and above, from the left */
} control_series;

static shot_status find_series(const shot_measure_table *table, size_t column,
                               control_series *out) {
    *out = (control_series){.table = table, .column = column, .n = table->shot_count};
    out->values = malloc((out->n + 1) * sizeof *out->values);
    out->signals = calloc(out->n + 1, 1);
    if (out->values == NULL || out->signals == NULL)
        return SHOT_ERR_MEMORY;
    size_t known = 0;
    for (size_t i = 0; i < out->n; i++) {
        out->values[i] = shot_measure_table_value(table, i, column);
        known += !isnan(out->values[i]);
    }
    out->limited =
        known >= SHOT_REPEATABILITY_LEAST &&
        shot_control_chart_individuals(out->values, out->n, 3, &out->limits, NULL) == SHOT_OK;
    if (out->limited)
        shot_control_chart_bound(out->values, out->n,
                                 shot_measure_least(table->columns[column].name), &out->limits);
    if (out->limited)
        shot_control_chart_signals(out->values, out->n, &out->limits, out->signals);
    return SHOT_OK;
}

static void free_series(control_series *self) {
    free(self->values);
    free(self->signals);
}

/* ---- drawing ---- */

static void draw_level(plot_chart *chart, double value, plot_pen pen, const char *says) {
    double y = plot_chart_y(chart, value);
    plot_scene_open(chart->page.scene, "line limit", says);
    plot_scene_rule(chart->page.scene, pen, chart->page.left, y, chart->page.right, y);
    plot_scene_close(chart->page.scene);
}

static void draw_limits(const control_series *self, plot_chart *chart) {
    if (!self->limited)
        return;
    draw_level(chart, self->limits.centre, (plot_pen){PLOT_RULE, 1.2, PLOT_SOLID}, "mean");
    draw_level(chart, self->limits.low, (plot_pen){PLOT_SOFT, 1.2, PLOT_DASHED}, "lower limit");
    draw_level(chart, self->limits.high, (plot_pen){PLOT_SOFT, 1.2, PLOT_DASHED}, "upper limit");
}

/* The name beside its shot, on the side that has more room, away from the limit that it passed; not
 * over the name of another. */
static void draw_name(control_series *self, plot_chart *chart, double x, double y, size_t i) {
    plot_page *page = &chart->page;
    const plot_type *type = &page->look.type;
    const char *name = self->table->shots[i].name;
    const bool left = x > (page->left + page->right) / 2;
    const bool above = self->values[i] > self->limits.high;
    const double most = (page->right - page->left) / 3;
    const double width = fmin(plot_glyphs_width(type, name, type->small, false), most);
    const double from = left ? x - 9 - width : x + 9;
    const double lower = type->cells ? 0.36 : above ? -0.4 : 1.2;
    if (from < self->named_to[above])
        return;
    self->named_to[above] = from + width + type->small / 2;
    plot_font font = plot_font_of(PLOT_ACCENT, type->small, left ? PLOT_END : PLOT_START);
    font.ends = true;
    plot_page_words(page, font, left ? x - 9 : x + 9, y + lower * type->small, most, name);
}

static void draw_shot(control_series *self, plot_chart *chart, size_t i) {
    plot_page *page = &chart->page;
    const plot_type *type = &page->look.type;
    if (isnan(self->values[i]))
        return;
    double x = plot_chart_x(chart, (double)(i + 1)), y = plot_chart_y(chart, self->values[i]);
    bool signal = self->signals[i] != 0;
    plot_scene_open(page->scene, signal ? "mark signal" : "mark shot", self->table->shots[i].name);
    plot_scene_dot(page->scene, signal ? PLOT_DIAMOND : PLOT_DISC,
                   (plot_pen){signal ? PLOT_ACCENT : PLOT_LINE, 1, PLOT_SOLID}, x, y,
                   signal        ? 5.5
                   : type->cells ? 4
                                 : 2.8);
    if (self->signals[i] & SHOT_CONTROL_OUTSIDE)
        draw_name(self, chart, x, y, i);
    plot_scene_close(page->scene);
}

static void draw_series(control_series *self, plot_chart *chart) {
    double *xy = malloc((2 * self->n + 1) * sizeof *xy);
    if (xy == NULL) {
        chart->page.scene->status = SHOT_ERR_MEMORY;
        return;
    }
    for (size_t i = 0; i < self->n; i++) {
        xy[2 * i] = (double)(i + 1);
        xy[2 * i + 1] = self->values[i];
    }
    draw_limits(self, chart);
    plot_scene_open(chart->page.scene, "line", self->table->columns[self->column].label);
    plot_chart_line(chart, (plot_pen){PLOT_BEHIND, 1.2, PLOT_SOLID}, xy, self->n);
    plot_scene_close(chart->page.scene);
    for (size_t i = 0; i < self->n; i++)
        draw_shot(self, chart, i);
    free(xy);
}

static shot_status add_remark(const control_series *self, shot_text *text) {
    if (!self->limited)
        return shot_text_add(text, "too few shots for limits");
    SHOT_TRY(shot_text_add(text, "mean "));
    SHOT_TRY(plot_words_add_figure(text, self->limits.centre, ""));
    SHOT_TRY(shot_text_add(text, ", limits "));
    return plot_words_add_range(text, self->limits.low, self->limits.high);
}

/* Room beyond the limits for the names of what is outside. */
static void make_room_for_names(const control_series *self, plot_chart_side *values) {
    const double room = 0.12 * (values->high - values->low);
    bool above = false, below = false;
    for (size_t i = 0; i < self->n; i++) {
        const bool outside = self->signals[i] & SHOT_CONTROL_OUTSIDE;
        above = above || (outside && self->values[i] > self->limits.high);
        below = below || (outside && self->values[i] < self->limits.low);
    }
    values->high += above ? room : 0;
    values->low -= below ? room : 0;
}

static shot_status draw_panel(control_series *self, plot_chart *chart, bool bottom) {
    const shot_measure_column *column = &self->table->columns[self->column];
    plot_chart_side across = {
        .name = "shot", .unit = "", .low = 1, .high = (double)self->n, .whole = true};
    plot_chart_side values = {.name = column->label, .unit = column->unit, .low = NAN, .high = NAN};
    plot_curve_reach(self->values, self->n, &values.low, &values.high);
    if (self->limited)
        plot_curve_reach((const double[]){self->limits.low, self->limits.high}, 2, &values.low,
                         &values.high);
    make_room_for_names(self, &values);
    shot_text remark = {0};
    shot_status status = add_remark(self, &remark);
    if (status == SHOT_OK) {
        plot_chart_panel(chart, &across, &values, 8, remark.bytes, bottom);
        draw_series(self, chart);
        chart->page.y += chart->page.look.type.cells ? 0 : 0.5 * chart->page.look.type.line;
    }
    shot_text_free(&remark);
    return status;
}

/* ---- which measures ---- */

static shot_status draw_columns(const shot_measure_table *table, const size_t *columns,
                                size_t count, const plot_look *look, plot_scene *scene) {
    plot_chart chart;
    plot_page_begin(
        &chart.page, scene, look, "Control chart",
        "dashed: limits of 3 sigma, from the mean range of neighbours; diamonds: beyond "
        "them, or nine in a row on one side");
    plot_page_make_gutter(&chart.page,
                          plot_glyphs_width(&look->type, "-00.00", look->type.small, false));
    for (size_t i = 0; i < count; i++) {
        control_series series;
        shot_status status = find_series(table, columns[i], &series);
        if (status == SHOT_OK)
            status = draw_panel(&series, &chart, i + 1 == count);
        free_series(&series);
        SHOT_TRY(status);
    }
    plot_page_end(&chart.page, NULL);
    plot_scene_describe(scene, "Control chart",
                        "Measures over the order of the shots, with mean and limits of 3 sigma.");
    return scene->status;
}

shot_status plot_control_draw(const shot_measure_table *table, const shot_texts *measures,
                              const plot_look *look, plot_scene *scene, shot_error *error) {
    bool named = measures->count > 0;
    size_t most = named ? measures->count : sizeof usual / sizeof *usual, count = 0;
    size_t *columns = malloc((most + 1) * sizeof *columns);
    if (columns == NULL)
        return SHOT_ERR_MEMORY;
    shot_status status = SHOT_OK;
    for (size_t i = 0; i < most && status == SHOT_OK; i++) {
        const char *name = named ? measures->items[i] : usual[i];
        if (shot_measure_table_find(table, name, &columns[count]))
            count++;
        else if (named)
            status = shot_measure_kind_named(name) != NULL
                         ? shot_fail(error, SHOT_ERR_DATA, "no shot has the measure '%s'", name)
                         : shot_measure_unknown(name, error);
    }
    if (status == SHOT_OK && count == 0)
        status = shot_fail(error, SHOT_ERR_DATA,
                           "no shot has a measure to draw; put shot-segment before, or name one "
                           "with --measure");
    if (status == SHOT_OK)
        status = draw_columns(table, columns, count, look, scene);
    free(columns);
    return status;
}
