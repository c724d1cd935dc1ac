/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A comparison: a dot with its interval for each measure, in scatters, so that all share an axis.
 */
#include "plot/pictures.h"

#include <math.h>
#include <string.h>

#include "judge/words.h"
#include "plot/curve.h"
#include "plot/words.h"
#include <shottrace/judge/measure.h>

/* Groups farther apart share no shot that could belong to either: of two normal distributions 6
 * scatters apart 0.3 % overlap.  A greater distance says no more, and would press all others into
 * one place: it is drawn as an arrow. */
static const double farthest = 6;

/* The columns of the table. */
typedef struct contrast_table {
    const plot_csv *csv;
    size_t measure, unit, a, b, role, verdict, difference, g, low, high, margin;
} contrast_table;

static contrast_table columns_of(const plot_csv *csv) {
    return (contrast_table){.csv = csv,
                            .measure = plot_csv_column(csv, "measure"),
                            .unit = plot_csv_column(csv, "unit"),
                            .a = plot_csv_column(csv, "a"),
                            .b = plot_csv_column(csv, "b"),
                            .role = plot_csv_column(csv, "role"),
                            .verdict = plot_csv_column(csv, "verdict"),
                            .difference = plot_csv_column(csv, "difference"),
                            .g = plot_csv_column(csv, "g"),
                            .low = plot_csv_column(csv, "g.low"),
                            .high = plot_csv_column(csv, "g.high"),
                            .margin = plot_csv_column(csv, "margin")};
}

static bool is_shown(const contrast_table *self, size_t row) {
    return isfinite(plot_csv_number(self->csv, row, self->g));
}

static bool is_different(const contrast_table *self, size_t row) {
    const char *verdict = plot_csv_text(self->csv, row, self->verdict);
    return strncmp(verdict, "different", 9) == 0 && strcmp(verdict, "different or drifted") != 0;
}

/* A measure as people call it; a key of their own is its own name. */
static shot_status add_label(const char *name, shot_text *text) {
    const shot_measure_kind *kind = shot_measure_kind_named(name);
    return kind != NULL ? shot_measure_kind_add_label(kind, text) : shot_text_add(text, name);
}

static shot_status add_measure(const contrast_table *self, size_t row, shot_text *text) {
    const char *b = plot_csv_text(self->csv, row, self->b);
    SHOT_TRY(add_label(plot_csv_text(self->csv, row, self->measure), text));
    if (strcmp(plot_csv_text(self->csv, 0, self->a), plot_csv_text(self->csv, row, self->a)) != 0)
        return shot_text_add_format(text, " (%s - %s)", plot_csv_text(self->csv, row, self->a), b);
    return SHOT_OK;
}

/* As on the page of shot-compare; the scatter is the difference over what it is in scatters. */
static int decimals_of(const contrast_table *self, size_t row, double difference) {
    const double scatter = fabs(difference / plot_csv_number(self->csv, row, self->g));
    return shot_words_contrast_decimals(isfinite(scatter) ? scatter : 0, difference);
}

static shot_status add_difference(double difference, int decimals, const char *unit,
                                  shot_text *text) {
    if (decimals > 9) /* has a power of ten */
        return plot_words_add_figure(text, difference, unit);
    const char *sign = difference > 0 ? "+" : difference < 0 ? PLOT_MINUS : "";
    SHOT_TRY(shot_text_add_format(text, "%s%.*f%s", sign, decimals, fabs(difference),
                                  *unit != '\0' ? " " : ""));
    return plot_page_add_unit(unit, text);
}

/* "+0.78 s: different". */
static shot_status add_finding(const contrast_table *self, size_t row, shot_text *text) {
    const double difference = plot_csv_number(self->csv, row, self->difference);
    SHOT_TRY(add_difference(difference, decimals_of(self, row, difference),
                            plot_csv_text(self->csv, row, self->unit), text));
    return shot_text_add_format(text, ": %s", plot_csv_text(self->csv, row, self->verdict));
}

/* ---- layout ---- */

typedef struct contrast_page {
    const contrast_table *table;
    plot_page page;
    plot_axis x;
    double words_at;  /* where the findings stand */
    double low, high; /* what the axis is to hold */
    bool cut;         /* some differences lie beyond it */
    bool stacked;     /* a narrow page: words above the place, not beside it */
} contrast_page;

static double row_height(const contrast_page *self) {
    const plot_type *type = &self->page.look.type;
    return type->line * (type->cells ? 1 : self->stacked ? 2.1 : 1.25);
}

/* The widest of what `add` says of any row. */
static double widest(contrast_page *self,
                     shot_status (*add)(const contrast_table *, size_t, shot_text *)) {
    const plot_type *type = &self->page.look.type;
    double width = 0;
    for (size_t i = 0; i < self->table->csv->rows; i++) {
        shot_text text = {0};
        if (!is_shown(self->table, i))
            continue;
        if (add(self->table, i, &text) == SHOT_OK)
            width = fmax(width, plot_glyphs_width(type, text.bytes, type->small, false));
        shot_text_free(&text);
    }
    return width;
}

/* What the axis is to hold; beyond `farthest` there are arrows. */
static void find_reach(contrast_page *self) {
    const contrast_table *table = self->table;
    double low = 0, high = 0;
    for (size_t i = 0; i < table->csv->rows; i++)
        if (is_shown(table, i)) {
            double ends[] = {plot_csv_number(table->csv, i, table->low),
                             plot_csv_number(table->csv, i, table->high),
                             plot_csv_number(table->csv, i, table->g)};
            plot_curve_reach(ends, 3, &low, &high);
            for (size_t k = 0; k < 3; k++)
                self->cut = self->cut || fabs(ends[k]) > farthest;
        }
    self->low = fmax(low, -farthest);
    self->high = fmin(high, farthest);
}

/* Names on the left and findings on the right, unless they leave the differences too little. */
static void place_columns(contrast_page *self) {
    plot_page *page = &self->page;
    const double gap = page->look.type.line, most = 0.36 * page->look.width;
    const double names = fmin(widest(self, add_measure) + 2, most);
    const double findings = fmin(widest(self, add_finding) + 2, most);
    const double left = page->right - page->left - names - findings;
    self->stacked = !page->look.type.cells && left < 0.3 * page->look.width;
    if (!self->stacked)
        plot_page_make_gutter(page, names);
    self->words_at = self->stacked ? page->right : page->right - findings;
    double room = 0.03 * (self->high - self->low);
    double right = self->stacked ? page->right : self->words_at - gap;
    self->x = plot_axis_cover(self->low - room, self->high + room,
                              plot_page_ticks_across(page, right - page->left), false);
    self->x.from = page->left;
    self->x.to = right;
}

static void draw_name(contrast_page *self, size_t row, double y, double room, const char *name) {
    plot_page *page = &self->page;
    const plot_type *type = &page->look.type;
    const double margin = type->cells ? 0 : 1.4 * type->line;
    plot_font font =
        plot_page_font(page, PLOT_TEXT, type->small, self->stacked ? PLOT_START : PLOT_END);
    font.bold = strcmp(plot_csv_text(self->table->csv, row, self->table->role), "primary") == 0;
    if (self->stacked)
        plot_page_words(page, font, page->left, y, room, name);
    else
        plot_page_words(page, font, page->left - type->line / 2, y,
                        page->left - margin - type->line / 2, name);
}

static void draw_words(contrast_page *self, size_t row) {
    plot_page *page = &self->page;
    const plot_type *type = &page->look.type;
    const double y = plot_page_baseline(page, page->y, type->small);
    shot_text name = {0}, finding = {0};
    if (add_measure(self->table, row, &name) == SHOT_OK &&
        add_finding(self->table, row, &finding) == SHOT_OK) {
        const double width = plot_glyphs_width(type, finding.bytes, type->small, false);
        draw_name(self, row, y, page->right - page->left - width - type->line, name.bytes);
        plot_font font =
            plot_page_font(page, is_different(self->table, row) ? PLOT_ACCENT : PLOT_SOFT,
                           type->small, self->stacked ? PLOT_END : PLOT_START);
        plot_page_words(page, font, self->words_at, y,
                        self->stacked ? width + 1 : page->right - self->words_at, finding.bytes);
    } else {
        page->scene->status = SHOT_ERR_MEMORY;
    }
    shot_text_free(&name);
    shot_text_free(&finding);
}

/* The margin in scatters, by the same factor as the difference. */
static void draw_margin(contrast_page *self, size_t row, double y) {
    const contrast_table *table = self->table;
    double margin = plot_csv_number(table->csv, row, table->margin) *
                    plot_csv_number(table->csv, row, table->g) /
                    plot_csv_number(table->csv, row, table->difference);
    if (!isfinite(margin))
        return;
    double left = plot_axis_clamp(&self->x, -fabs(margin));
    plot_scene_box(self->page.scene, PLOT_SHADE, left, y - 5,
                   plot_axis_clamp(&self->x, fabs(margin)) - left, 10);
}

static bool is_on_axis(const contrast_page *self, double g) {
    return g >= self->x.low && g <= self->x.high;
}

/* At the end of the axis, of what goes on beyond it. */
static void draw_head(const contrast_page *self, plot_pen pen, double g, double y) {
    const double x = plot_axis_clamp(&self->x, g), away = g < 0 ? 1 : -1;
    const double head[] = {x + 7 * away, y - 5, x, y, x + 7 * away, y + 5};
    plot_scene_path(self->page.scene, pen, head, 3);
}

/* An end of the interval that lies beyond the axis, unless the difference has its arrow there. */
static void draw_cut(const contrast_page *self, plot_pen pen, double end, double g, double y) {
    if (!is_on_axis(self, end) && plot_axis_clamp(&self->x, end) != plot_axis_clamp(&self->x, g))
        draw_head(self, pen, end, y);
}

/* The difference itself, or an arrow where it lies beyond the axis. */
static void draw_place(contrast_page *self, plot_pen pen, double g, double y, bool different) {
    plot_scene *scene = self->page.scene;
    const double x = plot_axis_clamp(&self->x, g), away = g < 0 ? 1 : -1;
    if (is_on_axis(self, g)) {
        plot_scene_dot(scene, different ? PLOT_DIAMOND : PLOT_RING, pen, x, y, different ? 5 : 3.6);
        return;
    }
    plot_scene_rule(scene, pen, x, y, x + 16 * away, y);
    draw_head(self, pen, g, y);
}

static void draw_row(contrast_page *self, size_t row) {
    const contrast_table *table = self->table;
    plot_page *page = &self->page;
    bool different = is_different(table, row);
    plot_pen pen = {different ? PLOT_ACCENT : PLOT_LINE, page->look.type.cells ? 3 : 1.6,
                    PLOT_SOLID};
    double y = page->y + page->look.type.line * (self->stacked ? 1.45 : 0.5);
    double low = plot_csv_number(table->csv, row, table->low);
    double high = plot_csv_number(table->csv, row, table->high);
    plot_scene_open(page->scene, "mark contrast", plot_csv_text(table->csv, row, table->measure));
    draw_margin(self, row, y);
    double g = plot_csv_number(table->csv, row, table->g);
    if (isfinite(low) && isfinite(high)) {
        plot_scene_rule(page->scene, pen, plot_axis_clamp(&self->x, low), y,
                        plot_axis_clamp(&self->x, high), y);
        draw_cut(self, pen, low, g, y);
        draw_cut(self, pen, high, g, y);
    }
    draw_place(self, pen, g, y, different);
    draw_words(self, row);
    plot_scene_close(page->scene);
    page->y += row_height(self);
}

static void draw_grid(contrast_page *self, double top, double bottom) {
    for (size_t i = 0; i < plot_axis_ticks(&self->x); i++) {
        double value = plot_axis_tick(&self->x, i), x = plot_axis_place(&self->x, value);
        if (self->page.look.type.cells && value != 0) /* characters have room for one line */
            continue;
        plot_pen pen = {value == 0 ? PLOT_SOFT : PLOT_GRID, self->page.look.type.cells ? 4 : 1,
                        PLOT_SOLID};
        plot_scene_rule(self->page.scene, pen, x, top, x, bottom);
    }
}

static void draw_rows(contrast_page *self, size_t count) {
    plot_page *page = &self->page;
    const plot_type *type = &page->look.type;
    double right = page->right;
    plot_scene_open(page->scene, "panel", "differences");
    if (!self->stacked)
        draw_grid(self, page->y, page->y + (double)count * row_height(self));
    for (size_t i = 0; i < self->table->csv->rows; i++)
        if (is_shown(self->table, i)) {
            if (self->stacked) /* the lines would cross the words */
                draw_grid(self, page->y + type->line, page->y + 1.9 * type->line);
            draw_row(self, i);
        }
    page->right = self->x.to;
    plot_page_bottom(page, &self->x, "");
    plot_page_words(page, plot_page_font(page, PLOT_SOFT, type->small, PLOT_END), page->right,
                    plot_page_baseline(page, page->y, type->small), page->right,
                    "difference in scatters of single shots (Hedges' g)");
    page->y += type->line;
    page->right = right;
    plot_scene_close(page->scene);
}

#define LINES                                                                                      \
    "dots: differences; diamonds: told as different; lines: the 95 % interval of each by itself "  \
    "(verdicts are corrected for "                                                                 \
    "the number of measures, but for the primary one); boxes: within the margin"
#define CUT "; arrows: beyond 6 scatters"

shot_status plot_contrasts_draw(const plot_csv *csv, const plot_look *look, plot_scene *scene,
                                shot_error *error) {
    contrast_table table = columns_of(csv);
    contrast_page self = {.table = &table};
    size_t shown = 0;
    for (size_t i = 0; i < csv->rows; i++)
        shown += is_shown(&table, i);
    if (shown == 0)
        return shot_fail(error, SHOT_ERR_DATA,
                         "the comparison has no difference to draw: no measure of two groups with "
                         "scatter in it");
    shot_text title = {0}, says = {0};
    shot_status status = shot_text_add_format(&title, "%s less %s", plot_csv_text(csv, 0, table.a),
                                              plot_csv_text(csv, 0, table.b));
    if (status == SHOT_OK)
        status =
            shot_text_add_format(&says, "%zu measures as dots with their 95 %% intervals", shown);
    if (status == SHOT_OK) {
        find_reach(&self);
        plot_page_begin(&self.page, scene, look, title.bytes, self.cut ? LINES CUT : LINES);
        place_columns(&self);
        draw_rows(&self, shown);
        plot_page_end(&self.page, NULL);
        plot_scene_describe(scene, title.bytes, says.bytes);
    }
    shot_text_free(&title);
    shot_text_free(&says);
    return status == SHOT_OK ? scene->status : status;
}
