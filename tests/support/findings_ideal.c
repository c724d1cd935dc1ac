/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Noise-free curves of both generators. */
#include "support/findings_ideal.h"

#include <math.h>
#include <stdlib.h>

static void add_curve(ideal_curves *curves, ideal_kind kind, const double *curve,
                      const double *logged, double noise) {
    if (curve == NULL || logged == NULL)
        return;
    curves->shows[curves->channels] = kind;
    curves->curve[curves->channels] = curve;
    curves->logged[curves->channels] = logged;
    curves->noise[curves->channels++] = noise;
}

/* A value rounded to a step is off by anything up to half of it. */
static double with_step(double variance, double step) {
    return sqrt(variance + step * step / 12);
}

/* A figure held over several rows tells but once: its variance counts for that many. */
double findings_ideal_noise(const shot_logger *logger, shot_sensor_kind kind) {
    const shot_sensor *sensor = &logger->sensor[kind];
    double variance = sensor->noise * sensor->noise + sensor->flicker * sensor->flicker;
    double rows = logger->hold != 0 ? sensor->every : 1;
    if (kind == SHOT_SENSOR_FLOW && logger->pulse > 0) { /* two ends of the gate, each rounded */
        const double step = logger->pulse / fmax(logger->gate, 1 / logger->rate);
        variance += step * step / 6;
    }
    if (kind == SHOT_SENSOR_WEIGHT && logger->scale_rate > 0 && logger->hold != 0)
        rows *= 1 + logger->rate / logger->scale_rate;
    return with_step(variance, sensor->step) * sqrt(rows);
}

static void draw_curves(const shot_synth *shot, findings_ideal *out) {
    const size_t count = out->curves.count;
    out->pressure = malloc((count + 1) * sizeof *out->pressure);
    out->flow = malloc((count + 1) * sizeof *out->flow);
    out->puck = malloc((count + 1) * sizeof *out->puck);
    out->conductance = malloc((count + 1) * sizeof *out->conductance);
    if (!out->pressure || !out->flow || !out->puck || !out->conductance)
        abort();
    for (size_t i = 0; i < count; i++) {
        const shot_moment m =
            shot_brew_at(shot->brew, (double)i * out->curves.step - shot->logger.lead);
        out->pressure[i] = shot->recipe.machine.gauge_at_puck != 0 ? m.puck : m.pump;
        out->flow[i] = m.flow;
        out->puck[i] = m.puck;
        out->conductance[i] = m.resistance > 0 ? 1 / m.resistance : 0;
    }
    out->curves.puck = out->puck;
    out->curves.conductance = out->conductance;
}

/* The scale read without a fault of the logger, at the rate of the curves. */
static shot_log *weigh(const shot_synth *shot, double step) {
    shot_logger quiet = shot->logger;
    shot_sensor *scale = &quiet.sensor[SHOT_SENSOR_WEIGHT];
    shot_log *log;
    quiet.rate = 1 / step;
    quiet.jitter = quiet.clock = quiet.drop = quiet.repeat = quiet.swap = 0;
    quiet.outages = quiet.knocks = quiet.scale_rate = 0;
    *scale = (shot_sensor){.present = 1, .least = -INFINITY, .every = 1};
    if (shot_log_new(&quiet, &shot->recipe, shot->brew, NULL, &log) != SHOT_OK)
        abort();
    return log;
}

void findings_ideal_of_brew(const shot_synth *shot, findings_ideal *out) {
    const shot_log *log = shot->log;
    *out = (findings_ideal){.curves = {.step = SHOT_BREW_STEP,
                                       .scale_lag = isfinite(log->scale_lag) ? log->scale_lag : 0}};
    out->scale = weigh(shot, SHOT_BREW_STEP);
    out->curves.count = out->scale->rows;
    draw_curves(shot, out);
    add_curve(&out->curves, IDEAL_PRESSURE, out->pressure, shot_log_column(log, "pressure"),
              findings_ideal_noise(&shot->logger, SHOT_SENSOR_PRESSURE));
    add_curve(&out->curves, IDEAL_FLOW, out->flow, shot_log_column(log, "flow"),
              findings_ideal_noise(&shot->logger, SHOT_SENSOR_FLOW));
    add_curve(&out->curves, IDEAL_WEIGHT, shot_log_column(out->scale, "weight"),
              shot_log_column(log, "weight"),
              findings_ideal_noise(&shot->logger, SHOT_SENSOR_WEIGHT));
}

void findings_ideal_of_pieces(analytic_family family, shot_grade grade, uint64_t seed,
                              uint64_t index, const analytic_shot *logged, findings_ideal *out) {
    *out = (findings_ideal){.curves.step = SHOT_BREW_STEP};
    if (analytic_shot_quiet(family, grade, seed, index, 1 / SHOT_BREW_STEP, &out->quiet) != SHOT_OK)
        abort();
    const analytic_shot *quiet = out->quiet;
    const double *noise = logged->noise, *step = logged->step;
    out->curves.count = quiet->rows;
    out->conductance = malloc((quiet->rows + 1) * sizeof *out->conductance);
    if (out->conductance == NULL)
        abort();
    for (size_t i = 0; i < quiet->rows; i++)
        out->conductance[i] = quiet->pressure[i] > 0 ? quiet->flow[i] / quiet->pressure[i] : 0;
    out->curves.puck = quiet->pressure;
    out->curves.conductance = out->conductance;
    out->curves.scale_lag = isfinite(logged->scale_lag) ? logged->scale_lag : 0;
    add_curve(&out->curves, IDEAL_PRESSURE, quiet->pressure, logged->pressure,
              with_step(noise[0] * noise[0], step[0]));
    add_curve(&out->curves, IDEAL_FLOW, quiet->flow, logged->flow,
              with_step(noise[1] * noise[1], step[1]));
    add_curve(&out->curves, IDEAL_WEIGHT, quiet->weight, logged->weight,
              with_step(noise[2] * noise[2], step[2]));
}

void findings_ideal_free(findings_ideal *ideal) {
    free(ideal->pressure);
    free(ideal->flow);
    free(ideal->puck);
    free(ideal->conductance);
    shot_log_free(ideal->scale);
    analytic_shot_free(ideal->quiet);
    *ideal = (findings_ideal){0};
}
