/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What becomes of the noise of a run's samples on its way to the grid. */
#include "signal/resample_gain.h"

#include <stdlib.h>
#include <string.h>

#include "signal/correlated_variance.h"

void resample_gain_begin(resample_gain *gain) {
    gain->count = 0;
    gain->next = gain->needed = 0;
    gain->time_count = 0;
}

void resample_gain_clear(resample_gain *gain) {
    free(gain->nodes);
    free(gain->by_node);
    free(gain->by_sample);
    free(gain->times);
    *gain = (resample_gain){0};
}

static shot_status reserve(double **numbers, size_t *room, size_t wanted) {
    if (wanted <= *room)
        return SHOT_OK;
    double *more = realloc(*numbers, 2 * wanted * sizeof *more);
    if (more == NULL)
        return SHOT_ERR_MEMORY;
    *numbers = more;
    *room = 2 * wanted;
    return SHOT_OK;
}

/* Keep the times of samples, those that are not kept yet. */
static shot_status note_times(resample_gain *gain, const double *t, size_t n, size_t first) {
    if (gain->time_count == 0)
        gain->time_first = first;
    const size_t known = gain->time_first + gain->time_count - first;
    const size_t wanted = gain->time_count + (n - known);
    if (wanted > gain->time_room) {
        double *more = realloc(gain->times, 2 * wanted * sizeof *more);
        if (more == NULL)
            return SHOT_ERR_MEMORY;
        gain->times = more;
        gain->time_room = 2 * wanted;
    }
    for (size_t i = known; i < n; i++)
        gain->times[gain->time_count++] = t[i];
    return SHOT_OK;
}

shot_status resample_gain_note(resample_gain *gain, const shot_sample_weights *nodes, size_t m,
                               const double *t, size_t n, size_t first) {
    SHOT_TRY(note_times(gain, t, n, first));
    if (gain->count + m > gain->room) {
        const size_t room = 2 * (gain->count + m);
        shot_sample_weights *more = realloc(gain->nodes, room * sizeof *more);
        if (more == NULL)
            return SHOT_ERR_MEMORY;
        gain->nodes = more;
        gain->room = room;
    }
    for (size_t i = 0; i < m; i++) {
        gain->nodes[gain->count] = nodes[i];
        gain->nodes[gain->count++].first += first;
    }
    gain->next += m;
    return SHOT_OK;
}

static const shot_sample_weights *node_of(const resample_gain *gain, uint64_t number) {
    return gain->nodes + (size_t)(number - (gain->next - gain->count));
}

/* Of a sum of samples from number `first` of the run on. */
static double variance_of(const resample_gain *gain, const double *weight, size_t first, size_t n) {
    return correlated_variance_of(gain->times + (first - gain->time_first), weight, n,
                                  gain->correlation);
}

double resample_gain_of_node(const resample_gain *gain, uint64_t number) {
    const shot_sample_weights *node = node_of(gain, number);
    return variance_of(gain, node->weight, node->first, node->count);
}

/* Weights of nodes to weights of samples, of which the first is `low`. */
static void gather(const shot_sample_weights *nodes, const double *by_node, size_t n, size_t low,
                   double *by_sample) {
    for (size_t j = 0; j < n; j++) {
        double *to = by_sample + (nodes[j].first - low);
        for (size_t k = 0; k < nodes[j].count; k++)
            to[k] += by_node[j] * nodes[j].weight[k];
    }
}

shot_status resample_gain_of_output(resample_gain *gain, shot_bandlimited *filter, uint64_t output,
                                    double *out) {
    SHOT_TRY(reserve(&gain->by_node, &gain->node_room, shot_bandlimited_span(filter)));
    const size_t n = shot_bandlimited_weights(filter, output, &gain->needed, gain->by_node);
    const shot_sample_weights *nodes = node_of(gain, gain->needed);
    size_t low = SIZE_MAX, high = 0;
    for (size_t j = 0; j < n; j++) {
        const size_t end = nodes[j].first + nodes[j].count;
        low = nodes[j].first < low ? nodes[j].first : low;
        high = end > high ? end : high;
    }
    SHOT_TRY(reserve(&gain->by_sample, &gain->sample_room, high - low));
    memset(gain->by_sample, 0, (high - low) * sizeof *gain->by_sample);
    gather(nodes, gain->by_node, n, low, gain->by_sample);
    *out = variance_of(gain, gain->by_sample, low, high - low);
    return SHOT_OK;
}

/* Forget the times of samples before those of the nodes; they are noted again where none is left.
 */
static void forget_times(resample_gain *gain) {
    const size_t first = gain->count > 0 ? gain->nodes[0].first : SIZE_MAX;
    const size_t old = first > gain->time_first ? first - gain->time_first : 0;
    const size_t drop = old < gain->time_count ? old : gain->time_count;
    gain->time_count -= drop;
    gain->time_first += drop;
    memmove(gain->times, gain->times + drop, gain->time_count * sizeof *gain->times);
}

void resample_gain_forget(resample_gain *gain) {
    const uint64_t first = gain->next - gain->count;
    if (gain->needed <= first)
        return;
    const size_t drop = (size_t)(gain->needed - first);
    gain->count -= drop;
    memmove(gain->nodes, gain->nodes + drop, gain->count * sizeof *gain->nodes);
    forget_times(gain);
}

void resample_gain_forget_all(resample_gain *gain) {
    gain->needed = gain->next;
    gain->count = gain->time_count = 0;
}
