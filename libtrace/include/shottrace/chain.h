/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Everything of the layer chain: filters by name, their settings and help, chains in one process. */
#ifndef SHOTTRACE_CHAIN_H
#define SHOTTRACE_CHAIN_H

#include <shottrace/chain/chain.h>
#include <shottrace/chain/find.h>
#include <shottrace/chain/help.h>
#include <shottrace/chain/manual.h>
#include <shottrace/chain/prepare.h>
#include <shottrace/chain/registry.h>
#include <shottrace/chain/settings.h>

#endif
