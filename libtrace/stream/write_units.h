/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The units that a person wants in an export: --unit pressure=psi. */
#ifndef SHOT_STREAM_WRITE_UNITS_H
#define SHOT_STREAM_WRITE_UNITS_H

#include <shottrace/trace/option.h>
#include <shottrace/trace/shot.h>
#include <shottrace/trace/unit.h>

/* The unit that was said for the channel, or else `initial`. */
const char *shot_write_unit(const shot_texts *said, const char *channel, const char *initial);

/* How values of the channel become `to`; SHOT_ERR_UNIT, with the channel named, if they cannot. */
shot_status shot_write_conversion(const shot_channel *channel, const char *to, shot_conversion *out,
                                  shot_error *error);

/* Every --unit is CHANNEL=UNIT; SHOT_ERR_USAGE if not. */
shot_status shot_write_check_units(const shot_texts *said, shot_error *error);

#endif
