/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A recording drives a shot_table_target: a track is a column, a frame at the rate of the trace a
 * row. */
#ifndef SHOT_STREAM_FOREIGN_RECORDING_H
#define SHOT_STREAM_FOREIGN_RECORDING_H

#include "stream/foreign_table.h"

typedef struct shot_foreign_recording shot_foreign_recording;

/* `table` is told of losses and reasons, `target` gets the header and the rows.  All borrowed.
 *   form  what its first bytes say, for --explain
 * *out is freed with shot_foreign_recording_free. */
shot_status shot_foreign_recording_new(const struct shot_read_settings *settings,
                                       shot_foreign_table *table, shot_table_target *target,
                                       const char *form, shot_foreign_recording **out,
                                       shot_error *error);
shot_status shot_foreign_recording_push(shot_foreign_recording *recording, const char *bytes,
                                        size_t count, shot_error *error);
/* `cut` says that the bytes ended too early. */
shot_status shot_foreign_recording_finish(shot_foreign_recording *recording, bool cut,
                                          shot_error *error);
void shot_foreign_recording_free(shot_foreign_recording *recording);

#endif
