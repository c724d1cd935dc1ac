/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The end of the brew and of the release: told while samples arrive.
 *
 * Ten times a second, by the samples' own clock, the last pressures are held against the highest of
 * the last 4 s.  The brew has ended when less than two thirds of it are left and water has
 * stopped running, when less than a quarter is left and water does not run as before, or when no
 * pressure is left.  A pressure that is eased off goes on with water; a puck that is shut off
 * drains (Darcy 1856).  When the pump stopped is found in the last seconds as at the end of the
 * shot (find_end.c).  A pump that comes on again within 5 s only stood for a while. */
#ifndef SHOT_DETECT_LIVE_END_H
#define SHOT_DETECT_LIVE_END_H

#include <shottrace/trace/table.h>

/* All zero at the beginning of a shot. */
typedef struct live_end {
    double next_look;     /* s */
    double off, released; /* as told, s */
    double level, flow;   /* of the brew that ended: bar above rest, ml/s */
    bool ended, gone;     /* the pump stopped; no pressure is left */
} live_end;

typedef enum live_end_news {
    LIVE_END_NOTHING,
    LIVE_END_OFF,      /* the pump stopped at `off` */
    LIVE_END_RELEASED, /* no pressure is left from `released` on */
    LIVE_END_ON_AGAIN  /* the pump runs on: it was no end */
} live_end_news;

/* After each row of a shot with pressure; full pressure was reached at `full`, and `rest` is what
 * the gauge shows without any.  SHOT_ERR_MEMORY, or what the metadata are at fault with. */
shot_status live_end_look(live_end *end, const shot_table *shot, double full, double rest,
                          live_end_news *news, shot_error *error);

/* Has the brew ended for so long that what comes is another shot? */
bool live_end_is_over(const live_end *end, double now);

#endif
