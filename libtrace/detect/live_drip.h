/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The first drop: told while samples arrive.
 *
 * Ten times a second, by the samples' own clock, the last weights are held against the least of
 * the last 20 s.  Where they lie over it beyond noise and steps, these 20 s are searched as the
 * whole shot is at its end (find_drip.c): that waits until the weight has stayed up for half
 * a second, so that a knock is no drop, nor a cup that is put on.  What was told is
 * looked at again when more of the stream has come: it may move, or turn out to be none. */
#ifndef SHOT_DETECT_LIVE_DRIP_H
#define SHOT_DETECT_LIVE_DRIP_H

#include <shottrace/trace/table.h>

/* All zero at the beginning of a shot. */
typedef struct live_drip {
    double next_look; /* s */
    double at;        /* the drop that was told, s */
    double told_t;    /* when; */
    int checks;       /* how often it was looked at again since */
    bool told;
} live_drip;

typedef enum live_drip_news {
    LIVE_DRIP_NOTHING,
    LIVE_DRIP_TOLD, /* `at` is the first drop, or a better place of it */
    LIVE_DRIP_NONE  /* what was told was none */
} live_drip_news;

/* After each row; `water` is when water came into the basket.  SHOT_ERR_MEMORY, or what the
 * metadata of the shot are at fault with. */
shot_status live_drip_look(live_drip *drip, const shot_table *shot, double water,
                           live_drip_news *news, shot_error *error);

#endif
