/* SPDX-License-Identifier: GPL-3.0-or-later */
/* An axis: from values to places on the page, and where its ticks stand. */
#ifndef SHOT_PLOT_AXIS_H
#define SHOT_PLOT_AXIS_H

#include <stdbool.h>
#include <stddef.h>

#include <shottrace/trace/text.h>

/* U+2212 before a negative number, as in print. */
#define PLOT_MINUS "\xe2\x88\x92"

typedef struct plot_axis {
    double low, high; /* values at its ends, low < high */
    double from, to;  /* places of these on the page; `to` < `from` where values rise upwards */
    bool logarithmic; /* low > 0 */
    double step;      /* from tick to tick; of a logarithmic one the factor */
    double unit;      /* value of 1 on the labels: 60 where times are told in minutes */
} plot_axis;

/* The place of a value; values beyond the ends lie beyond them.  NaN stays NaN. */
double plot_axis_place(const plot_axis *axis, double value);
/* The same, with what lies beyond an end brought to it. */
double plot_axis_clamp(const plot_axis *axis, double value);

/* An axis that covers low..high with about `ticks` ticks at most, at multiples of 1, 2 or 5 times a
 * power of ten (Heckbert 1990, 'Nice numbers for graph labels', Graphics Gems I); of 4 or 2.5 too
 * where there would be fewer than three.
 *   low, high  not finite, equal or in the wrong order are mended: an axis there must be
 *   loose      widen the axis to the ticks around
 * `from` and `to` are the caller's. */
plot_axis plot_axis_cover(double low, double high, size_t ticks, bool loose);
/* The same by powers of ten, from one to another; 0 < low. */
plot_axis plot_axis_cover_log(double low, double high, size_t ticks);

/* The same for times in s, told in s, min or h as their length asks. */
plot_axis plot_axis_cover_time(double low, double high, size_t ticks);
/* The unit that the labels of such an axis are in. */
const char *plot_axis_time_unit(const plot_axis *axis);

/* The number of ticks, and the value of each. */
size_t plot_axis_ticks(const plot_axis *axis);
double plot_axis_tick(const plot_axis *axis, size_t index);
/* Append the tick's value with as many digits as the step needs. */
shot_status plot_axis_add_label(const plot_axis *axis, double value, shot_text *text);

#endif
