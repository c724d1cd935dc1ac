/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the parts of a stage that works channel by channel share. */
#ifndef SHOT_FILTER_BY_CHANNEL_PARTS_H
#define SHOT_FILTER_BY_CHANNEL_PARTS_H

#include <shottrace/trace/block.h>
#include <shottrace/trace/noise_line.h>
#include <shottrace/trace/stage.h>

#include "filter/by_channel.h"
#include "filter/noise_watch.h"

typedef struct worked {
    size_t column;    /* in the input */
    const char *name; /* of that, in the head */
    ptrdiff_t stale;  /* the column of its standard errors so far, where it changes; -1: none */
    channel_kernel kernel;
    shot_rows results; /* value and, for errors, gain, which becomes the standard error */
    bool holes;        /* some of these may have no value */
    noise_watch noise;
    bool known;   /* there is a noise line ... */
    bool told;    /* ... or will be, where the noise can be told at all */
    bool learned; /* `found` is an estimate for this shot */
    shot_noise found;
    shot_noise_line is; /* told, or found; its SD NaN while unknown */
    size_t came, lost;  /* samples with a value; of these, those without a result */
    size_t beyond;      /* results beyond the largest number, which are missing */
    size_t bare;        /* results without a gain, where errors are added */
} worked;

typedef struct gap_mark {
    size_t row, channel; /* number of the row at which it ends; index of the channel */
    double length;       /* s */
} gap_mark;

typedef struct by_channel {
    shot_stage stage;
    by_channel_rule rule;
    shot_head head;   /* of the input */
    shot_head with;   /* ... with the channels added, kept while these are the same; or empty */
    size_t own;       /* ... of which so many are those of the input */
    bool with_errors; /* ... and errors are */
    worked *channels; /* owned [count]; kernels are kept from shot to shot */
    size_t count, room;
    bool errors;         /* standard errors are added in this shot */
    bool wait;           /* ... once the noise is known, at its end */
    const char *why_not; /* errors were asked for and are not added: the history line to blame */
    shot_rows held;
    size_t handed;  /* rows of the shot handed on: held row 0 has this number */
    gap_mark *gaps; /* owned [gap_room]: those that wait for their rows, in order */
    size_t gap_count, gap_room;
    size_t last_gap;    /* number in the last id of a mark of a gap */
    const double **out; /* owned: columns of a block handed on */
} by_channel;

/* Take a kernel's results for the rows held, gaps with them. */
shot_status by_channel_drain(by_channel *self, worked *one);

/* Hand on the rows that all channels have results for, each gap's mark before its row. */
shot_status by_channel_hand_on(by_channel *self, shot_error *error);

/* Ids of marks of gaps of an earlier stage of our kind are not given again. */
void by_channel_skip_gap_id(by_channel *self, const shot_mark *one);

/* What could not be known in a shot, and why. */
shot_status by_channel_tell_losses(by_channel *self, shot_error *error);

#endif
