/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The beginning of a delimited text, by which its dialect is decided, and what options say of it
 * beforehand. */
#ifndef SHOT_STREAM_FOREIGN_SAMPLE_H
#define SHOT_STREAM_FOREIGN_SAMPLE_H

#include <stdbool.h>

#include <shottrace/trace/text.h>

#include "stream/dialect.h"
#include "stream/read_settings.h"

typedef struct shot_foreign_sample {
    shot_text text; /* freed by its owner */
    size_t longest; /* bytes of a line */
    size_t lines, wanted_lines, wanted_bytes;
    bool after_cr;
} shot_foreign_sample;

void shot_foreign_sample_start(shot_foreign_sample *self, size_t longest);

/* Take bytes up to where the sample is to be looked at, which *full says; *bytes and *count become
 * what is left.  SHOT_ERR_MEMORY. */
shot_status shot_foreign_sample_take(shot_foreign_sample *self, const char **bytes, size_t *count,
                                     bool *full);

/* Does a sample with so many rows tell the dialect? */
bool shot_foreign_sample_is_enough(const shot_foreign_sample *self, size_t rows);

/* It did not: the next look is at twice as much. */
void shot_foreign_sample_want_more(shot_foreign_sample *self);

/* Fails, and says that no rows were found in it; `all`: it is the whole text. */
shot_status shot_foreign_sample_no_rows(const shot_foreign_sample *self, bool all,
                                        shot_error *error);

/* The dialect as far as options say it; SHOT_ERR_USAGE for a sign that is none. */
shot_status shot_dialect_said(const struct shot_read_settings *settings, shot_dialect *dialect,
                              shot_error *error);

#endif
