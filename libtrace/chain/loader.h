/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Files that a stage opens itself: those to compare with, the usual ones, what was wanted. */
#ifndef SHOT_CHAIN_LOADER_H
#define SHOT_CHAIN_LOADER_H

#include <shottrace/chain/chain.h>

/* The `load` of a shot_loader; `user` is the chain: the notice of its ends takes warnings, their
 * prepare what no detector has seen, and it counts the files that it went without. */
shot_status shot_chain_load(void *user, const shot_texts *paths, const shot_intake *into,
                            shot_error *error);

#endif
