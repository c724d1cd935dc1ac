/* SPDX-License-Identifier: GPL-3.0-or-later */
/* While the room over the puck fills, a jet passes what the pressure before it drives through it,
 * q = G sqrt(p) (ISO 5167-1), with G constant.  From the instant at which the puck holds the water
 * back, q / sqrt(p) falls, and it settles at a lower level as pressure builds up behind the jet.
 * The likelihood of that curve (settling.h), with its levels at their best, tells the start: the
 * profile likelihood of a regression that changes its form (Hinkley 1971, 'Inference in two-phase
 * regression', J. Am. Stat. Assoc. 66:736-743; Seber & Wild 1989, 'Nonlinear Regression', ch. 9).
 * Each start counts with the shape that suits it best.
 *
 * A meter that counts over a gate tells the mean of the past.  How long its gate is shows while
 * pressure comes up, where q follows the mean of sqrt(p) over it. */
#include "detect/jet_end.h"

#include <math.h>
#include <stdlib.h>

#include "detect/place_grid.h"
#include "detect/puck_pressure.h"
#include "detect/settling.h"

static const double HIGH = 0.6;   /* of the top: the jet is driven fully */
static const double FREE = 0.7;   /* of the pressure, which a free jet takes at least */
static const double FALLS = 0.25; /* of the free flow */
static const double WITHIN = 4;   /* s in which it falls by so much */
static const double RISES = 0.7;  /* bar: the pressure, which was up before, by no more than that */
static const double BEFORE = 2;   /* s of free flow that are looked at */
static const double AROUND = 1.5; /* s either way of a guess */
static const double LONGEST = 1.2; /* s, gate of a meter */
/* s over which the slopes beside a knee are taken: within half of it nobody tells its instant */
static const double NEAR = 0.2;
static const double ATMOSPHERE = 1.01325; /* bar */
/* Part of the way from level to level that is the room's, common practice, no source. */
static const double ROOM_FILLS = 0.6;
static const double LEAST_LEFT = 0.05; /* of the free flow, when it has settled */

enum { GATES = 12, PLACES = 150 };
enum { ENOUGH = 8 }; /* samples: twice what a curve has parameters */
enum { MOST = 200 }; /* samples of a stretch: neighbours are taken together where they are more */

typedef struct jet {
    const shot_channel_view *pressure, *flow;
    double lost;    /* bar at a flow of 1 ml/s */
    double top, up; /* bar; s at which the pressure first is HIGH */
} jet;

/* q / sqrt(p) over a stretch of time. */
typedef struct stretch {
    double t[MOST], x[MOST];
    size_t n;
    double each; /* samples taken together */
} stretch;

/* Half a second, longer where it holds no two samples. */
static double while_of(const shot_channel_view *view) {
    return fmax(0.5, 1.5 * view->noise.spacing);
}

static double mean_from(const shot_channel_view *view, double from) {
    return shot_view_mean(view, from, from + while_of(view));
}

static double root_at(const jet *self, double t) {
    return sqrt(fmax(0, shot_view_at(self->pressure, t)));
}

/* The mean of sqrt(p) over the gate before t, by Simpson's rule. */
static double gated_root(const jet *self, double t, double gate) {
    return (root_at(self, t) + 4 * root_at(self, t - gate / 2) + root_at(self, t - gate)) / 6;
}

/* None where the jet is over before all of the gate lies in it. */
static void take(const jet *self, double from, double to, double gate, stretch *out) {
    const shot_channel_view *q = self->flow;
    const size_t first = shot_view_first(q, from), end = shot_view_first(q, fmax(from, to));
    const size_t each = (end - first + MOST - 1) / MOST;
    *out = (stretch){.n = each > 0 ? (end - first) / each : 0, .each = (double)each};
    for (size_t i = 0; i < out->n * each; i++) {
        out->t[i / each] += q->t[first + i] / out->each;
        out->x[i / each] += q->y[first + i] / gated_root(self, q->t[first + i], gate) / out->each;
    }
}

/* ---- the gate of the meter ---- */

static double gate_of(int k) {
    return LONGEST * k / GATES;
}

/* The sum of squares about q = G sqrt(p) before `until`. */
static double squares_with_gate(const jet *self, double until, double gate) {
    const shot_channel_view *q = self->flow;
    double qq = 0, qr = 0, rr = 0;
    for (size_t i = 0; i < q->n && q->t[i] < until; i++) {
        const double root = gated_root(self, q->t[i], gate);
        qq += q->y[i] * q->y[i];
        qr += q->y[i] * root;
        rr += root * root;
    }
    return rr > 0 ? qq - qr * qr / rr : INFINITY;
}

/* How likely each gate is; returns the likeliest. */
static int weigh_gates(const jet *self, double until, double *weight) {
    const shot_noise *noise = &self->flow->noise;
    const double freedom = fmax(1, (double)shot_view_first(self->flow, until) - 2);
    int best = 0;
    double sum = 0;
    for (int k = 0; k <= GATES; k++) {
        weight[k] = squares_with_gate(self, until, gate_of(k));
        best = weight[k] < weight[best] ? k : best;
    }
    const double least = weight[best];
    const double v = fmax(noise->sd * noise->sd, least / freedom) * noise->inflation;
    for (int k = 0; k <= GATES; k++)
        sum += weight[k] = exp((least - weight[k]) / 2 / v);
    for (int k = 0; k <= GATES; k++)
        weight[k] /= sum;
    return best;
}

/* ---- where, about ---- */

/* Until t the jet takes the pressure, four seconds later no longer all of it, while the gauge
 * stands where it stood or a little higher. */
static bool may_end(const jet *self, double t) {
    const shot_channel_view *p = self->pressure, *q = self->flow;
    const double p1 = mean_from(p, t - 0.5), p2 = mean_from(p, t + WITHIN - 0.5);
    const double q1 = mean_from(q, t - 0.5), q2 = mean_from(q, t + WITHIN - 0.5);
    const double slack = 2 * p->noise.sd * sqrt(p->noise.inflation * p->noise.spacing / 0.5);
    return p1 >= HIGH * self->top && self->lost * q1 * q1 >= FREE * p1 && p2 >= p1 - slack &&
           p2 <= p1 + RISES + slack && q2 / sqrt(p2) <= (1 - FALLS) * q1 / sqrt(p1);
}

/* How clearly x falls from t on: in standard errors, for the best shape. */
static double clearness(const settling_curves *curves, const stretch *here, double t) {
    double best = 0;
    for (int shape = 0; shape < SETTLING_SHAPES; shape++) {
        const settling_fit fit = settling_fit_at(curves, shape, here->t, here->x, here->n, t);
        const double sd = sqrt(fit.squares / fit.freedom);
        best = fmax(best, sd > 0 && isfinite(sd) ? -fit.step / fit.step_se / sd : 0);
    }
    return best;
}

/* Does the puck hold back half of the pressure? */
static bool is_held(const jet *self, double t) {
    const double q = mean_from(self->flow, t - 0.5);
    return self->lost * q * q < 0.5 * mean_from(self->pressure, t - 0.5);
}

/* It happens once: what comes after a second held back is a surge or a pause. */
static double look_for_end(const jet *self, const settling_curves *curves) {
    const shot_channel_view *q = self->flow;
    double most = 0, at = NAN, free = self->up + LONGEST;
    stretch here;
    for (double t = self->up; t + WITHIN < q->t[q->n - 1] && t < free + 1; t += 0.1) {
        free = is_held(self, t) ? free : fmax(free, t);
        if (!may_end(self, t))
            continue;
        take(self, fmax(self->up, t - BEFORE), t + WITHIN, 0, &here);
        const double clear = clearness(curves, &here, t);
        if (clear > most) {
            most = clear;
            at = t;
        }
    }
    return at;
}

/* ---- where, exactly ---- */

/* The variance of what is left over, in the long run: that of the noise at least, and of the best
 * fit's residuals as a first-order autoregression has it (Andrews & Monahan 1992, Econometrica
 * 60:953-966, for the principle). */
static double long_run_variance(const jet *self, const settling_curves *curves, const stretch *here,
                                const place_grid *places, double *least) {
    const shot_noise *noise = &self->flow->noise;
    settling_fit best = {.squares = INFINITY, .freedom = 1};
    double start = NAN;
    int shape = 0;
    for (size_t i = 0; i < places->count; i++)
        for (int k = 0; k < SETTLING_SHAPES; k++) {
            const double at = place_grid_at(places, i);
            const settling_fit fit = settling_fit_at(curves, k, here->t, here->x, here->n, at);
            if (fit.step < 0 && fit.squares < best.squares) {
                best = fit;
                start = at;
                shape = k;
            }
        }
    const double noise_variance = noise->sd * noise->sd * noise->inflation / here->each / self->top;
    *least = best.squares;
    if (!isfinite(start))
        return NAN;
    const double r = settling_echo(curves, shape, here->t, here->x, here->n, start, &best);
    const double inflation = r > 0 ? (1 + fmin(r, 0.97)) / (1 - fmin(r, 0.97)) : 1;
    return fmax(best.squares / best.freedom * inflation, noise_variance);
}

/* What the likeliest shape leaves where it falls from `start` on. */
static double least_squares_from(const settling_curves *curves, const stretch *here, double start) {
    double least = INFINITY;
    for (int shape = 0; shape < SETTLING_SHAPES; shape++) {
        const settling_fit fit = settling_fit_at(curves, shape, here->t, here->x, here->n, start);
        if (fit.step < 0)
            least = fmin(least, fit.squares);
    }
    return least;
}

/* Add the chances of places under one gate: each with the shape that suits it best. */
static void add_chances(const settling_curves *curves, const stretch *here, double weight,
                        double least, double v, place_grid *places) {
    for (size_t i = 0; i < places->count; i++) {
        const double squares = least_squares_from(curves, here, place_grid_at(places, i));
        places->value[i] += weight * exp((least - squares) / 2 / v);
    }
}

/* q / sqrt(p) over half a second. */
static double conductance(const jet *self, double from) {
    return mean_from(self->flow, from) / sqrt(mean_from(self->pressure, from));
}

/* Kept where a log shows a jet that is shut, or hardly held back. */
static settling_jet settles_from(const jet *self, double t) {
    const double held = conductance(self, t + WITHIN - 0.5) / conductance(self, t - 0.5);
    return (settling_jet){mean_from(self->pressure, t - 0.5) / ATMOSPHERE,
                          fmin(1 - FALLS, fmax(LEAST_LEFT, held))};
}

/* The end of the stretch that tells where it starts: while the room fills and its air is pressed
 * together.  Later the bed drinks ever less, for longer than any of the curves.  ENOUGH samples are
 * in it, where WITHIN holds so many. */
static double tells_until(const jet *self, double t) {
    const shot_channel_view *q = self->flow;
    const double before = conductance(self, t - 0.5), after = conductance(self, t + WITHIN - 0.5);
    const size_t enough = shot_view_first(q, t) + ENOUGH;
    double until = enough < q->n ? q->t[enough] : t + WITHIN;
    while (until < t + WITHIN &&
           conductance(self, until - 0.25) > before - ROOM_FILLS * (before - after))
        until += 0.05;
    return fmin(until, t + WITHIN);
}

static void place(const jet *self, double guess, double level, const settling_curves *plain,
                  settling_curves *curves, shot_instant *out) {
    double value[PLACES + 1] = {0}, weight[GATES + 1], least;
    place_grid places = {guess - AROUND, 2 * AROUND / PLACES, value, PLACES + 1};
    const int gate = weigh_gates(self, guess - 0.5, weight);
    const double from = fmax(self->up + gate_of(gate), guess - BEFORE);
    stretch here;
    settling_curves_over_gate(plain, gate_of(gate), curves);
    take(self, from, tells_until(self, guess), gate_of(gate), &here);
    const double v = long_run_variance(self, curves, &here, &places, &least);
    for (int k = 0; k <= GATES && v > 0; k++) {
        if (weight[k] < 1e-3)
            continue;
        settling_curves_over_gate(plain, gate_of(k), curves);
        add_chances(curves, &here, weight[k], least, v, &places);
    }
    if (!(v > 0))
        return;
    out->at = place_grid_quantile(&places, 0.5);
    const double unseen = hypot(NEAR / 2, self->flow->noise.spacing / sqrt(12));
    out->low = out->at - hypot(out->at - place_grid_quantile(&places, 0.5 - level / 2), unseen);
    out->high = out->at + hypot(place_grid_quantile(&places, 0.5 + level / 2) - out->at, unseen);
}

shot_status shot_jet_end(const shot_channel_view *pressure, const shot_channel_view *flow,
                         double level, shot_instant *out) {
    *out = (shot_instant){NAN, NAN, NAN};
    jet self = {.pressure = pressure, .flow = flow};
    SHOT_TRY(shot_restriction(pressure, flow, 0, false, NULL, &self.lost));
    if (!(self.lost > 0))
        return SHOT_OK;
    for (double t = pressure->t[0]; t < pressure->t[pressure->n - 1];
         t = shot_view_step_on(pressure, t, while_of(pressure), 0.25))
        self.top = fmax(self.top, mean_from(pressure, t));
    for (size_t i = pressure->n; i-- > 0;)
        self.up = pressure->y[i] > HIGH * self.top ? pressure->t[i] : self.up;
    settling_curves *curves = malloc(2 * sizeof *curves); /* plain, and over a gate */
    if (curves == NULL)
        return SHOT_ERR_MEMORY;
    settling_curves_fill(&(settling_jet){self.top / ATMOSPHERE, 0.5}, curves);
    const double guess = look_for_end(&self, curves);
    if (isfinite(guess)) {
        const settling_jet settles = settles_from(&self, guess);
        settling_curves_fill(&settles, curves);
        place(&self, guess, level, curves, curves + 1, out);
    }
    free(curves);
    return SHOT_OK;
}
