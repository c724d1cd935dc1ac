/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Shots laid over each other at the moment when water enters the basket, or at their first rows
 * where one of them does not tell that moment; and the median band of them (judge/average). */
#ifndef SHOT_PLOT_GROUP_H
#define SHOT_PLOT_GROUP_H

#include "judge/average_parts.h"
#include "plot/intake.h"
#include "plot/page.h"

typedef struct plot_group {
    const shot_table_list *shots;
    double *origins;    /* [shots->count] */
    bool at_water;      /* else at the first row */
    const char **names; /* of the channels to draw, borrowed [name_count] */
    size_t name_count;
    average_channels channels; /* of all shots */
    average_shot *grid;        /* [shots->count] the shots on a common grid */
    average_band band;         /* until half of the shots have ended */
    size_t band_rows;          /* of these, until shots that ended would make its lower edge */
    double *grid_time;         /* [band.rows] */
    double rate;               /* of that grid, Hz */
    double low, high;          /* time that all shots together take */
} plot_group;

/* Lay them together; `names` may be empty for all channels but those that belong to another.
 * SHOT_ERR_DATA where a named one is in no shot.  Free also after a failure. */
shot_status plot_group_find(const shot_table_list *shots, const shot_texts *names, plot_group *out,
                            shot_error *error);
void plot_group_free(plot_group *group);

/* The unit of a channel, and its index in the band. */
size_t plot_group_channel(const plot_group *group, const char *name);
/* The axis that shows all values of a channel. */
plot_axis plot_group_axis(const plot_group *group, const char *name, size_t ticks);
/* The line of one shot, the median, and the band about it; the median only where there are three
 * shots or more. */
void plot_group_line(const plot_group *group, plot_scene *scene, const plot_axis *x,
                     const plot_axis *y, size_t shot, const char *name, plot_pen pen, double pixel);
void plot_group_median(const plot_group *group, plot_scene *scene, const plot_axis *x,
                       const plot_axis *y, const char *name, plot_pen pen, double pixel);
/* The edges of that band as lines. */
void plot_group_edges(const plot_group *group, plot_scene *scene, const plot_axis *x,
                      const plot_axis *y, const char *name, plot_pen pen, double pixel);
void plot_group_band(const plot_group *group, plot_scene *scene, const plot_axis *x,
                     const plot_axis *y, const char *name, double pixel);

#endif
