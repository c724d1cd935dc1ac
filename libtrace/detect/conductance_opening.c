/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What an opening of the conductance adds to the figures. */
#include <math.h>
#include <string.h>

#include "detect/conductance.h"

const double conductance_healings[CONDUCTANCE_HEALINGS] = {2.5, 5, 10};

double conductance_onset_seen(const conductance_data *data, const conductance_opening *opening) {
    return opening->onset + data->lag + (data->drains ? opening->drain : 0);
}

size_t conductance_first_seen(const conductance_data *data, const conductance_opening *opening) {
    const double t = conductance_onset_seen(data, opening);
    size_t low = 0, high = data->n;
    while (low < high) {
        size_t middle = (low + high) / 2;
        if (data->t[middle] > t)
            high = middle;
        else
            low = middle + 1;
    }
    return low;
}

static double opened(const conductance_opening *opening, double way) {
    const double shut = 1 - way, loss = opening->loss;
    switch (opening->form) {
    case CONDUCTANCE_SHARP:
        return 1 - shut * shut;
    case CONDUCTANCE_SHARPER:
        return 1 - shut * shut * shut;
    case CONDUCTANCE_GENTLE:
        return way * way * (3 - 2 * way);
    case CONDUCTANCE_LATE: /* 1 / (1 - loss u) from 1 to 1 / (1 - loss), on a scale from 0 to 1 */
        return way * (1 - loss) / (1 - loss * way);
    default:
        return way;
    }
}

/* S so many seconds after the onset. */
static double open_after(const conductance_opening *opening, double t) {
    if (t < opening->seconds)
        return opened(opening, fmax(t, 0) / opening->seconds);
    const double healed = (t - opening->seconds) / conductance_healings[opening->healing];
    return opening->scar + (1 - opening->scar) * exp(-healed);
}

/* The integral of what is opened, over the way so far. */
static double opened_until(const conductance_opening *opening, double way) {
    const double shut = 1 - way, square = way * way, loss = opening->loss;
    switch (opening->form) {
    case CONDUCTANCE_SHARP:
        return square - square * way / 3;
    case CONDUCTANCE_SHARPER:
        return way - (1 - shut * shut * shut * shut) / 4;
    case CONDUCTANCE_GENTLE:
        return square * way - square * square / 2;
    case CONDUCTANCE_LATE: /* a series in the loss where it is so small that logarithms cancel */
        return loss < 1e-3 ? square * (1 - loss) * (0.5 + loss * way / 3)
                           : -(1 - loss) * (way + log1p(-loss * way) / loss) / loss;
    default:
        return square / 2;
    }
}

/* The integral of S so many seconds after the onset. */
static double open_until(const conductance_opening *opening, double t) {
    const double way = fmin(fmax(t / opening->seconds, 0), 1), after = t - opening->seconds;
    const double sum = opening->seconds * opened_until(opening, way);
    if (after <= 0)
        return sum;
    if (opening->scar == 1)
        return sum + after;
    const double time = conductance_healings[opening->healing];
    return sum + opening->scar * after - (1 - opening->scar) * time * expm1(-after / time);
}

/* Pressure times what is left of the opening at the samples from i on, all behind its end: a scar,
 * and a share that heals.  From one sample to the next it shrinks by what the steps hold, so that
 * only the first one needs an exponential. */
static void add_healing(const conductance_data *data, const conductance_step *steps,
                        const conductance_opening *opening, double share, size_t i, double *lane) {
    const double end = conductance_onset_seen(data, opening) + opening->seconds;
    double open = 1;
    if (share > 0 && i < data->n)
        open = exp((end - data->t[i]) / conductance_healings[opening->healing]);
    for (const size_t ended = i; i < data->n; i++) {
        if (share > 0 && i > ended)
            open *= steps[i].healed[opening->healing];
        lane[i * CONDUCTANCE_LANES] = data->pressure[i] * (opening->scar + share * open);
    }
}

/* The mean of S over the gate, times pressure, at the samples from `first` on.  Where the gate
 * began behind the end, the mean of what heals is a multiple of what is left of it. */
static void add_gated_flow(const conductance_data *data, const conductance_step *steps,
                           const conductance_opening *opening, size_t first, double *lane) {
    const double onset = conductance_onset_seen(data, opening), gate = opening->gate;
    const double open = opening->seconds + gate, time = conductance_healings[opening->healing];
    size_t i = first;
    for (; i < data->n && data->t[i] - onset < open; i++) {
        const double t = data->t[i] - onset;
        lane[i * CONDUCTANCE_LANES] =
            data->pressure[i] * (open_until(opening, t) - open_until(opening, t - gate)) / gate;
    }
    const double mean = time * expm1(gate / time) / gate;
    add_healing(data, steps, opening, (1 - opening->scar) * mean, i, lane);
}

/* S times pressure at the samples from `first` on, into one lane. */
static void add_flow(const conductance_data *data, const conductance_step *steps,
                     const conductance_opening *opening, size_t first, double *lane) {
    const double onset = conductance_onset_seen(data, opening), end = onset + opening->seconds;
    const double each = 1 / opening->seconds;
    size_t i = first;
    for (; i < data->n && data->t[i] < end; i++) {
        const double way = (data->t[i] - onset) * each;
        lane[i * CONDUCTANCE_LANES] = data->pressure[i] * opened(opening, way);
    }
    add_healing(data, steps, opening, 1 - opening->scar, i, lane);
}

/* From flow to weight. */
static void add_up(const conductance_data *data, size_t first, double *lane) {
    double sum = 0, last = 0;
    for (size_t i = first; i < data->n; i++) {
        double flow = lane[i * CONDUCTANCE_LANES];
        if (i > 0)
            sum += (data->t[i] - data->t[i - 1]) * (flow + last) / 2;
        last = flow;
        lane[i * CONDUCTANCE_LANES] = sum;
    }
}

size_t conductance_add(const conductance_data *data, const conductance_step *steps,
                       const conductance_opening *openings, size_t count, double *added) {
    size_t seen[CONDUCTANCE_LANES], first = data->n;
    for (size_t k = 0; k < count; k++) {
        seen[k] = conductance_first_seen(data, &openings[k]);
        first = seen[k] < first ? seen[k] : first;
    }
    memset(added + first * CONDUCTANCE_LANES, 0,
           (data->n - first) * CONDUCTANCE_LANES * sizeof *added);
    for (size_t k = 0; k < count; k++) {
        if (openings[k].gate > 0 && !data->summed)
            add_gated_flow(data, steps, &openings[k], seen[k], added + k);
        else
            add_flow(data, steps, &openings[k], seen[k], added + k);
        if (data->summed)
            add_up(data, seen[k], added + k);
    }
    return first;
}

void conductance_take_out(conductance_data *data, const conductance_step *steps,
                          const conductance_opening *opening, double a, double *added) {
    const double onset = conductance_onset_seen(data, opening);
    data->changes++;
    for (size_t i = conductance_add(data, steps, opening, 1, added); i < data->n; i++) {
        data->y[i] -= a * added[i * CONDUCTANCE_LANES];
        data->taken[i] += a * open_after(opening, data->t[i] - onset);
    }
}
