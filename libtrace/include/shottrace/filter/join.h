/* SPDX-License-Identifier: GPL-3.0-or-later */
/* shot-join: two logs of one shot with clocks of their own become one. */
#ifndef SHOTTRACE_FILTER_JOIN_H
#define SHOTTRACE_FILTER_JOIN_H

#include <shottrace/trace/description.h>

#ifdef __cplusplus
extern "C" {
#endif

SHOT_API extern const shot_description shot_join;

#ifdef __cplusplus
}
#endif
#endif
