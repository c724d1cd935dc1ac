/* SPDX-License-Identifier: GPL-3.0-or-later */
/* shot-check: how good a log is, and what it can show. */
#ifndef SHOTTRACE_JUDGE_CHECK_H
#define SHOTTRACE_JUDGE_CHECK_H

#include <shottrace/trace/description.h>

#ifdef __cplusplus
extern "C" {
#endif

SHOT_API extern const shot_description shot_check;

#ifdef __cplusplus
}
#endif
#endif
