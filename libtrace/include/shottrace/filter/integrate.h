/* SPDX-License-Identifier: GPL-3.0-or-later */
/* shot-integrate: running integrals of channels, on even and uneven times. */
#ifndef SHOTTRACE_FILTER_INTEGRATE_H
#define SHOTTRACE_FILTER_INTEGRATE_H

#include <shottrace/trace/description.h>

#ifdef __cplusplus
extern "C" {
#endif

SHOT_API extern const shot_description shot_integrate;

#ifdef __cplusplus
}
#endif
#endif
