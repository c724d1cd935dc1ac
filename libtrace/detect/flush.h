/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Runs of the pump before a shot that met no coffee. */
#ifndef SHOT_DETECT_FLUSH_H
#define SHOT_DETECT_FLUSH_H

#include "detect/course.h"
#include "detect/pump_gaps.h"

/* How many of the first `count` runs of the pump, each of which ends with one of the gaps, were
 * flushes: they met no resistance, the pump then stood for as long as between two shots, and the
 * next run had a headspace of its own to fill.  `water` is when the first begins.  0 where no meter
 * tells. */
size_t shot_flushes(const shot_course *course, double water, const pump_gap *gaps, size_t count);

/* May the first run, up to the gap, have been one, though nothing tells for sure? */
bool shot_maybe_flush(const shot_course *course, double water, const pump_gap *gap);

#endif
