/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Quantities that follow from the measured ones. */
#ifndef SHOTTRACE_FILTER_DERIVE_H
#define SHOTTRACE_FILTER_DERIVE_H

#include <shottrace/trace/description.h>

#ifdef __cplusplus
extern "C" {
#endif

/* shot-derive: a filter that adds channels: hydraulic-resistance [bar.s/ml], hydraulic-conductance
 * [ml/s/bar], hydraulic-power [W], apparent-permeability [m2], water [ml], outflow [g/s]. */
SHOT_API extern const shot_description shot_derive;

#ifdef __cplusplus
}
#endif
#endif
