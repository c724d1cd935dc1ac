/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The page: what stands above and below every picture, and the frame of a panel. */
#include "plot/page.h"

#include <math.h>
#include <string.h>

const plot_type plot_type_page = {.title = 21, .text = 13, .small = 11.5, .line = 18};
const plot_type plot_type_cells = {.title = 16, .text = 16, .small = 16, .line = 16, .cells = true};

/* ---- height ---- */

/* Lines of cells: as tall as reads well, and the least that still shows a curve. */
enum { TALL = 8, LOW = 3 };

/* What has scrolled away at the top is what was found. */
bool plot_page_shrink(plot_look *look, plot_scene *scene) {
    const double lines = (look->lines > 0 ? look->lines : TALL) - 1;
    if (!look->type.cells || !(look->height > 0) || scene->height <= look->height || lines < LOW)
        return false;
    plot_scene_free(scene);
    look->lines = lines;
    return true;
}

double plot_page_panel_height(const plot_page *page, double lines) {
    const plot_look *look = &page->look;
    return (look->lines > 0 ? fmin(look->lines, lines) : lines) * look->type.line;
}

/* ---- words ---- */

double plot_page_baseline(const plot_page *page, double top, double size) {
    return top + page->look.type.line / 2 + 0.36 * size; /* half the height of capitals */
}

plot_font plot_font_of(plot_ink ink, double size, plot_anchor anchor) {
    return (plot_font){.ink = ink, .size = size, .anchor = anchor};
}

void plot_page_words(plot_page *page, plot_font font, double x, double y, double room,
                     const char *words) {
    shot_text text = {0};
    if ((font.ends ? plot_glyphs_fit_name : plot_glyphs_fit)(&page->look.type, words, font.size,
                                                             font.bold, room, &text) == SHOT_OK)
        plot_scene_words(page->scene, font, x, y, text.bytes);
    else
        page->scene->status = SHOT_ERR_MEMORY;
    shot_text_free(&text);
}

/* A line of words over the whole width; page->y moves on. */
static void add_line(plot_page *page, plot_font font, const char *words) {
    const plot_type *type = &page->look.type;
    double height = fmax(type->line, type->cells ? 0 : 1.25 * font.size);
    double margin = page->left;
    plot_page_words(page, font, margin, page->y + height / 2 + 0.36 * font.size,
                    page->look.width - 2 * margin, words);
    page->y += height;
}

/* How many bytes of `words` fit into a line of that width, up to a space where there is one. */
static size_t line_length(const plot_page *page, const char *words, double size, double room) {
    const plot_type *type = &page->look.type;
    size_t fits = 0, space = 0;
    double width = 0;
    for (const char *next = words; *next != '\0';) {
        const char *at = next;
        uint32_t character = plot_glyphs_next(&next);
        width += plot_glyphs_width_of(type, character, size, false);
        if (character == ' ')
            space = (size_t)(at - words);
        if (width > room)
            return space > 0 ? space : fits;
        fits = (size_t)(next - words);
    }
    return fits;
}

/* Words over as many lines as they need. */
static void add_paragraph(plot_page *page, plot_font font, const char *words) {
    double room = page->look.width - 2 * page->left;
    while (*words != '\0') {
        size_t length = line_length(page, words, font.size, room);
        shot_text line = {0};
        if (length == 0)
            return;
        if (shot_text_add_bytes(&line, words, length) == SHOT_OK)
            add_line(page, font, line.bytes);
        else
            page->scene->status = SHOT_ERR_MEMORY;
        shot_text_free(&line);
        words += length;
        words += strspn(words, " ");
    }
}

static double margin_of(const plot_type *type) {
    return type->cells ? 0 : 1.4 * type->line;
}

void plot_page_begin(plot_page *page, plot_scene *scene, const plot_look *look, const char *title,
                     const char *subtitle) {
    const plot_type *type = &look->type;
    double margin = margin_of(type);
    *page = (plot_page){.scene = scene, .look = *look, .left = margin, .y = margin};
    page->right = look->width - (type->cells ? type->line : margin);
    scene->width = look->width;
    scene->theme = look->theme;
    plot_scene_box(scene, PLOT_PAPER, 0, 0, look->width, 0); /* its height comes at the end */
    plot_scene_open(scene, "title", NULL);
    plot_font font = plot_font_of(PLOT_TEXT, type->title, PLOT_START);
    font.bold = true;
    if (title != NULL)
        add_line(page, font, title);
    if (subtitle != NULL && subtitle[0] != '\0')
        add_paragraph(page, plot_font_of(PLOT_SOFT, type->text, PLOT_START), subtitle);
    plot_scene_close(scene);
    page->y += type->cells ? 0 : 0.7 * type->line;
}

void plot_page_make_gutter(plot_page *page, double label_width) {
    page->left += label_width + (page->look.type.cells ? 0.5 : 0.6) * page->look.type.line;
}

/* Words below the panels, as wide as the page. */
static void add_below(plot_page *page, const char *group, const char *words) {
    const plot_type *type = &page->look.type;
    if (words == NULL || words[0] == '\0')
        return;
    page->left = margin_of(type);
    page->y += type->cells ? 0 : 0.4 * type->line;
    plot_scene_open(page->scene, group, NULL);
    add_paragraph(page, plot_font_of(PLOT_SOFT, type->small, PLOT_START), words);
    plot_scene_close(page->scene);
}

void plot_page_legend(plot_page *page, const char *words) {
    add_below(page, "legend", words);
}

void plot_page_end(plot_page *page, const char *words) {
    plot_scene *scene = page->scene;
    double margin = margin_of(&page->look.type);
    add_below(page, "history", words);
    scene->height = ceil(page->y + 0.7 * margin);
    if (scene->count > 0)
        scene->shapes[0].h = scene->height;
}

shot_status plot_page_add_name(const char *name, shot_text *text) {
    for (; *name != '\0'; name++)
        SHOT_TRY(shot_text_add_bytes(text, *name == '-' ? " " : name, 1));
    return SHOT_OK;
}

shot_status plot_page_add_unit(const char *unit, shot_text *text) {
    if (strcmp(unit, "degC") == 0)
        return shot_text_add(text, "\xc2\xb0"
                                   "C");
    for (; *unit != '\0'; unit++) {
        const char *sign = *unit == '.'   ? "\xc2\xb7"
                           : *unit == '2' ? "\xc2\xb2"
                           : *unit == '3' ? "\xc2\xb3"
                                          : NULL;
        SHOT_TRY(sign != NULL ? shot_text_add(text, sign) : shot_text_add_bytes(text, unit, 1));
    }
    return SHOT_OK;
}

/* ---- panels ---- */

static void add_panel_name(plot_page *page, const shot_text *name, const shot_text *unit,
                           const char *remark) {
    const plot_type *type = &page->look.type;
    double x = page->left, y = plot_page_baseline(page, page->y, type->text);
    double room = page->right - x, gap = type->line / 2;
    plot_font font = plot_font_of(PLOT_TEXT, type->text, PLOT_START);
    font.bold = true;
    plot_page_words(page, font, x, y, room, name->bytes);
    double used = plot_glyphs_width(type, name->bytes, font.size, true) + gap;
    font = plot_font_of(PLOT_SOFT, type->text, PLOT_START);
    if (unit->length > 0 && used < room) {
        plot_page_words(page, font, x + used, y, room - used, unit->bytes);
        used += plot_glyphs_width(type, unit->bytes, font.size, false) + gap;
    }
    font = plot_font_of(PLOT_SOFT, type->small, PLOT_END);
    if (remark == NULL)
        return;
    if (plot_glyphs_width(type, remark, font.size, false) <= room - used) {
        plot_page_words(page, font, page->right, y, room - used, remark);
        return;
    }
    page->y += type->line; /* figures that are cut would be others: a line of their own */
    font.anchor = PLOT_START;
    plot_page_words(page, font, x, plot_page_baseline(page, page->y, type->text), room, remark);
}

void plot_page_panel_name(plot_page *page, const char *name, const char *unit, const char *remark) {
    shot_text name_text = {0}, unit_text = {0};
    if (plot_page_add_name(name, &name_text) == SHOT_OK &&
        plot_page_add_unit(unit, &unit_text) == SHOT_OK &&
        shot_text_add(&name_text, "") == SHOT_OK && shot_text_add(&unit_text, "") == SHOT_OK)
        add_panel_name(page, &name_text, &unit_text, remark);
    else
        page->scene->status = SHOT_ERR_MEMORY;
    shot_text_free(&name_text);
    shot_text_free(&unit_text);
    page->y += page->look.type.line * (page->look.type.cells ? 1 : 1.15);
}

size_t plot_page_ticks_down(const plot_page *page, double height) {
    double spaces = height / ((page->look.type.cells ? 1.9 : 1.35) * page->look.type.line);
    return spaces < 2 ? 2 : spaces > 9 ? 10 : (size_t)spaces + 1;
}

size_t plot_page_ticks_across(const plot_page *page, double width) {
    double spaces = width / (4.5 * page->look.type.line);
    return spaces < 2 ? 2 : (size_t)spaces + 1;
}

double plot_page_label_width(const plot_page *page, const plot_axis *axis) {
    double widest = 0;
    for (size_t i = 0; i < plot_axis_ticks(axis); i++) {
        shot_text label = {0};
        if (plot_axis_add_label(axis, plot_axis_tick(axis, i), &label) == SHOT_OK)
            widest = fmax(widest, plot_glyphs_width(&page->look.type, label.bytes,
                                                    page->look.type.small, false));
        shot_text_free(&label);
    }
    return widest;
}

static void add_tick_label(plot_page *page, const plot_axis *axis, double value, plot_font font,
                           double x, double y) {
    shot_text label = {0};
    if (plot_axis_add_label(axis, value, &label) == SHOT_OK)
        plot_scene_words(page->scene, font, x, y, label.bytes);
    else
        page->scene->status = SHOT_ERR_MEMORY;
    shot_text_free(&label);
}

void plot_page_values(plot_page *page, const plot_axis *y) {
    const plot_type *type = &page->look.type;
    plot_font font = plot_font_of(PLOT_SOFT, type->small, PLOT_END);
    plot_pen grid = {PLOT_GRID, 1, PLOT_SOLID}, zero = {PLOT_RULE, 1, PLOT_SOLID};
    plot_scene_open(page->scene, "axis values", NULL);
    for (size_t i = 0; i < plot_axis_ticks(y); i++) {
        double value = plot_axis_tick(y, i), place = plot_axis_place(y, value);
        if (!type->cells)
            plot_scene_rule(page->scene, value == 0 ? zero : grid, page->left, place, page->right,
                            place);
        add_tick_label(page, y, value, font, page->left - (type->cells ? 8 : 7),
                       place + 0.36 * font.size);
    }
    plot_scene_close(page->scene);
}

void plot_page_no_values(plot_page *page, double top, double bottom) {
    const plot_type *type = &page->look.type;
    plot_page_words(page, plot_font_of(PLOT_SOFT, type->text, PLOT_MIDDLE),
                    (page->left + page->right) / 2, (top + bottom) / 2 + 0.36 * type->text,
                    page->right - page->left, "no values");
}

double plot_page_name_width(const plot_page *page, const char *name) {
    const plot_type *type = &page->look.type;
    return plot_glyphs_width(type, name, type->small, false) + type->line / 2;
}

/* How far the label of the first tick reaches beyond the left end of the axis, if it does. */
static double first_half_width(const plot_page *page, const plot_axis *x) {
    shot_text label = {0};
    double beyond = 0;
    if (plot_axis_ticks(x) > 0 && plot_axis_add_label(x, plot_axis_tick(x, 0), &label) == SHOT_OK)
        beyond =
            plot_glyphs_width(&page->look.type, label.bytes, page->look.type.small, false) / 2 -
            (plot_axis_place(x, plot_axis_tick(x, 0)) - page->left);
    shot_text_free(&label);
    return beyond;
}

void plot_page_bottom(plot_page *page, const plot_axis *x, const char *name) {
    const plot_type *type = &page->look.type;
    plot_font font = plot_font_of(PLOT_SOFT, type->small, PLOT_MIDDLE);
    plot_pen rule = {PLOT_RULE, 1, PLOT_SOLID};
    double top = page->y, tick = type->cells ? 0 : 5;
    double baseline = plot_page_baseline(page, top + tick, font.size);
    plot_scene_open(page->scene, "axis across", name);
    if (!type->cells)
        plot_scene_rule(page->scene, rule, page->left, top, page->right, top);
    for (size_t i = 0; i < plot_axis_ticks(x); i++) {
        double value = plot_axis_tick(x, i), place = plot_axis_place(x, value);
        if (tick > 0)
            plot_scene_rule(page->scene, rule, place, top, place, top + tick);
        add_tick_label(page, x, value, font, place, baseline);
    }
    font.anchor = PLOT_END;
    double gap = type->cells ? 8 : 7; /* to the labels, the first of which may lie half beyond */
    double end = fmin(page->left - type->line / 2, page->left - first_half_width(page, x)) - gap;
    if (name[0] != '\0')
        plot_scene_words(page->scene, font, end, baseline, name);
    page->y = top + tick + type->line;
    plot_scene_close(page->scene);
}
