/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where recordings of shots go: to the output, or each into a file named after its shot. */
#ifndef SHOT_STREAM_RECORDING_FILE_H
#define SHOT_STREAM_RECORDING_FILE_H

#include <shottrace/trace/description.h>
#include <shottrace/trace/text.h>

#include "stream/shot_names.h"

/* Stands for the name of the shot in a pattern. */
#define SHOT_NAME_PLACE '%'

typedef struct shot_recording_files {
    const char *pattern; /* "day/%.wav"; NULL: all goes to the output */
    const shot_output *output;
    shot_names taken;
    size_t count; /* of recordings so far */
} shot_recording_files;

/* SHOT_ERR_DATA if a further recording has no place of its own. */
shot_status shot_recording_files_check(const shot_recording_files *files, const char *shot,
                                       shot_error *error);

/* Write the bytes of a shot.  In a file's name every byte of the shot's name that a file system
 * or a shell could take for something else becomes '_', and a name that comes again gets a suffix.
 * SHOT_ERR_WRITE with the name of the file. */
shot_status shot_recording_files_write(shot_recording_files *files, const char *shot,
                                       const shot_text *bytes, shot_error *error);

void shot_recording_files_free(shot_recording_files *files);

#endif
