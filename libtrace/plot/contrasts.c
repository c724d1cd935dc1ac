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
    size_t measure, unit, a, b, role, verdict, difference, g, low, high, margin, method;
    size_t firsts; /* groups, each less the same one; 1: every row is of one pair */
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
                            .margin = plot_csv_column(csv, "margin"),
                            .method = plot_csv_column(csv, "method")};
}

static bool is_shown(const contrast_table *self, size_t row) {
    return isfinite(plot_csv_number(self->csv, row, self->g));
}

static bool is_different(const contrast_table *self, size_t row) {
    const char *verdict = plot_csv_text(self->csv, row, self->verdict);
    return strncmp(verdict, "different", 9) == 0 && strcmp(verdict, "different or drifted") != 0;
}

/* Whether no row before has the same in that column; of those that are drawn if `shown`. */
static bool is_first(const contrast_table *self, size_t row, size_t column, bool shown) {
    const char *text = plot_csv_text(self->csv, row, column);
    for (size_t i = 0; i < row; i++)
        if ((!shown || is_shown(self, i)) && strcmp(plot_csv_text(self->csv, i, column), text) == 0)
            return false;
    return true;
}

static size_t count_first(const contrast_table *self, size_t column, bool shown) {
    size_t count = 0;
    for (size_t i = 0; i < self->csv->rows; i++)
        count += (!shown || is_shown(self, i)) && is_first(self, i, column, shown);
    return count;
}

/* A measure as people call it; a key of their own is its own name. */
static shot_status add_label(const char *name, shot_text *text) {
    const shot_measure_kind *kind = shot_measure_kind_named(name);
    return kind != NULL ? shot_measure_kind_add_label(kind, text) : shot_text_add(text, name);
}

/* What a row is called: of one pair of groups its measure, of several its first group. */
static shot_status add_name(const contrast_table *self, size_t row, shot_text *text) {
    return self->firsts > 1 ? shot_text_add(text, plot_csv_text(self->csv, row, self->a))
                            : add_label(plot_csv_text(self->csv, row, self->measure), text);
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

/* In scatters, by the same factor as the difference; NaN where none was named. */
static double margin_of(const contrast_table *table, size_t row) {
    return fabs(plot_csv_number(table->csv, row, table->margin) *
                plot_csv_number(table->csv, row, table->g) /
                plot_csv_number(table->csv, row, table->difference));
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
            const double margin = margin_of(table, i), margins[] = {-margin, margin};
            plot_curve_reach(ends, 3, &low, &high);
            plot_curve_reach(margins, 2, &low, &high);
            for (size_t k = 0; k < 3; k++)
                self->cut = self->cut || fabs(ends[k]) > farthest;
        }
    self->low = fmax(low, -farthest);
    self->high = fmin(high, farthest);
}

/* Names on the left and findings on the right, unless they leave the differences too little. */
static void place_columns(contrast_page *self) {
    plot_page *page = &self->page;
    const double gap = page->look.type.line;
    const double names = fmin(widest(self, add_name) + 2, 0.36 * page->look.width);
    const double said = widest(self, add_finding) + 2, most = 0.42 * page->look.width;
    const double findings = fmin(said, most);
    const double left = page->right - page->left - names - findings;
    /* a verdict that is cut would be another one */
    self->stacked = !page->look.type.cells && (left < 0.35 * page->look.width || said > most);
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
    plot_font font = plot_font_of(PLOT_TEXT, type->small, self->stacked ? PLOT_START : PLOT_END);
    font.bold = self->table->firsts == 1 &&
                strcmp(plot_csv_text(self->table->csv, row, self->table->role), "primary") == 0;
    font.ends = true;
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
    if (add_name(self->table, row, &name) == SHOT_OK &&
        add_finding(self->table, row, &finding) == SHOT_OK) {
        const double width = plot_glyphs_width(type, finding.bytes, type->small, false);
        draw_name(self, row, y, page->right - page->left - width - type->line, name.bytes);
        plot_font font = plot_font_of(is_different(self->table, row) ? PLOT_ACCENT : PLOT_SOFT,
                                      type->small, self->stacked ? PLOT_END : PLOT_START);
        plot_page_words(page, font, self->words_at, y,
                        self->stacked ? width + 1 : page->right - self->words_at, finding.bytes);
    } else {
        page->scene->status = SHOT_ERR_MEMORY;
    }
    shot_text_free(&name);
    shot_text_free(&finding);
}

static void draw_margin(contrast_page *self, size_t row, double y) {
    const double margin = margin_of(self->table, row);
    if (!isfinite(margin))
        return;
    double left = plot_axis_clamp(&self->x, -margin);
    plot_scene_box(self->page.scene, PLOT_SHADE, left, y - 5,
                   plot_axis_clamp(&self->x, margin) - left, 10);
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

/* The measure of the rows below. */
static void draw_heading(contrast_page *self, size_t row) {
    plot_page *page = &self->page;
    const plot_type *type = &page->look.type;
    const double margin = self->stacked ? page->left : type->cells ? 0 : 1.4 * type->line;
    const double height = row_height(self) / (self->stacked ? 1.6 : 1);
    plot_font font = plot_font_of(PLOT_TEXT, type->small, PLOT_START);
    shot_text name = {0};
    font.bold = true;
    if (add_label(plot_csv_text(self->table->csv, row, self->table->measure), &name) == SHOT_OK)
        plot_page_words(page, font, margin, plot_page_baseline(page, page->y, type->small),
                        page->right - margin, name.bytes);
    else
        page->scene->status = SHOT_ERR_MEMORY;
    shot_text_free(&name);
    page->y += height;
}

static void draw_one(contrast_page *self, size_t row) {
    const double line = self->page.look.type.line;
    if (self->stacked) /* the lines would cross the words */
        draw_grid(self, self->page.y + line, self->page.y + 1.9 * line);
    draw_row(self, row);
}

/* Several groups less one: the rows of a measure stand together, under its name. */
static void draw_measures(contrast_page *self) {
    const contrast_table *table = self->table;
    for (size_t i = 0; i < table->csv->rows; i++) {
        if (!is_shown(table, i) || !is_first(table, i, table->measure, true))
            continue;
        draw_heading(self, i);
        for (size_t k = i; k < table->csv->rows; k++)
            if (is_shown(table, k) && strcmp(plot_csv_text(table->csv, k, table->measure),
                                             plot_csv_text(table->csv, i, table->measure)) == 0)
                draw_one(self, k);
    }
}

/* Pairs are all of a table or none of it. */
static bool are_pairs(const contrast_table *self) {
    for (size_t i = 0; i < self->csv->rows; i++)
        if (is_shown(self, i))
            return strcmp(plot_csv_text(self->csv, i, self->method), "pairs") == 0;
    return false;
}

/* Under the end of the axis, or where that leaves it too little room at the end of the page. */
static void draw_axis_name(plot_page *page, const contrast_table *table, double end) {
    const char *name = are_pairs(table) ? "difference in scatters within pairs (Hedges' g)"
                                        : "difference in scatters of single shots (Hedges' g)";
    const plot_type *type = &page->look.type;
    const double margin = type->cells ? 0 : 1.4 * type->line;
    if (plot_glyphs_width(type, name, type->small, false) > end - margin)
        end = page->right;
    plot_page_words(page, plot_font_of(PLOT_SOFT, type->small, PLOT_END), end,
                    plot_page_baseline(page, page->y, type->small), end - margin, name);
    page->y += type->line;
}

static void draw_rows(contrast_page *self, size_t count) {
    plot_page *page = &self->page;
    double right = page->right;
    plot_scene_open(page->scene, "panel", "differences");
    if (!self->stacked)
        draw_grid(self, page->y, page->y + (double)count * row_height(self));
    if (self->table->firsts > 1)
        draw_measures(self);
    else
        for (size_t i = 0; i < self->table->csv->rows; i++)
            if (is_shown(self->table, i))
                draw_one(self, i);
    page->right = self->x.to;
    plot_page_bottom(page, &self->x, "");
    page->right = right;
    draw_axis_name(page, self->table, self->x.to);
    plot_scene_close(page->scene);
}

static shot_status add_title(const contrast_table *table, shot_text *text) {
    const char *b = plot_csv_text(table->csv, 0, table->b);
    return table->firsts > 1
               ? shot_text_add_format(text, "%zu groups, each less %s", table->firsts, b)
               : shot_text_add_format(text, "%s less %s", plot_csv_text(table->csv, 0, table->a),
                                      b);
}

static shot_status add_subtitle(const contrast_page *self, shot_text *text) {
    SHOT_TRY(shot_text_add(text,
                           "dots: differences; diamonds: told as different; lines: the 95 % "
                           "interval of each by itself (verdicts are corrected for the number "
                           "of "));
    SHOT_TRY(shot_text_add(text, self->table->firsts > 1 ? "comparisons)"
                                                         : "measures, but for the primary one)"));
    SHOT_TRY(shot_text_add(text, "; boxes: within the margin"));
    return self->cut ? shot_text_add(text, "; arrows: beyond 6 scatters") : SHOT_OK;
}

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
    table.firsts = count_first(&table, table.a, false);
    const size_t headings = table.firsts > 1 ? count_first(&table, table.measure, true) : 0;
    find_reach(&self);
    shot_text title = {0}, subtitle = {0}, says = {0};
    shot_status status = add_title(&table, &title);
    if (status == SHOT_OK)
        status = add_subtitle(&self, &subtitle);
    if (status == SHOT_OK)
        status = shot_text_add_format(&says, "%zu %s as dots with their 95 %% intervals", shown,
                                      table.firsts > 1 ? "differences" : "measures");
    if (status == SHOT_OK) {
        plot_page_begin(&self.page, scene, look, title.bytes, subtitle.bytes);
        place_columns(&self);
        draw_rows(&self, shown + headings);
        plot_page_end(&self.page, NULL);
        plot_scene_describe(scene, title.bytes, says.bytes);
    }
    shot_text_free(&title);
    shot_text_free(&subtitle);
    shot_text_free(&says);
    return status == SHOT_OK ? scene->status : status;
}
