/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Physics of water, machine and puck: everything of the puck layer. */
#ifndef SHOTTRACE_PUCK_H
#define SHOTTRACE_PUCK_H

#include <shottrace/puck/brew.h>
#include <shottrace/puck/darcy.h>
#include <shottrace/puck/gas.h>
#include <shottrace/puck/infiltration.h>
#include <shottrace/puck/logger.h>
#include <shottrace/puck/orifice.h>
#include <shottrace/puck/packed_bed.h>
#include <shottrace/puck/program_text.h>
#include <shottrace/puck/recipe.h>
#include <shottrace/puck/spring.h>
#include <shottrace/puck/synth.h>
#include <shottrace/puck/synth_source.h>
#include <shottrace/puck/truth.h>
#include <shottrace/puck/water.h>

#endif
