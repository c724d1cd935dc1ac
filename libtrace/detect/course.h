/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the parts of the search for phases share: the channels with their levels. */
#ifndef SHOT_DETECT_COURSE_H
#define SHOT_DETECT_COURSE_H

#include "detect/phases.h"
#include "detect/puck_pressure.h"

static const double shot_no_pressure = 0.5; /* bar: no pressure worth the name */
static const double shot_longest_mean = 1;  /* s of a level, however noisy the channel */

typedef struct shot_course {
    const shot_phase_input *input;
    shot_channel_view puck;  /* pressure at the puck; n = 0 without a gauge */
    shot_channel_view level; /* its means over a third of a second or what noise makes needful */
    shot_channel_view flow_level;
    shot_channel_view weight;   /* the scale's own figures, each once */
    double level_se;            /* of a level */
    double level_length;        /* s of the pressure that its means take */
    double rest, top;           /* of the pressure: without any, and the highest level, bar */
    double flow_rest, flow_top; /* of the flow, ml/s */
    shot_restrictor restrictor; /* before the puck */
    double drops_stay;          /* s for which the first drops must; 0: as the whole shot allows */
} shot_course;

/* SHOT_ERR_MEMORY.  Freed with shot_course_free, also after an error. */
shot_status shot_course_new(const shot_phase_input *input, shot_course *out);
void shot_course_free(shot_course *course);

/* The last time at which the puck is under pressure, in two samples on end since a spike may be the
 * last; the end of the log if it never is. */
double shot_course_last_pressed(const shot_course *course);

/* When a pressure that was up before any water ran is let go: what stands before a shut valve is
 * not the puck's.  The water's own start where the pressure came up with it or later, or never goes
 * before it makes a plateau. */
double shot_course_let_go(const shot_course *course, const shot_instant *water);

/* When the pressure crossed a level, of which a gauge that lags shows the crossing late: by its lag
 * where the pressure goes slowly; where it goes at once, as late as an exponential takes until
 * `left` of the way is left.  Where the lag is not known: shot_instant_shown_late. */
shot_instant shot_course_shown_late(const shot_course *course, shot_instant shown, double left);

/* ---- the parts: all but the last may fail with SHOT_ERR_MEMORY ---- */

/* When water enters the basket. */
shot_status shot_find_water(const shot_course *course, shot_phases *out);

/* From the start of the main run: rise, full pressure, end of fill.  The course's `top` becomes
 * that of the main run. */
shot_status shot_find_main_rise(shot_course *course, shot_phases *out);

/* The start of the rise to full pressure, which is known; the pump stood from `stood` to `on`, or
 * the puck was held since then where both are the same. */
shot_status shot_find_rise_before(const shot_course *course, double stood, double on, double full,
                                  shot_instant *out);

/* After the main pressure is reached: pump off, release.  The end of the stream is known, if there
 * is one. */
shot_status shot_find_end(const shot_course *course, shot_phases *out);

/* Without a gauge: when water last stops running into the basket. */
shot_status shot_find_water_end(const shot_course *course, shot_phases *out);

/* The first drop, seen in weight or outflow. */
shot_status shot_find_drip(const shot_course *course, shot_phases *out);

/* When the stream into the cup stops, seen in the weight. */
void shot_find_stream_end(const shot_course *course, shot_phases *out);

#endif
