/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The groups of measures, one file each, and what they share. */
#ifndef SHOT_JUDGE_MEASURE_PARTS_H
#define SHOT_JUDGE_MEASURE_PARTS_H

#include <shottrace/judge/measure.h>
#include <shottrace/signal/straight_line.h>

/* The shot as the measures see it. */
typedef struct shot_view {
    const shot_table *shot;
    const shot_table *wanted; /* a curve to compare with, or NULL */
    const double *time;
    size_t rows;
    double water_in;                     /* when water entered the basket; NaN if not known */
    double brew_from, brew_to;           /* NaN if there is no brew */
    double brew_from_half, brew_to_half; /* half of their intervals; 0 if they have none */
} shot_view;

/* Half the interval of a time, from its bounds; 0 if it has none. */
double shot_measure_half_width(double low, double high);

/* Every interval of a measure is at this level. */
#define SHOT_MEASURE_LEVEL 0.95

shot_status shot_measure_course(const shot_view *view, shot_measure_list *out);
shot_status shot_measure_pressure(const shot_view *view, shot_measure_list *out);
shot_status shot_measure_wanted(const shot_view *view, shot_measure_list *out);
shot_status shot_measure_machine(const shot_view *view, shot_measure_list *out);
shot_status shot_measure_resistance(const shot_view *view, shot_measure_list *out);
shot_status shot_measure_cup(const shot_view *view, shot_measure_list *out, shot_error *error);
shot_status shot_measure_stream(const shot_view *view, shot_measure_list *out); /* after cup */
shot_status shot_measure_model(const shot_view *view, shot_measure_list *out);
shot_status shot_measure_findings(const shot_view *view, shot_measure_list *out);
shot_status shot_measure_pulses(const shot_view *view,
                                shot_measure_list *out); /* not their count */
/* Take out what a log that was cut short does not tell. */
void shot_measure_leave_out_cut(shot_measure_list *list);

/* The shot as the measures see it; borrows both tables. */
shot_view shot_view_of(const shot_table *shot, const shot_table *wanted);

/* The standing marks of a kind in order of time: the next one after `after` (NULL: the first), or
 * NULL. */
const shot_mark *shot_mark_next_of(const shot_mark_list *list, const char *kind,
                                   const shot_mark *after);

/* What a pulse did; NaN for what is not known. */
typedef struct shot_pulse_effect {
    double water;   /* ml that entered while it ran */
    double peak;    /* bar, the highest half second */
    double halving; /* s from its end until the pressure had halved; NaN if it never did */
    double fall;    /* bar/s, how fast it fell then */
} shot_pulse_effect;

shot_pulse_effect shot_pulse_effect_of(const shot_view *view, const shot_mark *pulse);

/* The line through a channel in from..to: SHOT_ERR_SINGULAR if there is no such channel, or too
 * few samples. */
shot_status shot_view_line(const shot_view *view, const char *channel, double from, double to,
                           shot_straight_line *out);

/* Volume that passed in from..to, by the trapezoid over the samples of `flow`; NaN if not known,
 * also where they have a hole of more than a second and five usual intervals. */
double shot_view_water(const shot_view *view, double from, double to);

/* The mean of the samples of `values` within the half second up to row i: a single spike is no
 * peak.  NaN if sample i is missing. */
double shot_view_half_second(const shot_view *view, const double *values, size_t i);

/* Add the mean of a channel in from..to, with the interval of its long-run variance; nothing where
 * there is no such channel, or too few samples. */
shot_status shot_measure_add_level(const shot_view *view, const char *channel, double from,
                                   double to, const char *name, shot_measure_list *out);
shot_status shot_measure_add_plain(shot_measure_list *out, const char *name, double value);

#endif
