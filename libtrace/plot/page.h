/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The page: what stands above and below every picture, and the frame of a panel. */
#ifndef SHOT_PLOT_PAGE_H
#define SHOT_PLOT_PAGE_H

#include <shottrace/trace/shot.h>

#include "plot/axis.h"
#include "plot/glyphs.h"
#include "plot/scene.h"

/* What the picture is made for. */
typedef struct plot_look {
    plot_theme theme;
    double width;   /* of the page */
    double height;  /* of the screen that it is to fit; 0: as tall as it comes */
    double lines;   /* that a panel may have at most; 0: as many as read well */
    double pixel;   /* of the device, in page units */
    plot_type type; /* plot_type_page or plot_type_cells */
} plot_look;

extern const plot_type plot_type_page, plot_type_cells;

/* A picture under way.  Builders add below `y` and move it on. */
typedef struct plot_page {
    plot_scene *scene;
    plot_look look;
    double left, right; /* of the panels */
    double y;
} plot_page;

/* An empty page with its title and a line or two below it (either may be NULL); the panels start at
 * page->y. */
void plot_page_begin(plot_page *page, plot_scene *scene, const plot_look *look, const char *title,
                     const char *subtitle);
/* Set the left end of the panels so that labels of this width fit beside them. */
void plot_page_make_gutter(plot_page *page, double label_width);
/* What the signs on the panels mean, below them; `words` may be empty. */
void plot_page_legend(plot_page *page, const char *words);
/* How the data were made, at the bottom, and the end of the page. `words` may be NULL. */
void plot_page_end(plot_page *page, const char *words);

/* Drawn anew, the picture may fit a screen of cells that it is too tall for: the scene is empty
 * then, and panels may have a line less.  False if it fits, or if curves could not be read any
 * more. */
bool plot_page_shrink(plot_look *look, plot_scene *scene);

/* The height of a panel that reads well with so many lines. */
double plot_page_panel_height(const plot_page *page, double lines);

/* The baseline of text of that size in a row of one line from `top` on. */
double plot_page_baseline(const plot_page *page, double top, double size);
/* Words at that place, shortened to `room`. */
void plot_page_words(plot_page *page, plot_font font, double x, double y, double room,
                     const char *words);
/* Words of that ink and size whose start, middle or end lies at their place. */
plot_font plot_font_of(plot_ink ink, double size, plot_anchor anchor);

/* ---- panels ---- */

/* The name of a channel and its unit as people read them, "hydraulic resistance" "bar·s/ml". */
shot_status plot_page_add_name(const char *name, shot_text *text);
shot_status plot_page_add_unit(const char *unit, shot_text *text);

/* The line above a panel: its name, unit and a remark (may be NULL); page->y moves below it. */
void plot_page_panel_name(plot_page *page, const char *name, const char *unit, const char *remark);

/* How many ticks an axis of that length takes. */
size_t plot_page_ticks_down(const plot_page *page, double height);
size_t plot_page_ticks_across(const plot_page *page, double width);
/* The widest label of an axis. */
double plot_page_label_width(const plot_page *page, const plot_axis *axis);

/* Instead of a line, where a panel has none to show. */
void plot_page_no_values(plot_page *page, double top, double bottom);

/* Grid lines and labels of an axis of values, from page->left to page->right. */
void plot_page_values(plot_page *page, const plot_axis *y);
/* The room that the name of an axis across needs beside the panels. */
double plot_page_name_width(const plot_page *page, const char *name);
/* The axis at the bottom, its labels below page->y, which moves on, and its name (may be
 * empty) beside them. */
void plot_page_bottom(plot_page *page, const plot_axis *x, const char *name);

#endif
