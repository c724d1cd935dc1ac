/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Water that a running count alone measures.
 *
 * Some machines log no flow but a volumetric counter: `water`, in steps of a count.  The slope of
 * the counter is the flow.  When a count comes is known to a row; how much of the next one has run
 * by then is not, so that a volume at a row is known to a count (JCGM 100:2008, 4.3.7), but the
 * volume between two counts to a row's flow.  So the counter is taken as a line whose corners are
 * the counts, not as its figures in each row. */
#ifndef SHOT_PUCK_WATER_COUNTER_H
#define SHOT_PUCK_WATER_COUNTER_H

#include <stdbool.h>

#include <shottrace/status.h>
#include <shottrace/trace/table.h>

/* ml/s that can run: more than any pump of these machines gives, 10 to 15 (common practice, no
 * source). */
static const double water_fastest = 25;

/* True where the shot has a counter of its water, and no flow. */
bool shot_water_is_counted(const shot_head *head);

/* Between two corners the flow is constant.  Each is a count, as soon as the flow since the corner
 * before is known to a tenth.  It stands where
 * rows show no count for three times as long as between the counts on either side: half a count
 * runs before the counter shows the first, and half a one behind the last. */
typedef struct shot_counted {
    double *t, *volume; /* rows without the missing ones, and the figures, put together [n] */
    size_t n;
    double *count_t, *count; /* when the counts came, and the volume then [counts] */
    double *silent;          /* the row up to which the one before was the last [counts] */
    size_t counts;
    double *corner_t, *corner; /* the line [corners]; it begins and ends with the rows */
    size_t corners;
    double step; /* of a count, ml; 0: continuous */
    /* in half of the time in which water runs: */
    double spacing;   /* s between corners */
    double volume_sd; /* of the volume at a count, ml, by how counts fall between rows */
    double flow_sd;   /* of the flow between two corners, ml/s */
} shot_counted;

/* Times rise; figures may be missing.  A counter that starts anew, and one that leaps by more than
 * can run, go on from what they showed.  SHOT_ERR_SINGULAR with fewer than five counts;
 * SHOT_ERR_MEMORY.  Freed with shot_counted_free, also after an error. */
shot_status shot_counted_new(const double *t, const double *water, size_t n, shot_counted *out);
void shot_counted_free(shot_counted *counted);

/* What a counter counted from..to, ml; it is off by no more than a count. */
double shot_counter_between(const double *t, const double *water, size_t n, double from, double to);

/* The volume at each of the rows, along the line [n]. */
void shot_counted_volumes(const shot_counted *counted, double *out);

#endif
