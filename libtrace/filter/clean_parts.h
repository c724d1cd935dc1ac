/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the parts of shot-clean share. */
#ifndef SHOT_FILTER_CLEAN_PARTS_H
#define SHOT_FILTER_CLEAN_PARTS_H

#include <shottrace/signal/sample_gaps.h>
#include <shottrace/trace/stage.h>

#include "signal/flat_finder.h"
#include "filter/carried_values.h"
#include "filter/lost_frames.h"
#include "filter/noise_watch.h"
#include "filter/row_order.h"
#include "filter/spike_finder.h"
#include "signal/zero_finder.h"

struct clean_settings {
    shot_texts channels, hold, zero;
    shot_span window, reorder, idle, gap;
    double threshold, flat;
    bool replace, keep, marks;
};

/* Kinds of marks. */
typedef enum clean_kind {
    CLEAN_GAP,
    CLEAN_SPIKE,
    CLEAN_REPEAT,
    CLEAN_DISORDER,
    CLEAN_ZERO,
    CLEAN_CLIP,
    CLEAN_STUCK,
    CLEAN_KINDS
} clean_kind;

/* Rows that are looked at together. */
enum { CLEAN_STRETCH = SPIKE_FINDER_BLOCK };

/* Samples of a channel in a stretch of rows. */
typedef struct clean_samples {
    const double *t, *y; /* [n], in the rows or, where some are missing, in what follows */
    size_t n;
    shot_intervals between; /* them */
    double own_t[CLEAN_STRETCH], own_y[CLEAN_STRETCH];
} clean_samples;

/* A channel that is looked at. */
typedef struct clean_channel {
    size_t column;
    const char *name, *unit; /* in the head */
    spike_finder *spikes;
    shot_sample_gaps *gaps;
    bool seeks_zero;
    zero_finder zero;
    flat_finder flat;
    double most_zero; /* a zero farther off is none */
    double last;      /* time of the last sample that has a value; NaN before the first */
    size_t settled;   /* rows of the shot, from its start, that will not change */
    size_t spike_count;
    double largest, largest_at; /* spike: height and time */
    size_t flat_count, flat_samples;
    bool computed;     /* its samples are no readings: runs of one value tell nothing */
    noise_watch noise; /* of the samples as they came, ... */
    bool interpolated; /* ... unless these were made by shot-resample, which tells it */
    bool changed;      /* some sample has another value now */
    clean_samples now; /* in the stretch of rows looked at */
} clean_channel;

typedef struct clean_sink {
    shot_stage stage;
    shot_head head; /* of the shot */
    shot_text name; /* that it had where its clock fell for the first time, */
    size_t parts;   /* and how many shots it has become: 0 before that */
    row_order order;
    carried_values carried;
    lost_frames frames;
    shot_rows held; /* rows in order, waiting for verdicts */
    size_t handed;  /* rows of the shot handed on: held row 0 has this number */
    double hole;    /* s without a sample that end a stretch */
    clean_channel *channels;
    size_t channel_count;
    const double **part; /* owned: columns of some rows */
    shot_sample_gaps *row_gaps;
    shot_mark_list gaps;     /* of this shot: in whole rows, or marked upstream */
    double start, end;       /* of the shot so far, s */
    size_t ids[CLEAN_KINDS]; /* the last number given or seen */
    size_t turn;             /* of this filter: shot_stage_turn */
    size_t repeats, near, differing, late;
    double latest;           /* s */
    size_t lost;             /* rows of this shot that came too late */
    double lost_at, lost_by; /* s: the first of them, and how late the latest was */
    size_t lost_of_all;      /* ... of all shots before it */
    size_t falls;            /* of clocks, in all shots */
} clean_sink;

/* ---- shots ---- */

/* Make ready for a shot of that head, which it copies. */
shot_status clean_begin_shot(clean_sink *self, const shot_head *head);

/* The shot is over: nothing waits any more, and its notes are written. */
shot_status clean_settle_all(clean_sink *self, shot_error *error);

/* The rows that strayed are left out. */
shot_status clean_leave_out(clean_sink *self, shot_error *error);

/* Those that strayed go on for longer than rows wait: the shot ends before them, and they begin
 * another one.  A shot of few rows shows no clock to have fallen: SHOT_ERR_DATA. */
shot_status clean_fall(clean_sink *self, shot_error *error);

/* ---- one channel ---- */

/* *out is NULL where gaps are not asked for. */
shot_status clean_gaps_new(const struct clean_settings *settings, shot_sample_gaps **out);

/* Make a zeroed one ready for the channel of that number. */
shot_status clean_channel_begin(clean_channel *channel, const struct clean_settings *settings,
                                const shot_head *head, size_t column);

/* ... and for the same channel of another shot. */
void clean_channel_again(clean_channel *channel, const struct clean_settings *settings,
                         const shot_head *head);

/* Row `number` of the shot, which is held. */
shot_status clean_channel_row(clean_sink *self, clean_channel *channel, size_t number,
                              shot_error *error);

/* Whether rows in order, at most CLEAN_STRETCH, give this channel nothing to mark and no stretch of
 * samples to end, so that they can be taken together; `between` are the intervals between rows. */
bool clean_channel_is_quiet(const clean_sink *self, clean_channel *channel, const shot_block *rows,
                            const shot_intervals *between);

/* Those rows, which are held now. */
shot_status clean_channel_quiet_rows(clean_sink *self, clean_channel *channel, shot_error *error);

/* The shot ends: all becomes settled. */
shot_status clean_channel_end(clean_sink *self, clean_channel *channel, shot_error *error);

/* Mark its clipped and stuck stretches, once all its rows have gone. */
shot_status clean_channel_mark_flat(clean_sink *self, clean_channel *channel, shot_error *error);

/* How many rows of the shot this channel lets go. */
size_t clean_channel_settled(const clean_sink *self, clean_channel *channel);

/* A zero was sought, found and believed. */
bool clean_channel_has_zero(const clean_channel *channel);

/* Take the zero off the first `count` rows held. */
void clean_channel_apply_zero(clean_sink *self, const clean_channel *channel, size_t count);

void clean_channel_free(clean_channel *channel);

/* ---- rows ---- */

/* Take the rows whose place in the order is known: all, where the shot has ended. */
shot_status clean_take_ordered(clean_sink *self, bool ended, shot_error *error);

/* Tell the gaps between rows that are known by now. */
shot_status clean_look_for_row_gaps(clean_sink *self, shot_error *error);

/* Hand on the rows that nothing can change any more. */
shot_status clean_hand_on(clean_sink *self, shot_error *error);

/* ---- marks and notes ---- */

/* A row of that time that strayed so many seconds; which one is told with the shot's notes. */
shot_status clean_report_lost(clean_sink *self, double time, double late, shot_error *error);

/* A mark of this filter; the kind, the id and what the channel says are filled in.  `channel` may
 * be NULL.  Settled rows go first, so that the place of a mark among the rows does not depend on
 * how they came in blocks. */
shot_status clean_report_mark(clean_sink *self, clean_kind kind, const clean_channel *channel,
                              shot_mark *mark, shot_error *error);

/* Look at a mark that came from upstream: its id is taken, its gap is known. */
shot_status clean_report_upstream(clean_sink *self, const shot_mark *mark);

/* The gaps known by now in the samples of a channel, or in the rows if `channel` is NULL. */
shot_status clean_report_gaps(clean_sink *self, const clean_channel *channel,
                              shot_sample_gaps *gaps, shot_error *error);

/* A row put in its place, merged or left out. */
shot_status clean_report_change(clean_sink *self, const row_change *change, shot_error *error);

/* The notes at the end of a shot: what was changed, and how often. */
shot_status clean_report_notes(clean_sink *self, shot_error *error);

#endif
