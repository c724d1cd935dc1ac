/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The key above a picture. */
#include "plot/key.h"

#include <math.h>

plot_pen plot_key_pen(const plot_look *look, size_t index, size_t count) {
    static const plot_pen few[PLOT_KEY_FEW] = {{PLOT_LINE, 1.6, PLOT_SOLID},
                                               {PLOT_ACCENT, 1.6, PLOT_DASHED},
                                               {PLOT_LINE, 1.6, PLOT_DOTTED},
                                               {PLOT_BEHIND, 2.2, PLOT_SOLID}};
    const double crowded = count > 40 ? 0.4 : 0.8; /* so that what lies under them can be seen */
    plot_pen pen =
        count <= PLOT_KEY_FEW ? few[index] : (plot_pen){PLOT_BEHIND, crowded, PLOT_SOLID};
    if (look->type
            .cells) /* the last of few is told by two rows of dots, as there is no paler one */
        pen.width = pen.ink == PLOT_BEHIND ? 7 : 3;
    return pen;
}

plot_key plot_key_begin(plot_page *page) {
    plot_scene_open(page->scene, "key", NULL);
    return (plot_key){page, page->left};
}

static double row_height(const plot_page *page) {
    return page->look.type.line * (page->look.type.cells ? 1 : 1.4);
}

void plot_key_add(plot_key *key, plot_pen pen, const char *name) {
    plot_page *page = key->page;
    const plot_type *type = &page->look.type;
    const double length = 2 * type->line, gap = 8;
    const double width = plot_glyphs_width(type, name, type->small, false);
    if (key->x > page->left && key->x + length + gap + width > page->right) {
        key->x = page->left;
        page->y += row_height(page);
    }
    const double room = page->right - key->x - length - gap, y = page->y + type->line / 2;
    const double margin = type->cells ? 0 : 0.2 * type->line; /* a tint is seen in whole cells */
    if (pen.ink == PLOT_BAND)
        plot_scene_box(page->scene, pen.ink, key->x, page->y + margin, length,
                       type->line - 2 * margin);
    else
        plot_scene_rule(page->scene, pen, key->x, y, key->x + length, y);
    plot_font font = plot_font_of(PLOT_TEXT, type->small, PLOT_START);
    font.ends = true;
    plot_page_words(page, font, key->x + length + gap,
                    plot_page_baseline(page, page->y, type->small), room, name);
    key->x += length + gap + fmin(width, room) + 1.5 * type->line;
}

void plot_key_end(plot_key *key) {
    plot_scene_close(key->page->scene);
    key->page->y += row_height(key->page);
}
