/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Knees in the order of their times. */
#ifndef SHOT_DETECT_KNEE_LIST_H
#define SHOT_DETECT_KNEE_LIST_H

#include "detect/knee_finder.h"

/* Put one in its place among knees [*count], which have room for it; behind those of its time. */
void knee_list_insert(shot_knee knee, shot_knee *knees, size_t *count);

/* Take out number i. */
void knee_list_remove(size_t i, shot_knee *knees, size_t *count);

#endif
