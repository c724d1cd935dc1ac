/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A file of settings: `name = value` a line, '#' starts a comment line.  Internal to chain/. */
#ifndef SHOT_CHAIN_SETTINGS_FILE_H
#define SHOT_CHAIN_SETTINGS_FILE_H

#include <shottrace/status.h>

typedef shot_status (*shot_settings_setter)(void *user, const char *name, const char *value,
                                            shot_error *error);

/* Read the file at `path` and call `set` for each line; errors bear its name and line.
 * SHOT_ERR_READ, SHOT_ERR_USAGE (a line without '=', or what `set` returns), SHOT_ERR_MEMORY. */
shot_status shot_settings_file_read(const char *path, shot_settings_setter set, void *user,
                                    shot_error *error);

#endif
