/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Shots on their way into a table of measures, pushed or loaded from files. */
#ifndef SHOT_JUDGE_MEASURE_INTAKE_H
#define SHOT_JUDGE_MEASURE_INTAKE_H

#include <shottrace/judge/measure_table.h>
#include <shottrace/trace/description.h>

/* `sink` takes shots of the current `group`.  A shot that was cut short is left out, with a word.
 */
typedef struct shot_measure_intake {
    shot_sink sink;
    shot_measure_table *table;
    shot_notice notice;
    size_t group;
    shot_table shot;
} shot_measure_intake;

void shot_measure_intake_start(shot_measure_intake *intake, shot_measure_table *table,
                               shot_notice notice);
/* Load traces and tables of measures as shots of `group`. */
shot_status shot_measure_intake_load(shot_measure_intake *intake, const shot_loader *loader,
                                     const shot_texts *paths, size_t group, shot_error *error);
void shot_measure_intake_free(shot_measure_intake *intake);

#endif
