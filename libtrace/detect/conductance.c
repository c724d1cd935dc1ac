/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Conductance that wanders: the filter, and what openings in it explain. */
#include "detect/conductance.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "detect/conductance_lanes.h"
#include "detect/conductance_tail.h"
#include "signal/pi.h"

/* What is known before the first sample: nearly nothing. */
static const double vague_level = 3, vague_slope = 1; /* of the typical conductance, and a second */
static const double grown = 10;                       /* s, the age at which wander is stated */
static const double lasting = 0.5;                    /* s, the time constant of noise that lasts */
static const double give = 0.5; /* ml/bar, of headspace, hoses and trapped air; common practice */

/* SD of noise that lasts, over that of white noise, in each lane of gains. */
static const double drifts[CONDUCTANCE_LANES] = {0, 0.5, 1, 2};

/* ---- the system ---- */

/* What wander adds in dt: the integrals of a random walk and of its integral (Harvey 1989, eq.
 * 9.2.6), with the weight's as those times the mean pressure. */
static void add_wander(double age, double mean, conductance_step *f) {
    double dt = f->dt, dt2 = dt * dt, dt3 = dt2 * dt, young = grown / age;
    f->by_level_wander = (struct conductance_unrest){
        .gg = young * dt, .gc = young * mean * dt2 / 2, .cc = young * mean * mean * dt3 / 3};
    young *= young * young;
    f->by_slope_wander = (struct conductance_unrest){.gg = young * dt3 / 3,
                                                     .gd = young * dt2 / 2,
                                                     .gc = young * mean * dt2 * dt2 / 8,
                                                     .dd = young * dt,
                                                     .dc = young * mean * dt3 / 6,
                                                     .cc = young * mean * mean * dt2 * dt3 / 20};
}

/* x[i+1] = F x[i] + noise, between two samples: g and d as a local linear trend; the third state is
 * C, which stays, or the weight, which gathers g p; the fourth is noise that lasts. */
static conductance_step between(const conductance_data *data, size_t i) {
    if (i == 0)
        return (conductance_step){.left = 1, .healed = {1, 1, 1}};
    double dt = data->t[i] - data->t[i - 1], p = data->pressure[i - 1], q = data->pressure[i];
    conductance_step f = {.dt = dt, .left = exp(-dt / lasting)};
    for (int k = 0; k < CONDUCTANCE_HEALINGS; k++)
        f.healed[k] = exp(-dt / conductance_healings[k]);
    if (data->summed) {
        f.by_level = dt * (p + q) / 2;
        f.by_slope = dt * dt * (p + 2 * q) / 6;
    }
    add_wander(data->age[i], data->summed ? (p + q) / 2 : 0, &f);
    return f;
}

conductance_step *conductance_steps_new(const conductance_data *data) {
    conductance_step *steps = malloc((data->n + 1) * sizeof *steps);
    for (size_t i = 0; steps != NULL && i < data->n; i++)
        steps[i] = between(data, i);
    return steps;
}

/* ---- covariance ---- */

/* The upper half of the covariance matrix, in each lane. */
typedef struct covariance {
    double gg[LANES], gd[LANES], gc[LANES], ge[LANES], dd[LANES], dc[LANES], de[LANES], cc[LANES],
        ce[LANES], ee[LANES];
} covariance;

/* P = F P F'. */
static inline void move_covariance(const conductance_step *f, covariance *p) {
    const double dt = f->dt, a = f->by_level, b = f->by_slope, left = f->left;
    for (int k = 0; k < LANES; k++) {
        double gd = p->gd[k] + dt * p->dd[k], gg = p->gg[k] + dt * p->gd[k];
        double cd = p->dc[k] + a * p->gd[k] + b * p->dd[k];
        double cg = p->gc[k] + a * p->gg[k] + b * p->gd[k];
        double cc = p->cc[k] + a * p->gc[k] + b * p->dc[k];
        p->ce[k] = left * (p->ce[k] + a * p->ge[k] + b * p->de[k]);
        p->ge[k] = left * (p->ge[k] + dt * p->de[k]);
        p->de[k] *= left;
        p->ee[k] *= left * left;
        p->gc[k] += dt * p->dc[k] + a * gg + b * gd;
        p->gg[k] = gg + dt * gd;
        p->gd[k] = gd;
        p->dc[k] = cd;
        p->cc[k] = cc + a * cg + b * cd;
    }
}

static inline void add_unrest(const struct conductance_unrest *unrest, double variance,
                              covariance *p) {
    for (int k = 0; k < LANES; k++) {
        p->gg[k] += variance * unrest->gg;
        p->gd[k] += variance * unrest->gd;
        p->gc[k] += variance * unrest->gc;
        p->dd[k] += variance * unrest->dd;
        p->dc[k] += variance * unrest->dc;
        p->cc[k] += variance * unrest->cc;
    }
}

/* One sample: gains and weights, the variance of the innovation, and P = P - K h' P. */
static inline void see(observation h, double noise, covariance *p, double *restrict gain,
                       double *restrict weight, double *restrict variance) {
    for (int k = 0; k < LANES; k++) {
        double g = h.by_g * p->gg[k] + h.by_c * p->gc[k] + p->ge[k];
        double d = h.by_g * p->gd[k] + h.by_c * p->dc[k] + p->de[k];
        double c = h.by_g * p->gc[k] + h.by_c * p->cc[k] + p->ce[k];
        double e = h.by_g * p->ge[k] + h.by_c * p->ce[k] + p->ee[k];
        variance[k] = h.by_g * g + h.by_c * c + e + noise;
        double share = 1 / variance[k], kg = g * share, kd = d * share, kc = c * share;
        p->gg[k] -= kg * g, p->gd[k] -= kg * d, p->gc[k] -= kg * c, p->ge[k] -= kg * e;
        p->dd[k] -= kd * d, p->dc[k] -= kd * c, p->de[k] -= kd * e;
        p->cc[k] -= kc * c, p->ce[k] -= kc * e, p->ee[k] -= e * share * e;
        gain[k] = kg, gain[LANES + k] = kd, gain[2 * LANES + k] = kc;
        gain[3 * LANES + k] = e * share;
        weight[k] = share;
    }
}

static covariance before_all(const conductance_data *data) {
    const double g = data->middle, level = vague_level * g, slope = vague_slope * g;
    covariance p = {.gg = {0}};
    for (int k = 0; k < LANES; k++) {
        p.gg[k] = level * level;
        p.dd[k] = slope * slope;
        p.cc[k] = data->summed ? 1e4 * data->sd * data->sd : give * give;
        p.ee[k] = drifts[k] * drifts[k] * data->sd * data->sd;
    }
    return p;
}

/* ---- innovations ---- */

/* What is expected before the first sample, in all lanes. */
static lanes begin(const conductance_data *data) {
    lanes x = {.g = {0}};
    for (int k = 0; k < LANES; k++) {
        x.g[k] = data->middle;
        x.c[k] = data->summed ? data->y[0] : 0;
    }
    return x;
}

/* Those of the next sample with the gains of each lane; their weighed squares are added. */
static inline void innovate_all(const conductance_data *data, const conductance_step *steps,
                                size_t i, conductance_gains *gains, lanes *x,
                                double squares[LANES]) {
    double v[LANES], weight[LANES];
    if (i > 0)
        move_lanes(&steps[i], x);
    for (int k = 0; k < LANES; k++)
        v[k] = data->y[i];
    for (int k = 0; k < LANES; k++)
        weight[k] = gains->weight[i * LANES + k];
    innovate(observe(data, i), gains->gain + i * STATES * LANES, x, v);
    for (int k = 0; k < LANES; k++)
        squares[k] += v[k] * v[k] * weight[k];
    for (int k = 0; k < LANES; k++)
        gains->innovation[i * LANES + k] = v[k];
}

/* ---- gains ---- */

/* One logarithm for many variances. */
static void gather_logs(double product[LANES], bool last, double logs[LANES]) {
    for (int k = 0; k < LANES; k++)
        if (product[k] < 1e-100 || product[k] > 1e100 || last) {
            logs[k] += log(product[k]);
            product[k] = 1;
        }
}

/* The innovations are found beside the gains, since the steps of either alone wait for each other.
 */
SHOT_WIDE static void run_gains(const conductance_data *data, const conductance_step *steps,
                                conductance_wander wander, conductance_gains *out) {
    const double level = wander.level * data->middle, slope = wander.slope * data->middle;
    double product[LANES] = {1, 1, 1, 1}, variance[LANES], fresh[LANES], squares[LANES] = {0};
    covariance p = before_all(data);
    lanes x = begin(data);
    for (int k = 0; k < LANES; k++)
        fresh[k] = p.ee[k];
    for (size_t i = 0; i < data->n; i++) {
        if (i > 0) {
            move_covariance(&steps[i], &p);
            add_unrest(&steps[i].by_level_wander, level * level, &p);
            add_unrest(&steps[i].by_slope_wander, slope * slope, &p);
            for (int k = 0; k < LANES; k++)
                p.ee[k] += fresh[k] * (1 - steps[i].left * steps[i].left);
        }
        memcpy(out->unsure + i * LANES, p.gg, sizeof p.gg);
        see(observe(data, i), data->sd * data->sd, &p, out->gain + i * STATES * LANES,
            out->weight + i * LANES, variance);
        innovate_all(data, steps, i, out, &x, squares);
        for (int k = 0; k < LANES; k++)
            product[k] *= variance[k];
        if (i % 8 == 7 || i + 1 == data->n) /* eight variances are no 200 powers of ten */
            gather_logs(product, i + 1 == data->n, out->logs);
    }
    memcpy(out->squares, squares, sizeof squares);
    out->changes = data->changes;
}

shot_status conductance_gains_new(const conductance_data *data, const conductance_step *steps,
                                  conductance_wander wander, conductance_gains *out) {
    *out = (conductance_gains){
        .gain = malloc((data->n * STATES * LANES + 1) * sizeof(double)),
        .weight = malloc((data->n * LANES + 1) * sizeof(double)),
        .unsure = malloc((data->n * LANES + 1) * sizeof(double)),
        .innovation = malloc((data->n * LANES + 1) * sizeof(double)),
    };
    if (!out->gain || !out->weight || !out->unsure || !out->innovation)
        return SHOT_ERR_MEMORY;
    run_gains(data, steps, wander, out);
    return SHOT_OK;
}

SHOT_WIDE void conductance_gains_follow(const conductance_data *data, const conductance_step *steps,
                                        conductance_gains *gains) {
    lanes x = begin(data);
    double squares[LANES] = {0};
    if (gains->changes == data->changes)
        return;
    for (size_t i = 0; i < data->n; i++)
        innovate_all(data, steps, i, gains, &x, squares);
    memcpy(gains->squares, squares, sizeof squares);
    gains->changes = data->changes;
}

void conductance_gains_free(conductance_gains *gains) {
    free(gains->gain);
    free(gains->weight);
    free(gains->unsure);
    free(gains->innovation);
    *gains = (conductance_gains){0};
}

/* ---- the filter ---- */

static double scale_of(const conductance_data *data, double squares) {
    double least = data->least_sd / data->sd;
    return fmax(least * least, squares / (double)data->n);
}

static double log_likelihood(const conductance_data *data, double logs, double squares,
                             double scale) {
    double n = (double)data->n;
    return -(logs + n * log(2 * SHOT_PI * scale) + squares / scale) / 2;
}

shot_status conductance_filter_new(const conductance_data *data, conductance_filter *out) {
    *out = (conductance_filter){
        .innovation = malloc((data->n + 1) * sizeof(double)),
        .level = malloc((data->n + 1) * sizeof(double)),
        .tails = malloc((data->n + 1) * sizeof *out->tails),
    };
    return out->innovation && out->level && out->tails ? SHOT_OK : SHOT_ERR_MEMORY;
}

void conductance_filter_free(conductance_filter *filter) {
    free(filter->innovation);
    free(filter->level);
    free(filter->tails);
    *filter = (conductance_filter){0};
}

SHOT_WIDE void conductance_filter_run(const conductance_data *data, const conductance_step *steps,
                                      const conductance_gains *gains, int lane,
                                      conductance_filter *filter) {
    lanes x = begin(data);
    double squares = 0;
    for (size_t i = 0; i < data->n; i++) {
        double v[LANES] = {data->y[i]};
        if (i > 0)
            move_lanes(&steps[i], &x);
        filter->level[i] = x.g[0];
        const lane_gains gain = gains_of_one(gains->gain + i * STATES * LANES + lane);
        innovate(observe(data, i), gain.by, &x, v);
        filter->innovation[i] = v[0];
        squares += v[0] * v[0] * gains->weight[i * LANES + lane];
    }
    filter->gains = gains;
    filter->lane = lane;
    filter->squares = squares;
    filter->scale = scale_of(data, squares);
    filter->likelihood = log_likelihood(data, gains->logs[lane], squares, filter->scale);
    conductance_tails_find(data, steps, filter);
}

double conductance_explain(const conductance_data *data, const conductance_evidence *evidence,
                           double size, conductance_filter *filter) {
    double explained = size * (2 * evidence->along - size * evidence->square) * filter->scale;
    double left = filter->squares - explained;
    filter->scale = scale_of(data, left);
    return log_likelihood(data, filter->gains->logs[filter->lane], left, filter->scale);
}

/* ---- what an opening explains ---- */

SHOT_WIDE void conductance_respond(const conductance_data *data, const conductance_step *steps,
                                   const conductance_gains *gains, const double *added,
                                   size_t first, conductance_response *out) {
    lanes x = {.g = {0}};
    conductance_response sum = {.along = {0}};
    for (size_t i = first; i < data->n; i++) {
        const double *v = gains->innovation + i * LANES, *weight = gains->weight + i * LANES;
        double e[LANES];
        move_lanes(&steps[i], &x);
        for (int k = 0; k < LANES; k++)
            e[k] = added[i * LANES];
        innovate(observe(data, i), gains->gain + i * STATES * LANES, &x, e);
        for (int k = 0; k < LANES; k++) {
            sum.along[k] += v[k] * e[k] * weight[k];
            sum.square[k] += e[k] * e[k] * weight[k];
        }
    }
    *out = sum;
}

void conductance_profile_run(const conductance_data *data, const conductance_step *steps,
                             const conductance_gains *gains, const double *added, size_t first,
                             conductance_profile *out) {
    conductance_response s = {.along = {0}};
    if (added != NULL)
        conductance_respond(data, steps, gains, added, first, &s);
    for (int k = 0; k < LANES; k++) {
        bool shows = s.square[k] > 0;
        double size = shows ? s.along[k] / s.square[k] : 0;
        double left = gains->squares[k] - size * s.along[k], scale = scale_of(data, left);
        out[k] = (conductance_profile){log_likelihood(data, gains->logs[k], left, scale), size,
                                       shows ? scale / s.square[k] : INFINITY};
    }
}
