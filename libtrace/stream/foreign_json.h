/* SPDX-License-Identifier: GPL-3.0-or-later */
/* JSON of a form that is worked out drives a shot_table_target.
 *
 * Understood are objects that are rows, one for each sample, in a list or one behind the other
 * (JSON lines); objects whose lists are columns; and lists of lists, whose titles stand in a list
 * of words before them or are said.  What lies deeper has a name with points, "data.pressure";
 * single values beside rows or columns are metadata. */
#ifndef SHOT_STREAM_FOREIGN_JSON_H
#define SHOT_STREAM_FOREIGN_JSON_H

#include "stream/foreign_table.h"

typedef struct shot_foreign_json shot_foreign_json;

/* As for delimited text; *out is freed with shot_foreign_json_free. */
shot_status shot_foreign_json_new(const struct shot_read_settings *settings,
                                  shot_foreign_table *table, shot_table_target *target,
                                  shot_foreign_json **out);
shot_status shot_foreign_json_push(shot_foreign_json *json, const char *bytes, size_t count,
                                   shot_error *error);
shot_status shot_foreign_json_finish(shot_foreign_json *json, shot_error *error);
void shot_foreign_json_free(shot_foreign_json *json);

#endif
