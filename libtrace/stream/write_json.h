/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A shot as one line of JSON, with all that it bears. */
#ifndef SHOT_STREAM_WRITE_JSON_H
#define SHOT_STREAM_WRITE_JSON_H

#include <shottrace/trace/description.h>

/* A sink for shot_write with format JSON.  It keeps one shot.  *out is freed with shot_sink_free.
 *
 *     {"shot":"quay-017","metadata":{"dose":"18.2 g","note":["a","b"]},"comments":[" a word"],
 *      "data":{"time [s]":[0,0.1],"pressure [bar]":[0.12,null]},
 *      "marks":{"kind":["knee"],"from":[6.42],"note":[null]}}
 *
 * `data` and `marks` are tables by columns; a key of metadata that comes more than once has a list;
 * a shot that was cut short has "cut":true. */
shot_status shot_write_json_new(const shot_making *making, shot_sink **out, shot_error *error);

#endif
