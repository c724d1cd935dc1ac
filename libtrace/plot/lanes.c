/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The findings of a shot as a score above its panels. */
#include "plot/lanes.h"

#include <math.h>
#include <string.h>

#include "plot/words.h"

/* How the marks of a lane are drawn. */
typedef enum lane_style {
    SPANS,   /* tinted boxes with their kind inside */
    STRETCH, /* a tinted box with its duration inside */
    BLOCKS,  /* dark boxes with their value behind */
    ALERTS,  /* the same in the warm ink */
    OTHERS,  /* the same with their kind behind */
    POINTS,  /* a diamond with its instant behind */
    NOTES    /* a triangle with its note behind */
} lane_style;

typedef struct lane {
    const char *name;
    lane_style style;
    const char *kinds[6]; /* NULL ends */
} lane;

static const lane lanes[] = {
    {"preinfusion", STRETCH, {"preinfusion", NULL}},
    {"phases", SPANS, {"fill", "soak", "ramp", "brew", "release", NULL}},
    {"pulses", BLOCKS, {"pulse", NULL}},
    {"first drop", POINTS, {"first-drip", NULL}},
    {"surges", ALERTS, {"surge", NULL}},
    {"ripple", BLOCKS, {"ripple", NULL}},
    {"log", ALERTS, {"gap", "spike", "clip", "stuck", NULL}},
    {"notes", NOTES, {"note", NULL}},
    {"other", OTHERS, {NULL}}, /* kinds that no other lane has */
};
enum { LANES = sizeof lanes / sizeof *lanes };

/* ---- which marks ---- */

static bool has_kind(const lane *one, const char *kind) {
    for (size_t i = 0; one->kinds[i] != NULL; i++)
        if (strcmp(one->kinds[i], kind) == 0)
            return true;
    return false;
}

/* Knees stand on their curves. */
static bool is_other(const char *kind) {
    for (size_t i = 0; i < LANES; i++)
        if (has_kind(&lanes[i], kind))
            return false;
    return strcmp(kind, "knee") != 0;
}

static bool belongs(const lane *one, const shot_mark *mark) {
    bool here = one->style == OTHERS ? is_other(mark->kind) : has_kind(one, mark->kind);
    return here && isfinite(mark->from);
}

/* The index of the next mark of the lane from `i` on, or the count. */
static size_t next_of(const lane *one, const shot_mark_list *marks, size_t i) {
    while (i < marks->count && !belongs(one, &marks->marks[i]))
        i++;
    return i;
}

static bool is_used(const lane *one, const shot_table *shot) {
    return next_of(one, &shot->marks, 0) < shot->marks.count;
}

double plot_lanes_label_width(const plot_page *page, const shot_table *shot) {
    double widest = 0;
    for (size_t i = 0; i < LANES; i++)
        if (is_used(&lanes[i], shot))
            widest = fmax(widest, plot_glyphs_width(&page->look.type, lanes[i].name,
                                                    page->look.type.small, false));
    return widest;
}

/* ---- one mark ---- */

/* A mark in its lane: where it lies, and how far its label may reach. */
typedef struct item {
    const shot_mark *mark;
    lane_style style;
    double left, right, top, height;
    double reach;   /* the end of all that is drawn of it */
    double room_to; /* where the next begins */
    bool odd;
} item;

static shot_status add_seconds(shot_text *text, double seconds) {
    return shot_text_add_format(text, "%.1f s", seconds);
}

static shot_status add_label(const item *one, shot_text *text) {
    const shot_mark *mark = one->mark;
    switch (one->style) {
    case SPANS:
    case OTHERS:
        return plot_page_add_name(mark->kind, text);
    case STRETCH:
        return isfinite(mark->to) ? add_seconds(text, mark->to - mark->from) : SHOT_OK;
    case POINTS: /* an instant among lengths of time */
        SHOT_TRY(shot_text_add(text, "at "));
        return add_seconds(text, mark->from);
    case NOTES:
        return mark->note != NULL ? shot_text_add(text, mark->note) : SHOT_OK;
    case ALERTS:
        if (strcmp(mark->kind, "surge") == 0 && isfinite(mark->value))
            SHOT_TRY(shot_text_add(text, PLOT_MINUS));
        else if (strcmp(mark->kind, "surge") != 0)
            return plot_page_add_name(mark->kind, text);
        break;
    default:
        break;
    }
    return isfinite(mark->value) ? plot_words_add_value(mark, text) : SHOT_OK;
}

/* Spans that are long enough tell how long they are. */
static shot_status add_duration(const plot_page *page, const item *one, double room,
                                shot_text *text) {
    const plot_type *type = &page->look.type;
    if (one->style != SPANS || !isfinite(one->mark->to))
        return SHOT_OK;
    size_t length = text->length;
    SHOT_TRY(shot_text_add(text, " "));
    SHOT_TRY(add_seconds(text, one->mark->to - one->mark->from));
    if (plot_glyphs_width(type, text->bytes, type->small, false) > room) {
        text->length = length;
        text->bytes[length] = '\0';
    }
    return SHOT_OK;
}

/* Where a figure has no room with its unit, the figure alone. */
static void drop_unit(const plot_page *page, const item *one, double room, shot_text *text) {
    const plot_type *type = &page->look.type;
    char *space = strchr(text->bytes, ' ');
    if (one->style != BLOCKS || space == NULL ||
        plot_glyphs_width(type, text->bytes, type->small, false) <= room)
        return;
    *space = '\0';
    text->length = (size_t)(space - text->bytes);
}

/* False where the label had no room. */
static bool draw_label(plot_page *page, const item *one) {
    const plot_type *type = &page->look.type;
    bool inside = one->style == SPANS || one->style == STRETCH;
    double gap = type->cells ? 8 : 6;
    double room = inside ? one->right - one->left - gap : one->room_to - one->reach - 2 * gap;
    shot_text text = {0};
    bool drawn = true;
    shot_status status = add_label(one, &text);
    if (status == SHOT_OK && text.length > 0)
        status = add_duration(page, one, room, &text);
    if (status != SHOT_OK) {
        page->scene->status = status;
    } else if (text.length > 0) {
        drop_unit(page, one, room, &text);
        plot_font font = plot_font_of(PLOT_TEXT, type->small, inside ? PLOT_MIDDLE : PLOT_START);
        double x = inside ? (one->left + one->right) / 2 : one->reach + gap;
        double y = one->top + one->height / 2 + 0.36 * font.size;
        drawn =
            plot_glyphs_width(type, text.bytes, font.size, false) <= room || one->style == NOTES;
        if (drawn)
            plot_page_words(page, font, x, y, room, text.bytes);
    }
    shot_text_free(&text);
    return drawn;
}

static void draw_whisker(plot_page *page, const plot_axis *x, const item *one, double low,
                         double high, double y) {
    plot_pen pen = {one->style == ALERTS ? PLOT_ACCENT : PLOT_LINE, 1.2, PLOT_SOLID};
    if (isfinite(low) && isfinite(high) && high > low && !page->look.type.cells)
        plot_scene_rule(page->scene, pen, plot_axis_clamp(x, low), y, plot_axis_clamp(x, high), y);
}

static bool draw_item(plot_page *page, const plot_axis *x, const item *one) {
    const shot_mark *mark = one->mark;
    double middle = one->top + one->height / 2, bottom = one->top + one->height;
    bool cells = page->look.type.cells;
    if (one->style == POINTS || one->style == NOTES) {
        draw_whisker(page, x, one, mark->from_low, mark->from_high, middle);
        plot_scene_dot(page->scene, one->style == POINTS ? PLOT_DIAMOND : PLOT_TRIANGLE,
                       (plot_pen){PLOT_LINE, 1, PLOT_SOLID}, one->left, middle, cells ? 6 : 4.5);
    } else {
        bool thin = one->style == BLOCKS || one->style == ALERTS || one->style == OTHERS;
        plot_ink ink = one->style == ALERTS ? PLOT_ACCENT
                       : thin               ? PLOT_LINE
                       : one->odd           ? PLOT_TINT
                                            : PLOT_SHADE;
        double inset = thin ? 0.28 * one->height : 0;
        plot_scene_box(page->scene, ink, one->left, one->top + inset,
                       fmax(one->right - one->left, 1.5), one->height - 2 * inset);
        double y = thin ? middle : bottom;
        draw_whisker(page, x, one, mark->from_low, mark->from_high, y);
        draw_whisker(page, x, one, mark->to_low, mark->to_high, y);
    }
    return draw_label(page, one);
}

/* ---- a lane ---- */

static void open_mark(plot_page *page, const shot_mark *mark) {
    shot_text text = {0}, part = {0};
    if (plot_words_add_mark(mark, &text) == SHOT_OK &&
        shot_text_add_format(&part, "mark %s", mark->kind) == SHOT_OK)
        plot_scene_open(page->scene, part.bytes, text.bytes);
    else
        page->scene->status = SHOT_ERR_MEMORY;
    shot_text_free(&text);
    shot_text_free(&part);
}

/* How far the mark is drawn: its end, or that of the interval of its end. */
static double reach_of(const plot_page *page, const plot_axis *x, const shot_mark *mark,
                       double right) {
    const double ends[] = {mark->from_high, mark->to_high};
    for (size_t i = 0; i < 2 && !page->look.type.cells; i++)
        if (isfinite(ends[i]))
            right = fmax(right, plot_axis_clamp(x, ends[i]));
    return right;
}

static bool draw_lane(plot_page *page, const plot_axis *x, const lane *one,
                      const shot_mark_list *marks) {
    const plot_type *type = &page->look.type;
    double height = type->cells ? type->line : 1.05 * type->line, inset = type->cells ? 0 : 1.5;
    plot_font font = plot_font_of(PLOT_SOFT, type->small, PLOT_END);
    plot_scene_words(page->scene, font, page->left - (type->cells ? 8 : 7),
                     page->y + height / 2 + 0.36 * font.size, one->name);
    bool odd = false, labelled = true;
    for (size_t i = next_of(one, marks, 0), next; i < marks->count; i = next) {
        const shot_mark *mark = &marks->marks[i];
        next = next_of(one, marks, i + 1);
        bool point = one->style == POINTS || one->style == NOTES;
        double to = point ? mark->from : isfinite(mark->to) ? mark->to : x->high;
        item it = {.mark = mark,
                   .style = one->style,
                   .left = plot_axis_clamp(x, mark->from),
                   .right = plot_axis_clamp(x, to),
                   .top = page->y + inset,
                   .height = height - 2 * inset,
                   .reach = reach_of(page, x, mark, plot_axis_clamp(x, to)),
                   .room_to = next < marks->count ? plot_axis_clamp(x, marks->marks[next].from)
                                                  : page->right,
                   .odd = odd};
        odd = !odd;
        open_mark(page, mark);
        labelled = draw_item(page, x, &it) && labelled;
        plot_scene_close(page->scene);
    }
    page->y += height;
    return labelled;
}

bool plot_lanes_draw(plot_page *page, const plot_axis *x, const shot_table *shot) {
    double start = page->y;
    bool figures = true;
    plot_scene_open(page->scene, "findings", NULL);
    for (size_t i = 0; i < LANES; i++)
        if (is_used(&lanes[i], shot) && !draw_lane(page, x, &lanes[i], &shot->marks) &&
            has_kind(&lanes[i], "pulse"))
            figures = false;
    plot_scene_close(page->scene);
    if (page->y > start && !page->look.type.cells)
        page->y += 0.6 * page->look.type.line;
    return figures;
}

/* ---- under the panels ---- */

static void lay_border(plot_page *page, const plot_axis *x, double when, plot_pen pen, double top,
                       double bottom) {
    if (isfinite(when) && when > x->low && when < x->high)
        plot_scene_rule(page->scene, pen, plot_axis_place(x, when), top, plot_axis_place(x, when),
                        bottom);
}

void plot_lanes_lay_under(plot_page *page, const plot_axis *x, const shot_table *shot, double top,
                          double bottom) {
    static const plot_pen border = {PLOT_SHADE, 1, PLOT_SOLID}, drop = {PLOT_SOFT, 1, PLOT_DOTTED};
    for (size_t i = 0; i < shot->marks.count; i++) {
        const shot_mark *mark = &shot->marks.marks[i];
        if (!isfinite(mark->from))
            continue;
        double to = isfinite(mark->to) ? mark->to : x->high;
        if (strcmp(mark->kind, "surge") == 0)
            plot_scene_box(page->scene, PLOT_ACCENT_TINT, plot_axis_clamp(x, mark->from), top,
                           plot_axis_clamp(x, to) - plot_axis_clamp(x, mark->from), bottom - top);
        if (page->look.type.cells)
            continue;
        if (belongs(&lanes[1], mark)) {
            lay_border(page, x, mark->from, border, top, bottom);
            lay_border(page, x, mark->to, border, top, bottom);
        } else if (strcmp(mark->kind, "first-drip") == 0) {
            lay_border(page, x, mark->from, drop, top, bottom);
        }
    }
}
