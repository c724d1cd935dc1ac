/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Conductance that wanders, and openings in it. */
#include "detect/conductance.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "signal/pi.h"

/* What is known before the first sample: nearly nothing. */
static const double vague_level = 3, vague_slope = 1; /* of the typical conductance, and a second */
static const double grown = 10;                       /* s, the age at which wander is stated */
static const double lasting = 0.5;                    /* s, the time constant of noise that lasts */
static const double give = 0.5; /* ml/bar, of headspace, hoses and trapped air; common practice */

enum { STATES = 4 };

/* ---- the system ---- */

/* x[i+1] = F x[i] + noise, between two samples: g and d as a local linear trend; the third state is
 * C, which stays, or the weight, which gathers g p; the fourth is noise that lasts. */
static conductance_step between(const conductance_data *data, size_t i) {
    if (i == 0)
        return (conductance_step){0, 0, 0, 1};
    double dt = data->t[i] - data->t[i - 1], p = data->pressure[i - 1], q = data->pressure[i];
    double left = exp(-dt / lasting);
    if (!data->summed)
        return (conductance_step){dt, 0, 0, left};
    return (conductance_step){dt, dt * (p + q) / 2, dt * dt * (p + 2 * q) / 6, left};
}

static void move_state(const conductance_step *f, double x[STATES]) {
    x[2] += f->by_level * x[0] + f->by_slope * x[1];
    x[0] += f->dt * x[1];
    x[3] *= f->left;
}

/* P = F P F'. */
static void move_covariance(const conductance_step *f, double p[STATES][STATES]) {
    double column[STATES];
    for (int k = 0; k < STATES; k++) {
        for (int j = 0; j < STATES; j++)
            column[j] = p[j][k];
        move_state(f, column);
        for (int j = 0; j < STATES; j++)
            p[j][k] = column[j];
    }
    for (int j = 0; j < STATES; j++)
        move_state(f, p[j]);
}

/* What wander adds in dt: the integrals of a random walk and of its integral (Harvey 1989, eq.
 * 9.2.6), with the weight's as those times the pressure. */
static void add_wander(const conductance_step *f, double level, double slope,
                       double p[STATES][STATES]) {
    double dt = f->dt, dt2 = dt * dt, dt3 = dt2 * dt, mean = f->by_level / (dt > 0 ? dt : 1);
    double gg = level * dt + slope * dt3 / 3, gd = slope * dt2 / 2;
    double wg = mean * (level * dt2 / 2 + slope * dt2 * dt2 / 8), wd = mean * slope * dt3 / 6;
    double ww = mean * mean * (level * dt3 / 3 + slope * dt2 * dt3 / 20);
    p[0][0] += gg;
    p[0][1] += gd, p[1][0] += gd;
    p[1][1] += slope * dt;
    p[0][2] += wg, p[2][0] += wg;
    p[1][2] += wd, p[2][1] += wd;
    p[2][2] += ww;
}

static void observe(const conductance_data *data, size_t i, double h[STATES]) {
    h[0] = data->summed ? 0 : data->pressure[i];
    h[1] = 0;
    h[2] = data->summed ? 1 : data->rate[i];
    h[3] = 1;
}

static double dot(const double a[STATES], const double b[STATES]) {
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2] + a[3] * b[3];
}

/* ---- the filter ---- */

shot_status conductance_filter_new(const conductance_data *data, conductance_filter *out) {
    size_t n = data->n;
    *out = (conductance_filter){
        .steps = malloc((n + 1) * sizeof *out->steps),
        .gain = malloc((n * STATES + 1) * sizeof(double)),
        .variance = malloc((n + 1) * sizeof(double)),
        .innovation = malloc((n + 1) * sizeof(double)),
        .level = malloc((n + 1) * sizeof(double)),
    };
    if (!out->steps || !out->gain || !out->variance || !out->innovation || !out->level)
        return SHOT_ERR_MEMORY;
    for (size_t i = 0; i < n; i++)
        out->steps[i] = between(data, i);
    return SHOT_OK;
}

void conductance_filter_free(conductance_filter *filter) {
    free(filter->steps);
    free(filter->gain);
    free(filter->variance);
    free(filter->innovation);
    free(filter->level);
    *filter = (conductance_filter){0};
}

static void begin(const conductance_data *data, double drift, double x[STATES],
                  double p[STATES][STATES]) {
    double g = data->middle;
    memset(p, 0, sizeof(double[STATES][STATES]));
    x[0] = g;
    x[1] = 0;
    x[2] = data->summed ? data->y[0] : 0;
    x[3] = 0;
    p[0][0] = vague_level * vague_level * g * g;
    p[1][1] = vague_slope * vague_slope * g * g;
    p[2][2] = data->summed ? 1e4 * data->sd * data->sd : give * give;
    p[3][3] = drift;
}

/* One sample: innovation, its variance and the gain; state and covariance move on to what is known
 * after it. */
static void update(const conductance_data *data, size_t i, double x[STATES],
                   double p[STATES][STATES], conductance_filter *filter) {
    double h[STATES], ph[STATES], *gain = filter->gain + i * STATES;
    observe(data, i, h);
    for (int k = 0; k < STATES; k++)
        ph[k] = dot(p[k], h);
    double f = dot(h, ph) + data->sd * data->sd, v = data->y[i] - dot(h, x);
    filter->level[i] = x[0];
    filter->innovation[i] = v;
    filter->variance[i] = f;
    for (int k = 0; k < STATES; k++) {
        gain[k] = ph[k] / f;
        x[k] += gain[k] * v;
    }
    for (int k = 0; k < STATES; k++)
        for (int j = 0; j < STATES; j++)
            p[k][j] -= gain[k] * ph[j];
}

void conductance_filter_run(const conductance_data *data, conductance_wander wander,
                            conductance_filter *filter) {
    double x[STATES], p[STATES][STATES], sum = 0, logs = 0, product = 1;
    double level = wander.level * data->middle, slope = wander.slope * data->middle;
    double drift = wander.drift * wander.drift * data->sd * data->sd;
    begin(data, drift, x, p);
    for (size_t i = 0; i < data->n; i++) {
        if (i > 0) {
            const conductance_step *f = &filter->steps[i];
            move_state(f, x);
            move_covariance(f, p);
            double young = grown / data->age[i];
            add_wander(f, level * level * young, slope * slope * young * young * young, p);
            p[3][3] += drift * (1 - f->left * f->left);
        }
        update(data, i, x, p, filter);
        sum += filter->innovation[i] * filter->innovation[i] / filter->variance[i];
        product *= filter->variance[i];
        if (product < 1e-100 || product > 1e100 || i + 1 == data->n) { /* one logarithm for many */
            logs += log(product);
            product = 1;
        }
    }
    double n = (double)data->n;
    double least = data->least_sd / data->sd;
    filter->scale = fmax(least * least, sum / n);
    filter->likelihood = -(logs + n * log(2 * SHOT_PI * filter->scale) + sum / filter->scale) / 2;
}

/* ---- openings ---- */

double conductance_open(const conductance_opening *opening, double t) {
    double since = t - opening->onset, u = opening->seconds > 0 ? since / opening->seconds : 1;
    if (since < 0)
        return 0;
    if (u < 1)
        return opening->sharpness == 1 ? u : 1 - pow(1 - u, opening->sharpness);
    return isinf(opening->heal) ? 1 : exp(-(since - opening->seconds) / opening->heal);
}

/* What an opening of size 1 adds to sample i; *sum is the weight so far, *last the flow before. */
static double seen_at(const conductance_data *data, const conductance_opening *opening, size_t i,
                      double *sum, double *last) {
    double flow = data->pressure[i] * conductance_open(opening, data->t[i] - data->lag);
    if (!data->summed)
        return flow;
    if (i > 0)
        *sum += (data->t[i] - data->t[i - 1]) * (flow + *last) / 2;
    *last = flow;
    return *sum;
}

static size_t first_after(const conductance_data *data, double t) {
    size_t low = 0, high = data->n;
    while (low < high) {
        size_t middle = (low + high) / 2;
        if (data->t[middle] - data->lag > t)
            high = middle;
        else
            low = middle + 1;
    }
    return low;
}

conductance_evidence conductance_weigh(const conductance_data *data,
                                       const conductance_filter *filter,
                                       const conductance_opening *opening, double *answer) {
    conductance_evidence out = {.first = first_after(data, opening->onset)};
    double x[STATES] = {0}, h[STATES], sum = 0, last = 0;
    if (answer != NULL)
        memset(answer, 0, data->n * sizeof *answer);
    if (out.first == data->n)
        return out;
    out.base = filter->level[out.first];
    out.before = opening->onset - data->t[0] + data->lag;
    for (size_t i = out.first; i < data->n; i++) {
        if (i > out.first)
            move_state(&filter->steps[i], x);
        observe(data, i, h);
        double e = seen_at(data, opening, i, &sum, &last) - dot(h, x);
        for (int k = 0; k < STATES; k++)
            x[k] += filter->gain[i * STATES + (size_t)k] * e;
        double variance = filter->variance[i] * filter->scale;
        out.along += e * filter->innovation[i] / variance;
        out.square += e * e / variance;
        if (answer != NULL)
            answer[i] = e / sqrt(variance);
    }
    return out;
}

void conductance_take_out(conductance_data *data, const conductance_opening *opening, double a) {
    double sum = 0, last = 0;
    for (size_t i = first_after(data, opening->onset); i < data->n; i++)
        data->y[i] -= a * seen_at(data, opening, i, &sum, &last);
}
