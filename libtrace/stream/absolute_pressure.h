/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Units that count pressure from nothing and not from that of the air. */
#ifndef SHOT_STREAM_ABSOLUTE_PRESSURE_H
#define SHOT_STREAM_ABSOLUTE_PRESSURE_H

#include <stdbool.h>

#include <shottrace/status.h>

/* Whether the text says so: a unit of pressure with a word for it ("psia", "bar abs", "kPa (a)").
 * SHOT_ERR_MEMORY. */
shot_status shot_unit_is_absolute(const char *text, size_t length, bool *absolute);

#endif
