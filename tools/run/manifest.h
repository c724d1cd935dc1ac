/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What a run read and how that went: a table with a row a file, so that the run can be repeated,
 * its input told from another, and what failed be read again. */
#ifndef SHOT_RUN_MANIFEST_H
#define SHOT_RUN_MANIFEST_H

#include <stdbool.h>

#include <shottrace/status.h>

/* Begin one at `path`, for a run of `chain`; from now on it hears of the files that the tool reads.
 */
shot_status shot_manifest_begin(const char *path, const char *chain, shot_error *error);

/* A shot of the file that is being read; "" for one without a name. */
void shot_manifest_named(const char *shot);

/* A message of the run.  One that begins with the name of a file, or `shot 'NAME'`, is a warning of
 * that file.
 *   failed  it says that a shot's filters failed */
void shot_manifest_heard(const char *message, bool failed);

/* Write the table: nothing where none was begun. */
shot_status shot_manifest_end(shot_error *error);

#endif
