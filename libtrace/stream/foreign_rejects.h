/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rows that cannot be read: named, counted, kept aside. */
#ifndef SHOT_STREAM_FOREIGN_REJECTS_H
#define SHOT_STREAM_FOREIGN_REJECTS_H

#include <stdio.h>

#include <shottrace/trace/description.h>

#include "stream/loss.h"
#include "stream/read_settings.h"
#include "stream/records.h"

typedef struct shot_rejects {
    const struct shot_read_settings *settings;
    shot_notice notice;
    FILE *aside; /* of --rejects; opened at the first row */
    shot_loss_count loss;
    bool headed; /* the header that is in force stands in the file */
} shot_rejects;

/* One row.  `error` holds the place and the reason; its code tells whether this is a matter of one
 * row.  Returns SHOT_OK if reading goes on, else (with --strict, or if the file cannot be written)
 * the failure, in `error`.
 *   header  the record of the titles, written before the first row: what is kept aside can be read
 *           again; may be NULL */
shot_status shot_rejects_take(shot_rejects *rejects, const char *header, size_t header_length,
                              const shot_record *row, shot_error *error);

/* The file is over; tell how many of its rows were not named. */
void shot_rejects_end_file(shot_rejects *rejects, const char *file);

/* Close what was kept aside. */
shot_status shot_rejects_finish(shot_rejects *rejects, shot_error *error);
void shot_rejects_free(shot_rejects *rejects);

#endif
