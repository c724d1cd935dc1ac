/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The object that shot-write makes of a shot, read back. */
#ifndef SHOT_STREAM_JSON_EXPORT_H
#define SHOT_STREAM_JSON_EXPORT_H

#include "stream/foreign_table.h"
#include "stream/json_unit.h"

/* True if the unit is such an object: it starts with `shot` and has a clock among its data. */
bool shot_json_is_export(const shot_json_unit *unit);

/* Tell its metadata, comments, marks and rows. */
shot_status shot_json_export_tell(const shot_json_unit *unit, shot_table_target *target,
                                  shot_error *error);

#endif
