/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A cup on a scale only gains, and no faster than water can run: where its weight falls for good,
 * or leaps, the scale was tared or the cup put on or lifted off. */
#ifndef SHOT_DETECT_CUP_H
#define SHOT_DETECT_CUP_H

#include "detect/channel_view.h"

/* The part of the weight from sample *at to the next such change; *at becomes the first sample at
 * which the scale rests again after it, or weight->n.  Borrowed from `weight`. */
shot_channel_view shot_cup_stands(const shot_channel_view *weight, size_t *at);

/* Take off the end of `stands`, which came before sample `at`, what lies there because a hand
 * leaned on the cup: the scale rests at less from `at` on.  Where the weight rises on from there,
 * the scale was tared while the stream ran, and nothing is taken. */
void shot_cup_take_hand_off(const shot_channel_view *weight, size_t at, shot_channel_view *stands);

/* The longest part of from..to in which the cup stood untouched.  Borrowed from `weight`. */
shot_channel_view shot_cup_longest(const shot_channel_view *weight, double from, double to);

#endif
