/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What an opening of the conductance adds to the figures. */
#include <math.h>
#include <string.h>

#include "detect/conductance.h"
#include "signal/wide.h"

enum { LANES = CONDUCTANCE_LANES };

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

/* What is left of openings behind their ends shrinks from one sample to the next by what the steps
 * hold, so that only the first sample needs an exponential. */

/* Of an opening that has ended, at the sample i. */
static void begin_rest(const conductance_data *data, const conductance_opening *opening,
                       double share, size_t i, size_t k, conductance_rests *out) {
    const double end = conductance_onset_seen(data, opening) + opening->seconds;
    out->open[k] = share > 0 && i < data->n
                       ? exp((end - data->t[i]) / conductance_healings[opening->healing])
                       : 0;
    out->share[k] = share;
    out->scar[k] = opening->scar;
    out->healing[k] = opening->healing;
}

/* Of one from its end on, until all have ended. */
static void add_rest(const conductance_data *data, const conductance_step *steps, size_t from,
                     size_t to, size_t k, conductance_rests *of, double *added) {
    for (size_t i = from; i < to; i++) {
        if (i > from)
            of->open[k] *= steps[i].healed[of->healing[k]];
        added[i * LANES + k] = data->pressure[i] * (of->scar[k] + of->share[k] * of->open[k]);
    }
}

/* Of all side by side, from the sample on at which they are. */
SHOT_WIDE static void add_rests(const conductance_data *data, const conductance_step *steps,
                                size_t from, const conductance_rests *of, double *added) {
    conductance_rests at = *of;
    for (size_t i = from; i < data->n; i++) {
        double healed[LANES], row[LANES];
        const double pressure = data->pressure[i];
        for (int k = 0; k < LANES; k++)
            healed[k] = i > from ? steps[i].healed[at.healing[k]] : 1;
        for (int k = 0; k < LANES; k++)
            at.open[k] *= healed[k];
        for (int k = 0; k < LANES; k++)
            row[k] = pressure * (at.scar[k] + at.share[k] * at.open[k]);
        for (int k = 0; k < LANES; k++)
            added[i * LANES + k] = row[k];
    }
}

/* The mean of S over the gate, times pressure, at the samples from `i` on.  Where the gate began
 * behind the end, the mean of what heals is a multiple of what is left of it, its share, and so it
 * is from the sample on whose index is returned. */
static size_t add_gated_ramp(const conductance_data *data, const conductance_opening *opening,
                             size_t i, double *lane, double *share) {
    const double onset = conductance_onset_seen(data, opening), gate = opening->gate;
    const double open = opening->seconds + gate, time = conductance_healings[opening->healing];
    for (; i < data->n && data->t[i] - onset < open; i++) {
        const double t = data->t[i] - onset;
        lane[i * LANES] =
            data->pressure[i] * (open_until(opening, t) - open_until(opening, t - gate)) / gate;
    }
    *share = (1 - opening->scar) * (time * expm1(gate / time) / gate);
    return i;
}

/* S times pressure at the samples from `i` on until the end, behind which the sample lies whose
 * index is returned. */
static size_t add_ramp(const conductance_data *data, const conductance_opening *opening, size_t i,
                       double *lane, double *share) {
    const double onset = conductance_onset_seen(data, opening), end = onset + opening->seconds;
    const double each = 1 / opening->seconds;
    for (; i < data->n && data->t[i] < end; i++)
        lane[i * LANES] = data->pressure[i] * opened(opening, (data->t[i] - onset) * each);
    *share = 1 - opening->scar;
    return i;
}

/* From flow to weight.  `sum` and `last`, of the flow, are those before the first sample, and
 * become those of the last. */
SHOT_WIDE static void add_up(const conductance_data *data, size_t first, size_t end, double *added,
                             double sum[LANES], double last[LANES]) {
    double all[LANES], before[LANES];
    memcpy(all, sum, sizeof all);
    memcpy(before, last, sizeof before);
    for (size_t i = first; i < end; i++) {
        const double dt = i > 0 ? data->t[i] - data->t[i - 1] : 0;
        double flow[LANES];
        for (int k = 0; k < LANES; k++)
            flow[k] = added[i * LANES + k];
        for (int k = 0; k < LANES; k++)
            all[k] += dt * (flow[k] + before[k]) / 2;
        for (int k = 0; k < LANES; k++)
            before[k] = flow[k];
        for (int k = 0; k < LANES; k++)
            added[i * LANES + k] = all[k];
    }
    memcpy(sum, all, sizeof all);
    memcpy(last, before, sizeof before);
}

static void clear(size_t from, size_t to, size_t k, double *added) {
    for (size_t i = from; i < to; i++)
        added[i * LANES + k] = 0;
}

/* The flow by all of them, until all have ended.  Returns the first sample that shows one. */
static size_t add_flows(const conductance_data *data, const conductance_step *steps,
                        const conductance_opening *openings, size_t count, double *added,
                        size_t *all_ended, conductance_rests *of) {
    size_t seen[LANES], ended[LANES], first = data->n;
    double share;
    *of = (conductance_rests){.scar = {0}};
    *all_ended = 0;
    for (size_t k = 0; k < count; k++) {
        const bool gated = openings[k].gate > 0 && !data->summed;
        seen[k] = conductance_first_seen(data, &openings[k]);
        ended[k] =
            (gated ? add_gated_ramp : add_ramp)(data, &openings[k], seen[k], added + k, &share);
        begin_rest(data, &openings[k], share, ended[k], k, of);
        first = seen[k] < first ? seen[k] : first;
        *all_ended = ended[k] > *all_ended ? ended[k] : *all_ended;
    }
    for (size_t k = 0; k < LANES; k++)
        clear(first, k < count ? seen[k] : *all_ended, k, added);
    for (size_t k = 0; k < count; k++) {
        add_rest(data, steps, ended[k], *all_ended, k, of, added);
        if (ended[k] < *all_ended && *all_ended < data->n)
            of->open[k] *= steps[*all_ended].healed[of->healing[k]];
    }
    return first;
}

size_t conductance_add(const conductance_data *data, const conductance_step *steps,
                       const conductance_opening *openings, size_t count, double *added) {
    conductance_rests rests;
    size_t end;
    const size_t first = add_flows(data, steps, openings, count, added, &end, &rests);
    double none[LANES] = {0}, last[LANES] = {0};
    add_rests(data, steps, end, &rests, added);
    if (data->summed)
        add_up(data, first, data->n, added, none, last);
    return first;
}

size_t conductance_add_until_ended(const conductance_data *data, const conductance_step *steps,
                                   const conductance_opening *openings, size_t count, double *added,
                                   size_t *end, conductance_rests *rests) {
    const size_t first = add_flows(data, steps, openings, count, added, end, rests);
    double last[LANES] = {0};
    if (!data->summed)
        return first;
    add_up(data, first, *end, added, rests->sum, last);
    for (int k = 0; k < LANES && *end < data->n; k++) {
        const double flow =
            data->pressure[*end] * (rests->scar[k] + rests->share[k] * rests->open[k]);
        rests->sum[k] += steps[*end].dt * (flow + last[k]) / 2;
    }
    return first;
}

void conductance_take_out(conductance_data *data, const conductance_step *steps,
                          const conductance_opening *opening, double a, double *added) {
    const double onset = conductance_onset_seen(data, opening);
    data->changes++;
    for (size_t i = conductance_add(data, steps, opening, 1, added); i < data->n; i++) {
        data->y[i] -= a * added[i * LANES];
        data->taken[i] += a * open_after(opening, data->t[i] - onset);
    }
}
