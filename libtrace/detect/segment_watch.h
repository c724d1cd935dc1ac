/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What phases tell while the shot runs: water in, end of the fill, full pressure, first drop,
 * end of the brew, end of the release. */
#ifndef SHOT_DETECT_SEGMENT_WATCH_H
#define SHOT_DETECT_SEGMENT_WATCH_H

#include <shottrace/trace/detector.h>

extern const shot_watch segment_watch;

#endif
