/* SPDX-License-Identifier: GPL-3.0-or-later */
/* shot-spectrum: power spectrum and ripple. */
#ifndef SHOTTRACE_DETECT_SPECTRUM_H
#define SHOTTRACE_DETECT_SPECTRUM_H

#include <shottrace/trace/description.h>

#ifdef __cplusplus
extern "C" {
#endif

/* shot-spectrum: a detector that adds a mark `ripple` for each channel that has one, and writes the
 * spectrum as a table where it is asked for. */
SHOT_API extern const shot_description shot_spectrum;

#ifdef __cplusplus
}
#endif
#endif
