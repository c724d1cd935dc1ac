/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The inside of shot-average: shots on a common grid, and what lies in their middle. */
#ifndef SHOT_JUDGE_AVERAGE_PARTS_H
#define SHOT_JUDGE_AVERAGE_PARTS_H

#include <shottrace/trace/stage.h>
#include <shottrace/trace/table.h>

/* The phases whose middle is found, and the first drop. */
enum { AVERAGE_KINDS = 7 };
extern const char *const average_kinds[AVERAGE_KINDS];

/* The channels of all shots, but for the time; each shot adds those that are new. */
typedef struct average_channels {
    shot_channel *items;
    size_t count;
} average_channels;

/* One shot on the grid: the time of row i is (first + i) / rate, 0 at the mark. */
typedef struct average_shot {
    char *name, *group; /* group: value of the key, NULL without one */
    long first;
    size_t rows;
    double **column; /* [channels that were known when it came][rows]; NULL if it lacks one */
    double *noise;   /* [the same] standard deviation of its noise; NaN if not known */
    size_t columns;
    shot_mark_list marks; /* the last of each phase, times from the mark on */
    shot_head history;    /* its lines of that key */
    char *measured;       /* what it measured, as an average keeps it */
} average_shot;

/* Take over a shot whose time 0 is to be at `origin`.  `gap`: no further than that is a value drawn
 * between two samples.  SHOT_ERR_UNIT with a sentence if a channel has another unit than before. */
shot_status average_shot_take(const shot_table *shot, double origin, double rate, double gap,
                              average_channels *channels, average_shot *out, shot_error *error);
void average_shot_free(average_shot *shot);
void average_channels_free(average_channels *channels);

/* The middle of a group of shots. */
typedef struct average_band {
    long first;
    size_t rows, channels;
    double **median, **low, **high; /* [channels][rows] */
    double *shots;                  /* [rows] how many of them are there at that time */
} average_band;

/* Median and the central `share` of the shots at each time where at least half of them have the
 * channel; missing elsewhere.  Logs that have ended count with their last values. */
shot_status average_band_find(const average_shot *const *shots, size_t count, size_t channels,
                              double share, average_band *out);
void average_band_free(average_band *band);

/* Root mean square of a shot's distance from the median of a channel, and the share of its rows
 * outside the band; NaN where it has no row in common with it. */
void average_band_distance(const average_band *band, const average_shot *shot, size_t channel,
                           double *rms, double *outside);

/* Shots of one group, and how they are to be laid together. */
typedef struct average_group {
    const char *key, *label; /* NULL without --by */
    const average_channels *channels;
    const average_shot **shots;
    size_t count;
    double rate, share;
} average_group;

/* Hand on one shot for all of them. */
shot_status average_group_send(const average_group *group, shot_stage *stage, shot_error *error);

#endif
