/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The inside of shot-sweep. */
#ifndef SHOT_JUDGE_SWEEP_PARTS_H
#define SHOT_JUDGE_SWEEP_PARTS_H

#include <shottrace/signal/peak.h>
#include <shottrace/signal/trend.h>

#include "judge/compare_parts.h"

struct sweep_settings {
    const char *x, *y, *within;
    double at, step, level;
    int format;
};

/* The shots that have both figures. */
typedef struct shot_sweep_points {
    double *x, *y;           /* [count], x moved to its setting, y along the curve with it, and less
                                what its block adds */
    double *setting, *place; /* [count] */
    double *shift;           /* [count] what the block adds, 0 without blocks */
    size_t *shot;            /* [count] */
    size_t *block;           /* [count] the block of each, from 0 */
    size_t count;
    double *settings; /* [setting_count], rising */
    size_t setting_count;
} shot_sweep_points;

typedef struct shot_sweep_result {
    const struct sweep_settings *settings;
    shot_compare_groups groups;
    size_t x, y;         /* columns */
    size_t ended_before; /* shots whose log was over at the time of --at */
    shot_sweep_points points;
    size_t blocks; /* those of --within, or days; 0: none */
    bool levelled; /* what they add was told from the settings, and taken from the points */
    bool by_day;   /* most settings had days of their own: the fit is of the means of each day's */
    bool fitted;   /* else there were too few shots or settings, and `peak` says nothing */
    shot_peak peak;
    double p_order;   /* two-sided, of the settings against the order; NaN if that is not known */
    shot_slope line;  /* of y against x, one straight line: of --within the mean of the blocks' own;
                         p NaN if it cannot be told */
    shot_slope drift; /* of what the curve leaves, per shot; p NaN if it cannot be told */
} shot_sweep_result;

/* Find the figures of result->settings in result->groups.  SHOT_ERR_DATA with a sentence. */
shot_status shot_sweep_find(shot_sweep_result *result, shot_error *error);
void shot_sweep_result_free(shot_sweep_result *result);

/* --- sweep_days.c --- */

/* True where the shots are of several days, and the settings lie apart mostly between them. */
bool shot_sweep_is_by_day(const shot_sweep_result *result);
/* The means of the shots of one setting and day, or of one setting and block. */
typedef struct shot_sweep_means {
    double *x, *y; /* [count], owned */
    size_t *block; /* [count] the block of each, owned */
    size_t count;
} shot_sweep_means;

/* Takes them, by the day or block that each shot of the table is of.  SHOT_ERR_MEMORY.  Free them
 * also after a failure. */
shot_status shot_sweep_take_means(const shot_sweep_result *result, const size_t *by,
                                  shot_sweep_means *out);
void shot_sweep_free_means(shot_sweep_means *means);

/* --- sweep_blocks.c --- */

/* The block of each point: what --within names, or the day where the settings lie apart mostly
 * within days. */
void shot_sweep_take_blocks(shot_sweep_result *result);
/* The labels of blocks for a fit of the points; NULL without blocks. */
const size_t *shot_sweep_blocks_of(const shot_sweep_result *result);
/* Take what its block adds from each point. */
shot_status shot_sweep_level_blocks(shot_sweep_result *result);
/* What the page says of blocks; nothing without any. */
shot_status shot_sweep_write_blocks(const shot_sweep_result *result, shot_text *text);

/* --- sweep_line.c --- */

/* Fit a straight line, of the points that the peak is looked for in. */
shot_status shot_sweep_find_line(shot_sweep_result *result);
/* True where a rise or a fall is shown, and no bend of it. */
bool shot_sweep_is_line(const shot_sweep_result *result);
/* Adds "falls by 0.14 s for each 1 of week (0.10 to 0.19)", of a line that is shown. */
shot_status shot_sweep_say_line(const shot_sweep_result *result, shot_text *words);
/* What the page says of the line; nothing where it cannot be told. */
shot_status shot_sweep_write_line(const shot_sweep_result *result, shot_text *text);

/* --- the forms --- */

shot_status shot_sweep_write_page(const shot_sweep_result *result, shot_text *text);
/* At which settings shots channelled; nothing where none did, or nobody looked. */
shot_status shot_sweep_write_channels(const shot_sweep_result *result, shot_text *text);
/* Decimals in which the settings are told apart on a page. */
int shot_sweep_decimals(const shot_sweep_points *p);
shot_status shot_sweep_write_csv(const shot_sweep_result *result, shot_text *text);
shot_status shot_sweep_write_curve(const shot_sweep_result *result, shot_text *text);

#endif
