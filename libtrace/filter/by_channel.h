/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A stage that works on some channels one by one, sample by sample, with results that may come
 * later: it changes them or adds a channel for each.  What smooth, diff and integrate share: choice
 * of channels, rows that wait for the slowest, units, standard errors, noise lines, notes. */
#ifndef SHOT_FILTER_BY_CHANNEL_H
#define SHOT_FILTER_BY_CHANNEL_H

#include <stdbool.h>

#include <shottrace/trace/stage.h>
#include <shottrace/trace/text.h>

/* What works on one channel.  `next` gives one result for each sample pushed, in order.  A kernel
 * that cannot work on this channel says so at its `finish`, with the error filled, so that the rows
 * of the shot are not lost for it; until then it may give missing results.  A `push` fails only for
 * lack of memory, or with SHOT_ERR_DATA where the time does not rise. */
typedef struct channel_result {
    double value, gain; /* gain: variance for noise of variance 1 in each sample */
    double gap;         /* s: the length of a gap that ends at this sample and wants a mark, or 0 */
} channel_result;

typedef struct channel_kernel_calls {
    shot_status (*push)(void *kernel, double t, double y);
    shot_status (*finish)(void *kernel, shot_error *error);
    shot_status (*next)(void *kernel, channel_result *result, bool *ready);
    void (*reset)(void *kernel);
    void (*free)(void *kernel);
    /* Both NULL, or both at once: many samples at once; all or, after SHOT_ERR_DATA, none ... */
    shot_status (*push_block)(void *kernel, const double *t, const double *y, size_t n);
    /* ... and the results known, at most `room` of them, in less time than one by one; `gain` NULL
     * where nobody asks. */
    shot_status (*take)(void *kernel, size_t room, double *value, double *gain, size_t *count);
    /* NULL where there are no gains, or: before the first sample of a shot, in how many seconds the
     * correlation of its noise falls to 1/e; 0: none. */
    void (*correlate)(void *kernel, double seconds);
    /* NULL, or what it took for this shot that no option says, for a note; no words if nothing. */
    shot_status (*describe)(const void *kernel, shot_text *words);
    /* NULL, or: before the first sample, keep what does not depend on samples where `first` does, a
     * kernel of the same settings that lives as long. */
    void (*share)(void *kernel, void *first);
} channel_kernel_calls;

typedef struct channel_kernel {
    const channel_kernel_calls *calls;
    void *object;
} channel_kernel;

typedef struct by_channel_rule {
    const char *filter;         /* "smooth" */
    const shot_texts *channels; /* none: the measured ones */
    const char *suffix;         /* of the channel that is added; NULL: the channel itself changes */
    int seconds;                /* the result's unit is the channel's times s to this power */
    bool errors;                /* add NAME.se */
    const char *why_none;       /* for a note: why a sample can be left without a result */
    const char *gap_note;       /* of the marks of gaps */
    shot_status (*make)(const void *settings, channel_kernel *out);
} by_channel_rule;

/* The stage; the rule is copied, what it points to borrowed. */
shot_status by_channel_new(const shot_making *making, const by_channel_rule *rule, shot_sink **out,
                           shot_error *error);

#endif
