/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The pictures that are not of one shot over its time (panels.h).
 *
 * Each takes what came in, draws onto an empty scene, and returns SHOT_ERR_DATA with a sentence
 * where there is nothing to draw. */
#ifndef SHOT_PLOT_PICTURES_H
#define SHOT_PLOT_PICTURES_H

#include <shottrace/judge/measure_table.h>
#include <shottrace/trace/option.h>

#include "plot/csv.h"
#include "plot/intake.h"
#include "plot/page.h"

/* A sweep (shot-sweep --format curve): shots, fitted curve, peak and its interval. */
shot_status plot_sweep_draw(const plot_csv *csv, const plot_look *look, plot_scene *scene,
                            shot_error *error);

/* A comparison (shot-compare --format csv): differences in scatters with their intervals. */
shot_status plot_contrasts_draw(const plot_csv *csv, const plot_look *look, plot_scene *scene,
                                shot_error *error);

/* Spectra (shot-spectrum --table): a panel for each shot and channel. */
shot_status plot_spectra_draw(const plot_csv *csv, const plot_look *look, plot_scene *scene,
                              shot_error *error);

/* Control charts of the measures named, or of some usual ones (none named). */
shot_status plot_control_draw(const shot_measure_table *table, const shot_texts *measures,
                              const plot_look *look, plot_scene *scene, shot_error *error);

/* Pressure against flow, for one shot with its times, or several. */
shot_status plot_path_draw(const shot_table_list *shots, const plot_look *look, plot_scene *scene,
                           shot_error *error);

/* Several shots over each other, a panel a channel: up to four with lines of their own kind, more
 * with their median and the band that holds nine of ten at each time. */
shot_status plot_overlay_draw(const shot_table_list *shots, const shot_texts *channels,
                              const plot_look *look, plot_scene *scene, shot_error *error);

/* A small panel a shot, of one channel (the first named, or the first there is), all to the same
 * scale, over the median of all. */
shot_status plot_multiples_draw(const shot_table_list *shots, const shot_texts *channels,
                                const plot_look *look, plot_scene *scene, shot_error *error);

#endif
