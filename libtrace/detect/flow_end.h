/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The end of the water's flow: where it stops at once, and where it is let down evenly. */
#ifndef SHOT_DETECT_FLOW_END_H
#define SHOT_DETECT_FLOW_END_H

#include "detect/course.h"

static const double shot_judged_by = 4;         /* s of the brew by which its end is judged */
static const double shot_next_to_nothing = 0.1; /* of the brew's flow */
static const double shot_meter_late =
    1; /* s by which a meter shows a stop; common practice, no source */

static const double shot_let_go = 2.5; /* s: a valve or a hand lets go within; likewise */

/* The noise of a flow level at rest, ml/s: a counter has none. */
double shot_flow_level_se(const shot_course *course);

/* The last time up to `until` at which the flow level is over `limit`; NaN if it never is. */
double shot_flow_last_over(const shot_course *course, double limit, double from, double until);

/* Does a meter show the brew's flow so finely that it shows how it ends?  Counts do not. */
bool shot_flow_tells(const shot_course *course, double from, double pressed);

/* The last time at which more runs than next to nothing; NaN where it never does. */
double shot_flow_runs_until(const shot_course *course, double from, double pressed);

/* Back from the last pressure: when the flow fell to nothing, NaN where it does not tell.  What a
 * puck that drains takes out of hoses is next to nothing. */
double shot_flow_stops(const shot_course *course, double from, double pressed);

/* When a flow that was let down evenly, and the pressure with it, came to nothing; NaN where it
 * fell at once.  From half of the brew's flow to a tenth takes longer than a meter that lags makes
 * of a stop, either half of that way takes its share, and a third of the pressure goes meanwhile.
 */
shot_instant shot_flow_let_down(const shot_course *course, double from, double pressed);

/* Does water still run where the log ends, at a quarter of what ran before, though the pressure has
 * been falling since `eased`, longer ago than a meter shows a stop late?  Then it was but eased
 * off. */
bool shot_water_runs_on(const shot_course *course, double eased);

#endif
