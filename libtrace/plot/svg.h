/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A scene as SVG 1.1.  Text stays text: it can be searched, selected and read aloud. */
#ifndef SHOT_PLOT_SVG_H
#define SHOT_PLOT_SVG_H

#include <shottrace/trace/text.h>

#include "plot/scene.h"

/* Append the document.  It holds no script, no style sheet and no reference to anything outside;
 * all text is escaped (Extensible Markup Language 1.0, 2.4).  Groups bear their part as class and
 * their words as title. */
shot_status plot_svg_write(const plot_scene *scene, shot_text *out);

#endif
