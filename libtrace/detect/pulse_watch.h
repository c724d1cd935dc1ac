/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What pulses tell while the shot runs: each when the pump has stopped. */
#ifndef SHOT_DETECT_PULSE_WATCH_H
#define SHOT_DETECT_PULSE_WATCH_H

#include <shottrace/trace/detector.h>

extern const shot_watch pulse_watch;

#endif
