/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The samples by which surges are judged. */
#include "detect/surge_input.h"

#include <math.h>
#include <stdlib.h>

#include <shottrace/signal/median.h>

#include "detect/cup.h"
#include "detect/fresh_values.h"
#include "detect/meter_gate.h"
#include "detect/touched_scale.h"
#include "signal/changes.h"
#include "signal/value_stay.h"

static const double finest = 0.04; /* s; a surge takes 0.2 s and more */
static const double calm = 0.1; /* s over which pressure is averaged: half of the shortest surge */
static const double roughly = 0.1; /* of a count: figures are rounded, or lie between two */
enum { ENOUGH_CHANGES = 10 };
static const double outlying = 5; /* usual distances from the median of the neighbours */

/* ---- pressure at the puck ---- */

static double near(const shot_channel_view *view, double t) {
    double half = fmax(calm / 2, view->noise.spacing);
    double mean = shot_view_mean(view, t - half, t + half);
    return isnan(mean) ? shot_view_at(view, t) : mean;
}

static double puck_pressure(const shot_phase_input *input, double k, double t) {
    if (input->pressure.n == 0)
        return 1; /* nothing is known of it: flow alone must tell */
    double pressure = near(&input->pressure, t), flow = k > 0 ? near(&input->flow, t) : 0;
    return fmax(pressure - (k > 0 ? k * flow * flow : 0), 0.01);
}

/* The pressure that a sample is the answer to, and how fast it changes.  What a meter has counted
 * over a gate answers to the mean over the gate. */
static void take_pressure(const shot_phase_input *input, double k, conductance_data *out) {
    const double apart = fmax(calm, input->pressure.noise.spacing), gate = out->gate;
    const double before = gate > 0 ? gate : apart, behind = gate > 0 ? 0 : apart;
    out->apart = behind;
    for (size_t i = 0; i < out->n; i++) {
        const double at = out->t[i] - out->lag, y = out->y[i];
        const double mean = shot_view_mean(&input->pressure, at - gate, at);
        out->pressure[i] = gate > 0 && mean > 0 ? fmax(mean - (k > 0 ? k * y * y : 0), 0.01)
                                                : puck_pressure(input, k, at);
        out->rate[i] =
            (puck_pressure(input, k, at + behind) - puck_pressure(input, k, at - before)) /
            (before + behind);
    }
}

/* ---- spikes and knocks ---- */

static const double half_of_flow = 0.35, half_of_sum = 0.7; /* s; a knock rings half a second */

static double half_window(const shot_channel_view *view, bool summed) {
    return fmax(summed ? half_of_sum : half_of_flow, 2.5 * view->noise.spacing);
}

/* How far a sample is from the median of its window; 0 with too few.  A median of a rising stretch
 * is its middle, so that neither a slope nor a step stands out. */
static double far_out(const shot_channel_view *view, size_t i, bool summed, double *work) {
    const double half = half_window(view, summed);
    size_t n = 0, k = shot_view_first(view, view->t[i] - half);
    for (; k < view->n && view->t[k] <= view->t[i] + half; k++)
        work[n++] = view->y[k];
    return n >= 4 ? fabs(view->y[i] - shot_median(work, n)) : 0;
}

/* How far sample i is from the line through the samples first..end, which it is none of; infinite
 * with fewer than two. */
static double off_line(const shot_channel_view *view, size_t first, size_t end, size_t i) {
    const double n = (double)end - (double)first;
    double t = 0, y = 0, squares = 0, products = 0;
    for (size_t k = first; k < end; k++) {
        t += (view->t[k] - view->t[i]) / n;
        y += view->y[k] / n;
    }
    for (size_t k = first; k < end; k++) {
        const double away = view->t[k] - view->t[i] - t;
        squares += away * away;
        products += away * (view->y[k] - y);
    }
    return squares > 0 ? fabs(view->y[i] - (y - t * products / squares)) : INFINITY;
}

/* The median of a window says little of a sample where a flow that falls begins to rise, as when a
 * puck opens, and where more samples lie on one side than on the other.  But such a sample goes on
 * what was before it, or leads to what follows, which no spike does. */
static bool goes_on(const shot_channel_view *view, size_t i, bool summed, double off) {
    const double half = half_window(view, summed);
    const size_t first = shot_view_first(view, view->t[i] - half);
    size_t end = i + 1;
    while (end < view->n && view->t[end] <= view->t[i] + half)
        end++;
    return off_line(view, first, i, i) <= off || off_line(view, i + 1, end, i) <= off;
}

/* What lasts for as long as the window, in two rows or more, is no spike of a flow: in a slow log a
 * pump that stands still for a moment looks like that. */
static void keep_lasting(const shot_channel_view *view, size_t first, size_t end,
                         bool *out_of_line) {
    for (size_t i = first, k; i < end; i = k) {
        for (k = i + 1; k < end && out_of_line[k] && out_of_line[i];)
            k++;
        const double lasts = view->t[k - 1] - view->t[i] + view->noise.spacing;
        if (k - i < 2 || lasts < 2 * half_of_flow)
            continue;
        for (size_t j = i; j < k; j++)
            out_of_line[j] = false;
    }
}

/* Spikes stand out from what is usual in this stretch (Hampel 1974, J. Am. Stat. Assoc.
 * 69:383-393), and from the noise: in a stretch that rises evenly most samples are the median. */
static void find_outliers(const shot_channel_view *view, bool summed, double from, double to,
                          double *work, double *far, bool *out_of_line) {
    size_t first = shot_view_first(view, from), n = 0;
    for (size_t i = first; i < view->n && view->t[i] <= to; i++, n++)
        far[n] = far_out(view, i, summed, work);
    for (size_t i = 0; i < n; i++)
        work[i] = far[i];
    const double scatter = n > 0 ? SHOT_MAD_TO_SD * shot_median(work, n) : 0;
    const double off = fmax(outlying * fmax(scatter, view->noise.sd), 1.01 * view->step);
    for (size_t i = 0; i < n; i++)
        out_of_line[first + i] = far[i] > off && !goes_on(view, first + i, summed, off);
    if (!summed)
        keep_lasting(view, first, first + n, out_of_line);
}

/* ---- samples ---- */

/* The mean of the samples k from i on that lie within `finest`; returns how many they were. */
static size_t add_mean(const shot_channel_view *view, const bool *out_of_line, size_t i, double to,
                       conductance_data *out) {
    double t = 0, y = 0;
    size_t taken = 0, k = i;
    for (; k < view->n && view->t[k] <= to && (k == i || view->t[k] < view->t[i] + finest); k++) {
        if (out_of_line[k])
            continue;
        t += view->t[k];
        y += view->y[k];
        taken++;
    }
    if (taken > 0) {
        out->t[out->n] = t / (double)taken;
        out->y[out->n++] = y / (double)taken;
    }
    return k - i;
}

/* A typical conductance: all the water over all the pressure. */
static double typical(const conductance_data *data) {
    double water = 0, pressure = 0;
    for (size_t i = 1; i < data->n; i++) {
        double dt = data->t[i] - data->t[i - 1];
        pressure += dt * (data->pressure[i] + data->pressure[i - 1]) / 2;
        water +=
            data->summed ? data->y[i] - data->y[i - 1] : dt * (data->y[i] + data->y[i - 1]) / 2;
    }
    return pressure > 0 ? fmax(water / pressure, 0) : 0;
}

/* The step by which a meter that counts changes its figures, four in five of them, where none but a
 * few lie far from their neighbours: then it flickers between two counts, and no noise carries it
 * over them.  The figures may be written in finer steps.  0 of any other meter. */
static double counted_step(const shot_channel_view *view, size_t first, size_t n, double *work) {
    const double *y = view->y + first;
    size_t changed = 0;
    for (size_t i = 1; i < n; i++) {
        work[changed] = fabs(y[i] - y[i - 1]);
        changed += work[changed] > 0;
    }
    if (changed < ENOUGH_CHANGES)
        return 0;
    const double step = shot_median(work, changed);
    shot_multiples seen = {0, 0};
    changes_divide(y, n, &(shot_divisor){step, 2.5 * step, roughly}, &seen);
    double far = 0;
    for (size_t i = 1; i + 1 < n; i++)
        far += fabs(y[i] - (y[i - 1] + y[i + 1]) / 2) >= VALUE_STAY_FAR * (1 - roughly) * step;
    return seen.multiples >= 4 * seen.others && value_stay(far, (double)n, step) == 1 ? step : 0;
}

static bool is_counter(const conductance_data *data) {
    return data->summed && !data->drains;
}

/* What is known of a sample's error beforehand; how large it really is in this stretch follows from
 * the samples themselves, but it is never less than what rounding hides, or, where a filter has
 * smoothed, what was there before.  A meter's flow that stays within a step may lie at its edge and
 * flicker by half a step either way; a weight runs through its steps. */
static void set_noise(const shot_phase_input *input, const shot_channel_view *view, double mean_of,
                      double counted, conductance_data *out) {
    double step = fmax(shot_channel_view_written_step(view), counted),
           rounding = step / (out->summed ? sqrt(12) : 2);
    const bool known = view->processed || is_counter(out);
    double least = known ? view->noise.sd * sqrt(view->noise.inflation) : rounding;
    out->middle = typical(out);
    out->pressure_sd = input->pressure.noise.sd;
    out->sd = fmax(view->noise.sd, least) / sqrt(mean_of);
    out->least_sd = least / sqrt(mean_of);
    out->coarse = !out->summed && (counted > 0 || view->noise.sd < step / 2) ? step : 0;
}

static void take(const shot_phase_input *input, const shot_channel_view *view, double k,
                 const bool *out_of_line, double from, double to, double *work,
                 conductance_data *out) {
    size_t first = shot_view_first(view, from), steps = 0;
    for (size_t i = first; i < view->n && view->t[i] <= to; steps++)
        i += add_mean(view, out_of_line, i, to, out);
    size_t all = shot_view_first(view, to) - first;
    double mean_of = steps > 0 ? fmax(1, (double)all / (double)steps) : 1;
    const double counted = out->summed ? 0 : counted_step(view, first, all, work);
    out->gate = counted > 0 ? out->gate : 0;
    take_pressure(input, k, out);
    set_noise(input, view, mean_of, counted, out);
}

static shot_status take_rows(const shot_phase_input *input, const shot_channel_view *view,
                             double restriction, bool summed, double from, double to,
                             conductance_data *out) {
    out->blind = input->pressure.n == 0;
    if (out->drains)
        out->lag = isnan(input->scale_lag) ? 0 : input->scale_lag;
    out->t = malloc((view->n + 1) * sizeof(double));
    out->y = malloc((view->n + 1) * sizeof(double));
    out->pressure = malloc((view->n + 1) * sizeof(double));
    out->rate = malloc((view->n + 1) * sizeof(double));
    out->age = malloc((view->n + 1) * sizeof(double));
    out->taken = calloc(view->n + 1, sizeof(double));
    double *work = malloc((view->n + 1) * sizeof *work);
    double *far = malloc((view->n + 1) * sizeof *far);
    bool *out_of_line = calloc(view->n + 1, sizeof *out_of_line);
    shot_status status = out->t && out->y && out->pressure && out->rate && out->age && out->taken &&
                                 far && work && out_of_line
                             ? SHOT_OK
                             : SHOT_ERR_MEMORY;
    if (status == SHOT_OK) {
        if (!is_counter(out)) /* counts come as they come */
            find_outliers(view, summed, from + out->lag, to + out->lag, work, far, out_of_line);
        take(input, view, restriction, out_of_line, from + out->lag, to + out->lag, work, out);
    }
    free(far);
    free(work);
    free(out_of_line);
    return status;
}

/* Does the flow stand between counts k - 1 and k? */
static bool stands_before(const shot_phase_input *input, size_t k) {
    const shot_channel_view *flow = &input->flow, *water = &input->water;
    for (size_t i = shot_view_first(flow, water->t[k - 1]); i < flow->n; i++)
        if (flow->t[i] > water->t[k] || !(flow->y[i] > 0))
            return flow->t[i] <= water->t[k];
    return false;
}

/* The longest part of from..to in which the counter goes on: while it stands no count tells
 * anything.  Borrows the view. */
static shot_channel_view counting(const shot_phase_input *input, double from, double to) {
    const shot_channel_view *water = &input->water;
    const size_t end = shot_view_first(water, nextafter(to, INFINITY));
    size_t begin = shot_view_first(water, from), first = begin, last = begin;
    for (size_t k = begin + 1; k <= end && begin < end; k++) {
        if (k < end && !stands_before(input, k))
            continue;
        if (water->t[k - 1] - water->t[begin] > water->t[last] - water->t[first]) {
            first = begin;
            last = k - 1;
        }
        begin = k;
    }
    shot_channel_view out = *water;
    out.t += first;
    out.y += first;
    out.n = first < end ? last - first + 1 : 0;
    return out;
}

/* A gate that stands in many rows is one sample. */
static shot_status take_flow(const shot_phase_input *input, const shot_channel_view *view,
                             double restriction, double from, double to, conductance_data *out) {
    shot_channel_view gates;
    out->gate = view->processed ? 0 : shot_meter_gate(view);
    if (!(out->gate > 0))
        return take_rows(input, view, restriction, false, from, to, out);
    SHOT_TRY(shot_meter_gate_values(view, out->gate, &gates));
    const shot_status status = take_rows(input, &gates, restriction, false, from, to, out);
    shot_channel_view_free(&gates);
    return status;
}

/* A scale with news in a few rows only stands in the others; what a hand does to the cup is no
 * water, and a scale that hangs tells nothing. */
shot_status surge_input_take(const shot_phase_input *input, const shot_channel_view *view,
                             double restriction, bool summed, double from, double to,
                             conductance_data *out) {
    shot_channel_view fresh;
    const bool counter = view == &input->water;
    *out = (conductance_data){.summed = summed, .drains = summed && !counter};
    if (counter) {
        const shot_channel_view runs = counting(input, from, to);
        return take_rows(input, &runs, restriction, summed, from, to, out);
    }
    if (!summed)
        return take_flow(input, view, restriction, from, to, out);
    const double lag = isnan(input->scale_lag) ? 0 : input->scale_lag;
    double hangs;
    SHOT_TRY(shot_view_hangs_from(view, to + lag, &hangs));
    SHOT_TRY(shot_view_fresh(view, &fresh));
    const double end = fmin(to, hangs - lag);
    const shot_channel_view stands = shot_cup_longest(&fresh, from + lag, end + lag);
    shot_status status = take_rows(input, &stands, restriction, summed, from, end, out);
    shot_channel_view_free(&fresh);
    return status;
}

void surge_input_free(conductance_data *data) {
    free(data->t);
    free(data->y);
    free(data->pressure);
    free(data->rate);
    free(data->age);
    free(data->taken);
    *data = (conductance_data){0};
}
