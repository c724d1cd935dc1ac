/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What becomes of the noise of a run's samples on its way to the grid: the weights of each node by
 * its samples, those of each output of the filter by its nodes, and from both the gain, the
 * variance of the output where that of each sample is 1:
 *
 *     weight = sum over nodes of filter weight * node weight
 *     gain = sum over samples of weight^2 where they are independent, else correlated_variance.h
 */
#ifndef SHOT_SIGNAL_RESAMPLE_GAIN_H
#define SHOT_SIGNAL_RESAMPLE_GAIN_H

#include <stddef.h>
#include <stdint.h>

#include <shottrace/signal/bandlimited.h>
#include <shottrace/signal/sample_weights.h>

typedef struct resample_gain {
    shot_sample_weights *nodes; /* owned [room]: those that may still count; their `first` is a
                                 * number in the run */
    size_t count, room;
    uint64_t next;      /* number in the run of the node that comes next */
    uint64_t needed;    /* ... of the first that may still count */
    double correlation; /* of the noise: s in which it falls to 1/e; 0: none */
    double *times;      /* owned [time_room]: of the samples of these nodes */
    size_t time_count, time_room;
    size_t time_first;           /* number in the run of the first */
    double *by_node, *by_sample; /* owned: weights of one output */
    size_t node_room, sample_room;
} resample_gain;

/* A run begins; a zeroed one is empty too. */
void resample_gain_begin(resample_gain *gain);

/* The weights of the next m nodes by samples at times t [n], of which the first is number `first`
 * of the run. */
shot_status resample_gain_note(resample_gain *gain, const shot_sample_weights *nodes, size_t m,
                               const double *t, size_t n, size_t first);

/* The gain of a node of that number, one not forgotten. */
double resample_gain_of_node(const resample_gain *gain, uint64_t number);

/* The gain of an output that the filter has made of these nodes. */
shot_status resample_gain_of_output(resample_gain *gain, shot_bandlimited *filter, uint64_t output,
                                    double *out);

/* Forget the nodes before the first of the last output, or all. */
void resample_gain_forget(resample_gain *gain);
void resample_gain_forget_all(resample_gain *gain);

void resample_gain_clear(resample_gain *gain);

#endif
