/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Files that a stage opens itself: those to compare with, the usual ones, what was wanted. */
#ifndef SHOT_CHAIN_LOADER_H
#define SHOT_CHAIN_LOADER_H

#include <shottrace/chain/chain.h>

/* The `load` of a shot_loader; `user` is the shot_chain_ends: its notice takes
 * warnings, its prepare what no detector has seen. */
shot_status shot_chain_load(void *user, const shot_texts *paths, const shot_intake *into,
                            shot_error *error);

#endif
