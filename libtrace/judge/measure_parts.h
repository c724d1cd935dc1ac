/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The groups of measures, one file each, and what they share. */
#ifndef SHOT_JUDGE_MEASURE_PARTS_H
#define SHOT_JUDGE_MEASURE_PARTS_H

#include <shottrace/judge/measure.h>
#include <shottrace/signal/noise.h>
#include <shottrace/signal/straight_line.h>

#include "judge/counted_marks.h"
#include "judge/cup_gain.h"

/* A time that was found, and its interval; low and high NaN where it has none. */
typedef struct shot_dated {
    double at, low, high;
} shot_dated;

/* The shot as the measures see it. */
typedef struct shot_view {
    const shot_table *shot;
    const shot_table *wanted;   /* a curve to compare with, or NULL */
    const double *time, *water; /* water: the flow into the basket, ml/s, or NULL */
    const double *counter;      /* of the water, where there is no flow, ml, or NULL */
    size_t rows;
    bool beverage_flow;              /* what the log calls flow is that into the cup */
    double water_in;                 /* when water entered the basket; NaN if not known */
    shot_dated brew_start, brew_end; /* NaN if there is no brew */
    cup_gain cup;                    /* owned: the weight, less what hands did to it */
    counted_marks marks;             /* owned: findings, an event that two tell of once */
} shot_view;

/* Every interval of a measure is at this level. */
#define SHOT_MEASURE_LEVEL 0.95

/* When the shot was pulled, in s since 1970-01-01: by the origin of its clock where that is a date,
 * else by a line `# date: 2026-03-02 07:30` or one of its like. */
shot_status shot_measure_pulled(const shot_view *view, shot_measure_list *out);
shot_status shot_measure_course(const shot_view *view, shot_measure_list *out);
shot_status shot_measure_pressure(const shot_view *view, shot_measure_list *out);
shot_status shot_measure_wanted(const shot_view *view, shot_measure_list *out);
shot_status shot_measure_machine(const shot_view *view, shot_measure_list *out);
shot_status shot_measure_resistance(const shot_view *view, shot_measure_list *out);
shot_status shot_measure_cup(const shot_view *view, shot_measure_list *out);
shot_status shot_measure_stream(const shot_view *view, shot_measure_list *out); /* after cup */
shot_status shot_measure_model(const shot_view *view, shot_measure_list *out);
shot_status shot_measure_findings(const shot_view *view, shot_measure_list *out);
shot_status shot_measure_pulses(const shot_view *view,
                                shot_measure_list *out); /* not their count */
/* What a log lacks of its shot: "cut short", "no end of the brew", or NULL. */
const char *shot_measure_lack(const shot_table *shot);
/* Take out what a log that was cut short, or that ends in the brew, does not tell. */
void shot_measure_leave_out_cut(const shot_table *shot, shot_measure_list *list);
/* Where shot-clean marked that the gauge stood at the end of its scale, figures of pressure are
 * bounds, without interval and with a note; what tells whether it was held is taken out. */
shot_status shot_measure_bound_clipped(const shot_view *view, shot_measure_list *list);

/* Take out the measures of these names, as far as they are there. */
void shot_measure_list_leave_out(shot_measure_list *list, const char *const *names, size_t count);

/* The shot as the measures see it; borrows both tables, which must stay as they are.
 * SHOT_ERR_MEMORY, and nothing to free. */
shot_status shot_view_make(const shot_table *shot, const shot_table *wanted, shot_view *out);
void shot_view_free(shot_view *view);

/* What a pulse did; NaN for what is not known. */
typedef struct shot_pulse_effect {
    double water;   /* ml that entered while it ran */
    double peak;    /* bar, the highest half second */
    double halving; /* s from its end until the pressure had halved; NaN if it never did */
    double fall;    /* bar/s, how fast it fell then */
} shot_pulse_effect;

shot_pulse_effect shot_pulse_effect_of(const shot_view *view, const shot_mark *pulse);

/* The column of a channel, or NULL; of the weight, what the cup gained. */
const double *shot_view_column(const shot_view *view, const char *channel);

/* The line through a channel in from..to: SHOT_ERR_SINGULAR if there is no such channel, or too
 * few samples. */
shot_status shot_view_line(const shot_view *view, const char *channel, double from, double to,
                           shot_straight_line *out);

/* Volume that passed in from..to, by the trapezoid over the samples of `flow` and over what lies
 * between them at the ends; NaN if not known, also where they have a hole of more than a second and
 * five usual intervals.  0 where the end is not after the start. */
double shot_view_water(const shot_view *view, double from, double to);

/* The mean of the samples of `values` within the half second up to row i: a single spike is no
 * peak.  NaN if sample i is missing. */
double shot_view_half_second(const shot_view *view, const double *values, size_t i);

/* Add the mean of a channel in from..to, with the interval of its long-run variance; nothing where
 * there is no such channel, or too few samples. */
shot_status shot_measure_add_level(const shot_view *view, const char *channel, double from,
                                   double to, const char *name, shot_measure_list *out);
shot_status shot_measure_add_plain(shot_measure_list *out, const char *name, double value);

/* --- measure_times.c --- */

shot_dated shot_dated_start(const shot_mark *mark);
shot_dated shot_dated_end(const shot_mark *mark);

enum { SHOT_MOST_TIMES = 3 };

/* A figure that follows from times; NaN where it is not known. */
typedef double (*shot_figure)(const shot_view *view, const double *times);

/* Add a figure of at most SHOT_MOST_TIMES times.  They are found from different samples, so that
 * their errors add in quadrature, those that make the figure less apart from those that make it
 * more: each time alone is moved to either end of its interval.  `own` is half the interval of the
 * figure were the times exact.  No interval where none of these is known, or where the figure is
 * not known at such an end.  `view` may be NULL where the figure does not look at it.
 * Source: Barlow 2003, 'Asymmetric errors', PHYSTAT2003, arXiv:physics/0306138, secs. 1 and 2.2
 * (moving one parameter at a time).  Arms added apart are no exact rule, as it says: where many
 * lopsided errors add, their sum is more even than that.  Here they are two or three. */
shot_status shot_measure_add_of_times(const shot_view *view, const char *name, shot_figure figure,
                                      const shot_dated *times, size_t count, double own,
                                      const char *note, shot_measure_list *out);

/* How far a figure may lie below and above its value, as squares, which add. */
typedef struct shot_arms {
    double below, above;
} shot_arms;

/* Those of a figure that is known to within `half` but for times. */
shot_arms shot_arms_of(double half);

/* One of its times moves it by `slope` a second. */
void shot_arms_add(shot_arms *arms, const shot_dated *time, double slope);

shot_status shot_measure_add_arms(const char *name, double value, const shot_arms *arms,
                                  const char *note, shot_measure_list *out);

/* Add later - earlier. */
shot_status shot_measure_add_length(const char *name, shot_dated earlier, shot_dated later,
                                    const char *note, shot_measure_list *out);

/* Let the interval of a length end where that of the length does of which it is a part. */
void shot_measure_part_of(shot_measure_list *list, const char *part, const char *whole);

/* --- measure_noise.c --- */

/* The noise of a channel: that before it was smoothed, where it was; sd NaN where it is not known.
 */
shot_status shot_view_noise(const shot_view *view, const char *channel, shot_noise *noise);

/* How far the mean of what is written in steps may be off the truth, if the figures scatter by
 * `scatter` (rounding is in it): half a step on either side where all are equal, hardly anything
 * once noise moves them over a step or more.
 * Sources: JCGM 100:2008 (GUM) 4.3.7 and F.2.2.1 (half a step, nothing known of where in it); its
 * fall with the noise: Widrow & Kollar 2008, 'Quantization Noise', ch. 4 (the characteristic
 * function of Gaussian noise at the frequency of the steps). */
double shot_rounding_half(double step, double scatter);

/* Half the interval of a volume by the meter's noise, and by what it did not show: between two
 * samples the flow went from one to the other, nobody knows how soon, so that the area under it may
 * be off by half their difference (beyond what noise makes), anything up to that as likely (JCGM
 * 100:2008, 4.3.7).  Ends are taken as exact, and so is the meter's scale. */
shot_status shot_view_water_half(const shot_view *view, double from, double to, double *half);

/* As shot_rounding_half, of the level of a line through `length` seconds of a channel: where the
 * line crosses many steps rounding goes now up, now down, and its mean falls with their number. */
double shot_view_rounding(const shot_view *view, const char *channel,
                          const shot_straight_line *line, double length);

#endif
