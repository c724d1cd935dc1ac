/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Surges: the highest step of conductance that is one, taken out, and again. */
#include "detect/surge_finder.h"

#include <math.h>
#include <stdlib.h>

#include <shottrace/signal/distribution.h>

#include "detect/surge_scan.h"

static const double least_loss = 0.05;               /* the contract's 5 % */
static const double longest = 2;                     /* and 2 s */
static const double steady = 1.02;                   /* pressure after over before: not raised */
static const double on_purpose = -0.04, per = 1;     /* fall of ln(pressure) in so many seconds */
static const double relaxing = 3;                    /* s after a fall in which the bed relaxes */
static const double refine_reach = 3, refine = 0.05; /* s */

typedef struct finder {
    surge_scan scan;
    bool *lowered; /* [channels[0]->n] pressure is being lowered on purpose, or was just now */
    double level;
} finder;

/* ---- pressure around a step ---- */

/* Mean of y over the samples that show what happened in the puck from..to. */
static double mean_over(const conductance_data *data, const double *y, double from, double to) {
    double sum = 0, n = 0;
    for (size_t i = 0; i < data->n; i++)
        if (data->t[i] - data->lag >= from && data->t[i] - data->lag <= to)
            sum += y[i], n++;
    return n > 0 ? sum / n : NAN;
}

/* Water that moved in from..to, ml or g a second. */
static double flow_over(const conductance_data *data, double from, double to) {
    if (!data->summed)
        return mean_over(data, data->y, from, to);
    double middle = (from + to) / 2, half = (to - from) / 2;
    return (mean_over(data, data->y, middle, middle + half) -
            mean_over(data, data->y, middle - half, middle)) /
           half;
}

/* Pressure that a person or a program lowers takes the flow with it; pressure that falls because
 * the puck gives way does not. */
static bool is_lowered(const conductance_data *data, double t) {
    const double half = 0.25;
    double before = mean_over(data, data->pressure, t - half, t + half);
    double after = mean_over(data, data->pressure, t + per - half, t + per + half);
    double fall = log(after / before);
    if (!(fall < on_purpose))
        return false;
    double q0 = flow_over(data, t - half, t + half);
    double q1 = flow_over(data, t + per - half, t + per + half);
    return !(q0 > 0 && q1 > 0) || log(q1 / q0) < fall / 2;
}

static shot_status find_lowered(finder *self) {
    const conductance_data *data = self->scan.channels[0];
    self->lowered = calloc(data->n + 1, sizeof *self->lowered);
    if (self->lowered == NULL)
        return SHOT_ERR_MEMORY;
    for (size_t i = 0; i < data->n; i++) {
        if (!is_lowered(data, data->t[i] - data->lag))
            continue;
        for (size_t k = i; k < data->n && data->t[k] <= data->t[i] + per + relaxing; k++)
            self->lowered[k] = true;
    }
    return SHOT_OK;
}

static bool was_lowered(const finder *self, const conductance_step *step) {
    const conductance_data *data = self->scan.channels[0];
    for (size_t i = 0; i < data->n; i++)
        if (self->lowered[i] && data->t[i] - data->lag >= step->onset - 0.3 &&
            data->t[i] - data->lag <= step->onset + step->seconds)
            return true;
    return false;
}

static bool was_raised(const finder *self, const conductance_step *step) {
    const conductance_data *data = self->scan.channels[0];
    double end = step->onset + step->seconds;
    double before = mean_over(data, data->pressure, step->onset - 0.7, step->onset);
    double after = mean_over(data, data->pressure, end, end + 0.7);
    return after > steady * before;
}

/* ---- is it one? ---- */

static double loss_of(double gain) {
    return gain / (1 + gain);
}

/* A smooth trend with as many parameters (a quartic) must fit worse than line and step. */
static bool is_sudden(const finder *self, const conductance_step *step,
                      const surge_evidence *evidence) {
    double smooth = 0;
    for (size_t k = 0; k < self->scan.channel_count; k++) {
        const conductance_data *data = self->scan.channels[k];
        double rss;
        if (conductance_fit_trend(data, step, step->order + 2, self->scan.work, &rss) == SHOT_OK)
            smooth += rss / (data->sd * data->sd);
    }
    return evidence->chi2 < smooth;
}

static bool accept(const void *user, const conductance_step *step, const surge_evidence *evidence) {
    const finder *self = user;
    return loss_of(evidence->gain) >= least_loss && !was_raised(self, step) &&
           !was_lowered(self, step) && is_sudden(self, step, evidence);
}

/* ---- onset, length and size ---- */

/* Every onset and length in reach is tried; those that fit not worse than z^2 than the best make
 * the intervals (profile likelihood, Seber & Wild 1989, 'Nonlinear Regression', section 5.2.1). */
typedef struct trial {
    conductance_step step;
    surge_evidence evidence;
} trial;

static const double lengths[] = {0.1, 0.2, 0.35, 0.5, 0.7, 0.9, 1.2, 1.5, 1.8, 2.1, 2.6, 3.2, 4};
enum { LENGTHS = sizeof lengths / sizeof *lengths };

static size_t try_all(const finder *self, const conductance_step *around, trial *trials,
                      size_t *best) {
    size_t count = 0;
    for (double shift = -1.5; shift <= 1.5; shift += refine)
        for (size_t k = 0; k < LENGTHS; k++) {
            trial *one = &trials[count];
            /* the same samples for all: only then can their fits be compared */
            one->step =
                (conductance_step){around->onset + shift, lengths[k], around->onset - refine_reach,
                                   around->onset + around->seconds + refine_reach, 1};
            if (surge_weigh(&self->scan, &one->step, &one->evidence) != SHOT_OK ||
                !(one->evidence.gain > 0))
                continue;
            if (count == 0 || one->evidence.chi2 < trials[*best].evidence.chi2)
                *best = count;
            count++;
        }
    return count;
}

static void widen(double at, double *low, double *high) {
    *low = fmin(*low, at);
    *high = fmax(*high, at);
}

/* From the trials to a surge; its score is left to the caller. */
static surge summary(const trial *trials, size_t count, size_t best, double level) {
    const trial *top = &trials[best];
    double z = shot_normal_quantile((1 + level) / 2);
    double dof = fmax(1, (double)top->evidence.n - 6), scale = fmax(1, top->evidence.chi2 / dof);
    surge s = {.from = top->step.onset,
               .to = top->step.onset + top->step.seconds,
               .loss = loss_of(top->evidence.gain)};
    s.from_low = s.from_high = s.from;
    s.to_low = s.to_high = s.to;
    s.loss_low = s.loss_high = s.loss;
    for (size_t i = 0; i < count; i++) {
        double worse = (trials[i].evidence.chi2 - top->evidence.chi2) / scale;
        if (worse > z * z)
            continue;
        double half = sqrt(z * z - worse) * sqrt(scale) * trials[i].evidence.gain_se;
        widen(trials[i].step.onset, &s.from_low, &s.from_high);
        widen(trials[i].step.onset + trials[i].step.seconds, &s.to_low, &s.to_high);
        widen(loss_of(trials[i].evidence.gain - half), &s.loss_low, &s.loss_high);
        widen(loss_of(trials[i].evidence.gain + half), &s.loss_low, &s.loss_high);
    }
    s.from_low -= refine / 2; /* the trials' own grid */
    s.from_high += refine / 2;
    return s;
}

static shot_status measure(const finder *self, const surge_candidate *candidate, surge *out) {
    size_t best = 0, room = (size_t)(3 / refine + 2) * LENGTHS;
    trial *trials = malloc(room * sizeof *trials);
    if (trials == NULL)
        return SHOT_ERR_MEMORY;
    size_t count = try_all(self, &candidate->step, trials, &best);
    *out = (surge){.loss = NAN};
    if (count > 0) {
        *out = summary(trials, count, best, self->level);
        out->score = candidate->score;
        const conductance_data *data = self->scan.channels[0];
        out->flow_rise =
            flow_over(data, out->to, out->to + 1) - flow_over(data, out->from - 1, out->from);
    }
    free(trials);
    return SHOT_OK;
}

/* ---- all of them ---- */

/* Take a surge out of the data: what follows is as if the puck had held, so that the next one is
 * judged against the same trend. */
static void take_out(conductance_data *data, const surge *s) {
    conductance_step step = {s->from, s->to - s->from, NAN, NAN, 1};
    double removed = 0;
    for (size_t i = 0; i < data->n; i++) {
        double share = s->loss * conductance_opening(&step, data->t[i] - data->lag);
        if (!data->summed) {
            data->y[i] *= 1 - share;
        } else {
            double last = i > 0 ? data->y[i - 1] + removed : data->y[i];
            removed += share * (data->y[i] - last);
            data->y[i] -= removed;
        }
    }
}

static shot_status add(surge **list, size_t *count, const surge *one) {
    surge *grown = realloc(*list, (*count + 1) * sizeof *grown);
    if (grown == NULL)
        return SHOT_ERR_MEMORY;
    *list = grown;
    size_t place = (*count)++;
    for (; place > 0 && grown[place - 1].from > one->from; place--)
        grown[place] = grown[place - 1];
    grown[place] = *one;
    return SHOT_OK;
}

static shot_status find_all(finder *self, double alarm_rate, surge **out, size_t *found) {
    const size_t most = (size_t)((self->scan.to - self->scan.from) / longest) + 1;
    for (size_t round = 0; round < most; round++) {
        surge_candidate candidate;
        surge one;
        SHOT_TRY(surge_scan_best(&self->scan, alarm_rate, accept, self, &candidate));
        if (isnan(candidate.score))
            return SHOT_OK;
        SHOT_TRY(measure(self, &candidate, &one));
        if (isnan(one.loss))
            return SHOT_OK;
        if (one.to - one.from <= 1.3 * longest && one.loss >= least_loss)
            SHOT_TRY(add(out, found, &one));
        for (size_t k = 0; k < self->scan.channel_count; k++)
            take_out(self->scan.channels[k], &one);
    }
    return SHOT_OK;
}

shot_status surges_find(conductance_data *const *channels, size_t count, double alarm_rate,
                        double level, surge **out, size_t *found) {
    size_t most = 0;
    *out = NULL;
    *found = 0;
    for (size_t k = 0; k < count; k++)
        most = channels[k]->n > most ? channels[k]->n : most;
    if (count == 0 || most < 8)
        return SHOT_OK;
    const conductance_data *first = channels[0];
    finder self = {.scan = {channels, count, first->t[0] - first->lag,
                            first->t[first->n - 1] - first->lag,
                            malloc(conductance_workspace(most) * sizeof(double))},
                   .level = level};
    shot_status status = self.scan.work ? find_lowered(&self) : SHOT_ERR_MEMORY;
    if (status == SHOT_OK)
        status = find_all(&self, alarm_rate, out, found);
    free(self.scan.work);
    free(self.lowered);
    if (status != SHOT_OK) {
        free(*out);
        *out = NULL;
        *found = 0;
    }
    return status;
}
