/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a reader could not take: named and counted. */
#ifndef SHOT_STREAM_LOSS_H
#define SHOT_STREAM_LOSS_H

#include <stdbool.h>
#include <stddef.h>

#include <shottrace/trace/description.h>

/* What is lost of one kind.  The first of each file is named, others until 20 were; of the rest
 * only the count is told, file by file: no file hides behind another. */
typedef struct shot_loss_count {
    size_t count, named;           /* of all files */
    size_t of_file, named_of_file; /* of the one that is read */
} shot_loss_count;

/* Count one; true if it is to be named. */
bool shot_loss_is_named(shot_loss_count *loss);
/* The file is over: tell how many of it were not named, as "FILE: N more WHAT" ("row could not",
 * "rows could not"). */
void shot_loss_end_file(shot_loss_count *loss, const shot_notice *notice, const char *file,
                        const char *one, const char *many);

#endif
