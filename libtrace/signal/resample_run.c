/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One channel between two gaps, brought onto the grid. */
#include "signal/resample_run.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/signal/lagrange.h>
#include <shottrace/signal/linear.h>
#include <shottrace/signal/median.h>
#include <shottrace/signal/monotone_cubic.h>

#include "signal/correlated_variance.h"

/* A grid that is slower than the samples by less than this is taken to have their rate: what could
 * alias lies within 5 % of half of it. */
static const double SAME_RATE = 1.05;

/* The filter behind the linear and the cubic method: short, for looking and live use; what folds
 * is down by 60 dB, the lower half of the band is kept, 7.2 steps of look-ahead. */
static const shot_bandlimited_quality SHORT = {.attenuation = 60, .keep = 0.5};

/* The band-limited method learns the spacing of the nodes from so many intervals; its filter looks
 * further ahead anyway. */
enum { INTERVALS = 64 };

/* A node this near to the last sample of a run, in spacings, is the sample: decimal steps are not
 * exact in binary.  Before, which sample is the last one so far is chance. */
static const double ON_SAMPLE = 1e-6;

typedef shot_status (*interpolate)(const double *t, const double *y, size_t n, const double *at,
                                   size_t m, double *value);
typedef shot_status (*weigh)(const double *t, const double *y, size_t n, const double *at, size_t m,
                             shot_sample_weights *out);

static const struct {
    interpolate function;
    weigh weights;
    size_t ahead; /* samples after a place, and before it, that decide its value */
} METHODS[] = {
    [RESAMPLE_LINEAR] = {shot_linear, shot_linear_weights, 1},
    [RESAMPLE_CUBIC] = {NULL, shot_monotone_cubic_weights, 2}, /* with places that are held */
    [RESAMPLE_SINC] = {shot_lagrange, shot_lagrange_weights, 4},
};

void resample_run_init(resample_run *run, const resample_grid *grid, resample_method method,
                       bool weighed) {
    *run = (resample_run){.grid = grid, .method = method, .weighed = weighed};
}

void resample_run_begin(resample_run *run, double spacing) {
    run->n = 0;
    run->placed = false;
    run->spacing = spacing;
    run->dropped = 0;
    run->made = 0;
    resample_gain_begin(&run->gain);
}

void resample_run_clear(resample_run *run) {
    shot_bandlimited_free(run->filter);
    resample_column_clear(&run->nodes);
    resample_gain_clear(&run->gain);
    free(run->t);
    free(run->y);
    *run = (resample_run){0};
}

shot_status resample_run_push(resample_run *run, const double *t, const double *y, size_t n) {
    if (run->n + n > run->room) {
        const size_t room = 2 * (run->n + n) + 64;
        double *more_t = realloc(run->t, room * sizeof *more_t);
        run->t = more_t != NULL ? more_t : run->t;
        double *more_y = realloc(run->y, room * sizeof *more_y);
        run->y = more_y != NULL ? more_y : run->y;
        if (more_t == NULL || more_y == NULL)
            return SHOT_ERR_MEMORY;
        run->room = room;
    }
    memcpy(run->t + run->n, t, n * sizeof *t);
    memcpy(run->y + run->n, y, n * sizeof *y);
    run->n += n;
    return SHOT_OK;
}

static double node_time(const resample_run *run, int64_t j) {
    return run->method == RESAMPLE_SINC ? run->origin + (double)j * run->spacing
                                        : resample_grid_time(run->grid, j, run->parts);
}

static void node_times(const resample_run *run, int64_t j, size_t n, double *out) {
    if (run->method != RESAMPLE_SINC) {
        resample_grid_times(run->grid, j, run->parts, n, out);
        return;
    }
    for (size_t i = 0; i < n; i++)
        out[i] = node_time(run, j + (int64_t)i);
}

/* The filter for a ratio of steps, made anew only where the last run had another. */
static shot_status set_filter(resample_run *run, double ratio, double offset,
                              shot_bandlimited_quality quality) {
    run->filtered = true;
    if (run->filter != NULL && run->filter_ratio == ratio) {
        shot_bandlimited_reset(run->filter, offset);
        return SHOT_OK;
    }
    shot_bandlimited_free(run->filter);
    run->filter_ratio = ratio;
    return shot_bandlimited_new(ratio, offset, quality, &run->filter);
}

/* Mean interval of the samples at hand, leaving out those where samples were lost. */
static double mean_spacing(const resample_run *run) {
    double interval[INTERVALS], lost = 0;
    size_t n = run->n - 1 < INTERVALS ? run->n - 1 : INTERVALS, left = n;
    for (size_t i = 0; i < n; i++)
        interval[i] = run->t[i + 1] - run->t[i];
    const double longest = 1.5 * shot_median(interval, n);
    for (size_t i = 0; i < n; i++)
        if (interval[i] > longest) {
            lost += interval[i];
            left--;
        }
    return (run->t[n] - run->t[0] - lost) / (double)left;
}

/* A grid that is so many times slower than the samples would need a filter beyond all memory. */
static const double MOST_RATIO = 1e6;

static shot_status place_bandlimited(resample_run *run, resample_column *column) {
    const double step = run->grid->step;
    const int64_t k = resample_grid_first(run->grid, run->t[0], 1);
    run->spacing = run->n > 1 ? mean_spacing(run) : step;
    if (step / run->spacing > MOST_RATIO)
        return SHOT_ERR_RANGE;
    run->origin = run->t[0];
    run->node = 0;
    SHOT_TRY(resample_column_skip(column, k));
    return set_filter(run, step / run->spacing,
                      (resample_grid_time(run->grid, k, 1) - run->origin) / run->spacing,
                      SHOT_BANDLIMITED_DEFAULT);
}

/* Nodes in a step of the grid: as many as samples, if that is a whole number, so that nodes of even
 * samples are samples; else twice as many, so that less of what interpolation images folds. */
static int64_t parts_for(double ratio) {
    const double whole = round(ratio);
    return (int64_t)(fabs(ratio - whole) < 0.05 ? whole : ceil(2 * ratio));
}

static shot_status place_interpolated(resample_run *run, resample_column *column) {
    const double ratio = run->grid->step / run->spacing;
    if (ratio > MOST_RATIO)
        return SHOT_ERR_RANGE;
    run->parts = ratio > SAME_RATE ? parts_for(ratio) : 1;
    run->node = resample_grid_first(run->grid, run->t[0], run->parts);
    run->filtered = false;
    const int64_t k = resample_grid_first(run->grid, run->t[0], 1);
    SHOT_TRY(resample_column_skip(column, k));
    if (run->parts == 1)
        return SHOT_OK;
    resample_column_begin(&run->nodes, run->node);
    return set_filter(run, (double)run->parts, (double)(k * run->parts - run->node), SHORT);
}

/* Choose the nodes, as soon as enough samples are there or no more will come. */
static shot_status place(resample_run *run, resample_column *column, bool over) {
    if (run->placed || run->n == 0 ||
        (run->method == RESAMPLE_SINC && run->n <= INTERVALS && !over))
        return SHOT_OK;
    run->placed = true;
    SHOT_TRY(run->method == RESAMPLE_SINC ? place_bandlimited(run, column)
                                          : place_interpolated(run, column));
    run->first_node = run->node;
    return SHOT_OK;
}

static bool only_rises_or_falls(const double *value, int64_t n) {
    bool rises = true, falls = true;
    for (int64_t i = 1; i < n && (rises || falls); i++) {
        rises = rises && value[i] >= value[i - 1];
        falls = falls && value[i] <= value[i - 1];
    }
    return rises || falls;
}

/* Hold back an output of the filter at place k to the range of the nodes that lie up to a step
 * before and after it; half a step where they only rise or only fall, so that the ranges of
 * neighbouring outputs do not overlap, and these rise or fall too.  Where it is one of them, the
 * gain is that node's. */
static void hold_in_range(const resample_run *run, int64_t k, double *out, double *gain) {
    const int64_t first = run->nodes.next - (int64_t)run->nodes.count;
    const int64_t here = k * run->parts, last = run->nodes.next - 1, half = run->parts / 2;
    int64_t from = here - run->parts > first ? here - run->parts : first;
    int64_t to = here + run->parts < last ? here + run->parts : last;
    const double *value = run->nodes.value;
    if (only_rises_or_falls(value + (from - first), to - from + 1)) {
        from = here - half > from ? here - half : from;
        to = here + half < to ? here + half : to;
    }
    int64_t low = from, high = from;
    for (int64_t j = from + 1; j <= to; j++) {
        low = value[j - first] < value[low - first] ? j : low;
        high = value[j - first] > value[high - first] ? j : high;
    }
    const int64_t held = *out < value[low - first] ? low : *out > value[high - first] ? high : -1;
    if (held < 0)
        return;
    *out = value[held - first];
    if (run->weighed)
        *gain = resample_gain_of_node(&run->gain, (uint64_t)(held - run->first_node));
}

/* Nodes that no later output looks at: those more than a step before place k. */
static void forget_nodes(resample_run *run, int64_t k) {
    const int64_t first = run->nodes.next - (int64_t)run->nodes.count;
    const int64_t keep = (k - 1) * run->parts;
    if (keep > first)
        resample_column_drop(&run->nodes,
                             keep < run->nodes.next ? (size_t)(keep - first) : run->nodes.count);
}

/* The gains of the next n outputs of the filter. */
static shot_status weigh_outputs(resample_run *run, double *gain, size_t n) {
    for (size_t i = 0; i < n && run->weighed; i++)
        SHOT_TRY(resample_gain_of_output(&run->gain, run->filter, run->made + i, &gain[i]));
    run->made += n;
    return SHOT_OK;
}

/* Values of nodes through the filter; none when the run is over.  `gain` has room as `out` has if
 * gains are asked for. */
static shot_status filter(resample_run *run, const double *value, size_t n, double *out,
                          double *gain, resample_column *column) {
    const bool bounded = run->method == RESAMPLE_CUBIC;
    if (bounded)
        SHOT_TRY(resample_column_add(&run->nodes, value, NULL, n));
    const size_t made = n > 0 ? shot_bandlimited_push(run->filter, value, n, out)
                              : shot_bandlimited_finish(run->filter, out);
    SHOT_TRY(weigh_outputs(run, gain, made));
    for (size_t i = 0; i < made && bounded; i++)
        hold_in_range(run, column->next + (int64_t)i, &out[i], &gain[i]);
    if (bounded)
        forget_nodes(run, column->next + (int64_t)made);
    resample_gain_forget(&run->gain);
    return resample_column_add(column, out, gain, made);
}

/* Values of a handful of nodes, through the filter if there is one. */
enum { BATCH = 512 };

static shot_status hand_on_filtered(resample_run *run, const double *value, size_t n,
                                    resample_column *column) {
    const size_t room = shot_bandlimited_room(run->filter, n);
    double few[2 * BATCH], *out = room <= BATCH ? few : malloc(2 * room * sizeof *out);
    if (out == NULL)
        return SHOT_ERR_MEMORY;
    const shot_status status = filter(run, value, n, out, out + room, column);
    if (out != few)
        free(out);
    return status;
}

static shot_status hand_on_nodes(resample_run *run, const double *value, size_t n,
                                 resample_column *column) {
    double gain[BATCH];
    for (size_t i = 0; i < n && run->weighed; i++)
        gain[i] = resample_gain_of_node(&run->gain, run->gain.next - n + i);
    resample_gain_forget_all(&run->gain);
    return resample_column_add(column, value, gain, n);
}

/* Remember what the nodes at m <= BATCH times owe to which samples. */
static shot_status weigh_nodes(resample_run *run, const double *at, size_t m) {
    shot_sample_weights nodes[BATCH];
    if (METHODS[run->method].weights(run->t, run->y, run->n, at, m, nodes) != SHOT_OK)
        return SHOT_ERR_DATA;
    return resample_gain_note(&run->gain, nodes, m, run->t, run->n, run->dropped);
}

/* The times of the next nodes up to `last`, at most BATCH; how many. */
static size_t next_nodes(const resample_run *run, double last, bool over, double *at) {
    const bool reaches = over && run->method == RESAMPLE_SINC;
    const double tolerance = reaches ? ON_SAMPLE * run->spacing : 0;
    const double first = node_time(run, run->node), second = node_time(run, run->node + 1);
    const double expected = (last + tolerance - first) / (second - first) + 2;
    if (!(first <= last + tolerance))
        return 0;
    const size_t n = expected < BATCH ? (size_t)expected : BATCH;
    size_t m = n;
    node_times(run, run->node, n, at);
    while (m > 0 && !(at[m - 1] <= last + tolerance))
        m--;
    for (size_t i = m; i > 0 && at[i - 1] > last; i--)
        at[i - 1] = last;
    return m;
}

static shot_status interpolate_at(resample_run *run, const double *at, size_t m, double *value) {
    const interpolate function = METHODS[run->method].function;
    return function == NULL ? monotone_cubic_with(run->places, run->t, run->y, run->n, at, m, value)
                            : function(run->t, run->y, run->n, at, m, value);
}

/* Interpolate the nodes up to `last`, a sample's time: that of the last one where the run is over.
 */
static shot_status pass_nodes(resample_run *run, double last, bool over, resample_column *column) {
    for (;;) {
        double at[BATCH], value[BATCH];
        const size_t m = next_nodes(run, last, over, at);
        if (m == 0)
            return SHOT_OK;
        if (interpolate_at(run, at, m, value) != SHOT_OK)
            return SHOT_ERR_DATA;
        if (run->weighed)
            SHOT_TRY(weigh_nodes(run, at, m));
        run->node += (int64_t)m;
        SHOT_TRY(run->filtered ? hand_on_filtered(run, value, m, column)
                               : hand_on_nodes(run, value, m, column));
    }
}

/* Forget samples that lie further before the next node than the method looks. */
static void forget(resample_run *run) {
    const double next = node_time(run, run->node);
    const size_t before = METHODS[run->method].ahead - 1;
    size_t i = run->n - 1;
    while (i > 0 && run->t[i] > next)
        i--;
    if (i <= before)
        return;
    const size_t drop = i - before;
    run->dropped += drop;
    run->n -= drop;
    memmove(run->t, run->t + drop, run->n * sizeof *run->t);
    memmove(run->y, run->y + drop, run->n * sizeof *run->y);
}

shot_status resample_run_flush(resample_run *run, resample_column *column) {
    const size_t ahead = METHODS[run->method].ahead;
    SHOT_TRY(place(run, column, false));
    if (!run->placed || run->n <= ahead)
        return SHOT_OK;
    SHOT_TRY(pass_nodes(run, run->t[run->n - ahead], false, column));
    forget(run);
    return SHOT_OK;
}

/* Places between the last node and the last sample, which the band-limited method does not reach
 * where the samples are uneven: by the monotone cubic. */
static shot_status fill_tail(resample_run *run, resample_column *column) {
    for (;;) {
        const double at = resample_grid_time(run->grid, column->next, 1);
        double value;
        shot_sample_weights w;
        if (at > run->t[run->n - 1])
            return SHOT_OK;
        if (shot_monotone_cubic(run->t, run->y, run->n, &at, 1, &value) != SHOT_OK ||
            shot_monotone_cubic_weights(run->t, run->y, run->n, &at, 1, &w) != SHOT_OK)
            return SHOT_ERR_DATA;
        const double gain =
            correlated_variance_of(run->t + w.first, w.weight, w.count, run->gain.correlation);
        SHOT_TRY(resample_column_add(column, &value, &gain, 1));
    }
}

shot_status resample_run_finish(resample_run *run, resample_column *column) {
    if (run->n == 0)
        return SHOT_OK;
    SHOT_TRY(place(run, column, true));
    SHOT_TRY(pass_nodes(run, run->t[run->n - 1], true, column));
    if (run->filtered)
        SHOT_TRY(hand_on_filtered(run, NULL, 0, column));
    return run->method == RESAMPLE_SINC ? fill_tail(run, column) : SHOT_OK;
}
