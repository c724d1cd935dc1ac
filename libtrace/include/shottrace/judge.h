/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Everything of the layer judge: what the findings mean. */
#ifndef SHOTTRACE_JUDGE_H
#define SHOTTRACE_JUDGE_H

#include <shottrace/judge/advice.h>
#include <shottrace/judge/average.h>
#include <shottrace/judge/check.h>
#include <shottrace/judge/compare.h>
#include <shottrace/judge/contrast.h>
#include <shottrace/judge/marks.h>
#include <shottrace/judge/measure.h>
#include <shottrace/judge/measure_table.h>
#include <shottrace/judge/repeatability.h>
#include <shottrace/judge/report.h>
#include <shottrace/judge/sweep.h>

#endif
