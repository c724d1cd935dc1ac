/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Everything of the layer detect: sinks that add marks. */
#ifndef SHOTTRACE_DETECT_H
#define SHOTTRACE_DETECT_H

#include <shottrace/detect/knees.h>
#include <shottrace/detect/pulses.h>
#include <shottrace/detect/segment.h>
#include <shottrace/detect/surges.h>
#include <shottrace/detect/spectrum.h>

#endif
