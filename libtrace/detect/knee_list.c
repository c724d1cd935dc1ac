/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Knees in order. */
#include "detect/knee_list.h"

void knee_list_insert(shot_knee knee, shot_knee *knees, size_t *count) {
    size_t i = (*count)++;
    for (; i > 0 && knees[i - 1].at > knee.at; i--)
        knees[i] = knees[i - 1];
    knees[i] = knee;
}

void knee_list_remove(size_t i, shot_knee *knees, size_t *count) {
    (*count)--;
    for (; i < *count; i++)
        knees[i] = knees[i + 1];
}
