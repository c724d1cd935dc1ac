/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Shots on their way into a table of measures, pushed or loaded from files; and what the writers
 * have in common that look at such a table when all shots are there. */
#ifndef SHOT_JUDGE_MEASURE_INTAKE_H
#define SHOT_JUDGE_MEASURE_INTAKE_H

#include <shottrace/judge/measure_table.h>
#include <shottrace/trace/description.h>
#include <shottrace/trace/text.h>

/* A further measure of a whole shot, set on shot `index` of the table. */
typedef shot_status (*shot_measure_more)(void *user, const shot_table *shot,
                                         shot_measure_table *table, size_t index,
                                         shot_error *error);

/* `sink` takes shots of the current `group`.  A shot that was cut short is left out, with a word.
 * `more` may be NULL. */
typedef struct shot_measure_intake {
    shot_sink sink;
    shot_measure_table *table;
    shot_notice notice;
    size_t group;
    shot_measure_more more;
    void *user;
    shot_table shot;
} shot_measure_intake;

/* Load traces and tables of measures as shots of `group`. */
shot_status shot_measure_intake_load(shot_measure_intake *intake, const shot_loader *loader,
                                     const shot_texts *paths, size_t group, shot_error *error);

/* A writer that works when all shots are in the table: those pushed and those of the operands, as
 * group 0.  `finish` then fills `text`, which is written; `release` frees what the writer owns
 * besides.  Embed it as the first member. */
typedef struct shot_measure_writer shot_measure_writer;
struct shot_measure_writer {
    shot_sink sink;
    shot_measure_intake intake;
    const shot_output *output;
    const shot_texts *operands;
    shot_loader loader;
    shot_text text;
    shot_status (*finish)(shot_measure_writer *writer, shot_error *error);
    void (*release)(shot_measure_writer *writer);
};

/* Allocate a zeroed writer of `size` bytes and set it up; the caller fills finish, release and
 * intake.table, and from then on frees it as a sink. */
shot_status shot_measure_writer_new(const shot_making *making, size_t size,
                                    shot_measure_writer **out, shot_error *error);

#endif
