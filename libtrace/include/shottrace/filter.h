/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Everything of the layer filter: what changes samples. */
#ifndef SHOTTRACE_FILTER_H
#define SHOTTRACE_FILTER_H

#include <shottrace/filter/clean.h>
#include <shottrace/filter/align.h>
#include <shottrace/filter/derive.h>
#include <shottrace/filter/diff.h>
#include <shottrace/filter/integrate.h>
#include <shottrace/filter/join.h>
#include <shottrace/filter/pick.h>
#include <shottrace/filter/resample.h>
#include <shottrace/filter/smooth.h>
#include <shottrace/filter/split.h>
#include <shottrace/filter/tag.h>

#endif
