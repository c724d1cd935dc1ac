/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The samples by which surges are judged. */
#include "detect/surge_input.h"

#include <math.h>
#include <stdlib.h>

#include <shottrace/signal/median.h>

static const double finest = 0.04; /* s; a surge takes 0.2 s and more */
static const double calm = 0.3;    /* s over which pressure is averaged */
static const double outlying = 5;  /* noise SD from the median of the neighbours */

/* ---- pressure at the puck ---- */

static double near(const shot_channel_view *view, double t) {
    double half = fmax(calm / 2, view->noise.spacing);
    double mean = shot_view_mean(view, t - half, t + half);
    if (!isnan(mean))
        return mean;
    size_t i = shot_view_first(view, t);
    if (i == 0 || i == view->n)
        return view->y[i == 0 ? 0 : view->n - 1];
    double share = (t - view->t[i - 1]) / (view->t[i] - view->t[i - 1]);
    return view->y[i - 1] + share * (view->y[i] - view->y[i - 1]);
}

static double puck_pressure(const shot_phase_input *input, double k, double t) {
    if (input->pressure.n == 0)
        return 1; /* nothing is known of it: flow alone must tell */
    double pressure = near(&input->pressure, t), flow = k > 0 ? near(&input->flow, t) : 0;
    return fmax(pressure - (k > 0 ? k * flow * flow : 0), 0.01);
}

/* ---- spikes and knocks ---- */

/* A sample far from the median of its window.  A median of a rising stretch is its middle, so that
 * neither a slope nor a step is a spike.  A knock rings for about half a second. */
static bool is_outlier(const shot_channel_view *view, size_t i, bool summed, double *work) {
    double spacing = view->noise.spacing, half = summed ? fmax(0.7, 2.5 * spacing) : 2.5 * spacing;
    size_t n = 0, k = shot_view_first(view, view->t[i] - half);
    for (; k < view->n && view->t[k] <= view->t[i] + half; k++)
        work[n++] = view->y[k];
    double far = fabs(view->y[i] - shot_median(work, n));
    return n >= 4 && far > fmax(outlying * view->noise.sd, 1.01 * view->step);
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

static void take(const shot_phase_input *input, const shot_channel_view *view, double k,
                 const bool *out_of_line, double from, double to, conductance_data *out) {
    size_t first = shot_view_first(view, from), steps = 0;
    for (size_t i = first; i < view->n && view->t[i] <= to; steps++)
        i += add_mean(view, out_of_line, i, to, out);
    for (size_t i = 0; i < out->n; i++)
        out->pressure[i] = puck_pressure(input, k, out->t[i] - out->lag);
    size_t all = shot_view_first(view, to) - first;
    double mean_of = steps > 0 ? fmax(1, (double)all / (double)steps) : 1;
    out->sd = view->noise.sd * sqrt(view->noise.inflation / mean_of);
}

shot_status surge_input_take(const shot_phase_input *input, const shot_channel_view *view,
                             double restriction, bool summed, double from, double to,
                             conductance_data *out) {
    *out = (conductance_data){.summed = summed};
    if (summed)
        out->lag = isnan(input->scale_lag) ? 0 : input->scale_lag;
    out->t = malloc((view->n + 1) * sizeof(double));
    out->y = malloc((view->n + 1) * sizeof(double));
    out->pressure = malloc((view->n + 1) * sizeof(double));
    double *work = malloc((view->n + 1) * sizeof *work);
    bool *out_of_line = malloc((view->n + 1) * sizeof *out_of_line);
    shot_status status =
        out->t && out->y && out->pressure && work && out_of_line ? SHOT_OK : SHOT_ERR_MEMORY;
    for (size_t i = 0; i < view->n && status == SHOT_OK; i++)
        out_of_line[i] = is_outlier(view, i, summed, work);
    if (status == SHOT_OK)
        take(input, view, restriction, out_of_line, from + out->lag, to + out->lag, out);
    free(work);
    free(out_of_line);
    return status;
}

void surge_input_free(conductance_data *data) {
    free(data->t);
    free(data->y);
    free(data->pressure);
    *data = (conductance_data){0};
}
