/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Butterworth low-pass in second-order sections. */
#include <shottrace/signal/butterworth.h>

#include <math.h>

#include "pi.h"

/* Below this the gain at frequency 0 is lost in rounding: its denominator is 1 + a1 + a2 = 4 w^2,
 * and 4e-11 beside 1 is known to a hundred-thousandth. */
static const double lowest_cutoff = 1e-6;

shot_status shot_butterworth_design(size_t order, double cutoff, shot_biquad *sections) {
    if (order == 0 || !(cutoff >= lowest_cutoff && cutoff < 0.5))
        return SHOT_ERR_RANGE;
    const double w = tan(SHOT_PI * cutoff); /* analogue cut-off, s = (1 - 1/z) / (1 + 1/z) */
    for (size_t k = 0; k < order / 2; k++) {
        const double damping = 2 * sin(SHOT_PI * (double)(2 * k + 1) / (double)(2 * order));
        const double norm = 1 + damping * w + w * w;
        sections[k] = (shot_biquad){
            {w * w / norm, 2 * w * w / norm, w * w / norm},
            {2 * (w * w - 1) / norm, (1 - damping * w + w * w) / norm},
        };
    }
    if (order % 2 == 1)
        sections[order / 2] = (shot_biquad){{w / (1 + w), w / (1 + w), 0}, {(w - 1) / (w + 1), 0}};
    return SHOT_OK;
}

double shot_butterworth_for_two_passes(size_t order, double cutoff) {
    const double wider = pow(sqrt(2) - 1, -0.5 / (double)order);
    return atan(tan(SHOT_PI * cutoff) * wider) / SHOT_PI;
}

/* One section, transposed direct form II. */
static void run_section(const shot_biquad *s, double *x, size_t n, double *state) {
    double first = state[0], second = state[1];
    for (size_t i = 0; i < n; i++) {
        const double in = x[i], out = s->b[0] * in + first;
        first = s->b[1] * in - s->a[0] * out + second;
        second = s->b[2] * in - s->a[1] * out;
        x[i] = out;
    }
    state[0] = first;
    state[1] = second;
}

void shot_butterworth_filter(const shot_biquad *sections, size_t count, double *x, size_t n,
                             double *state) {
    for (size_t k = 0; k < count; k++)
        run_section(&sections[k], x, n, state + 2 * k);
}

size_t shot_butterworth_workspace(size_t n, size_t count) {
    return 3 * n + 2 * count;
}

/* The states that a straight line of all times leaves behind: level at the first sample, slope a
 * sample.  A section hands the line on with its delay at frequency 0, the mean place of its
 * numerator less that of its denominator. */
static void remember_line(const shot_biquad *sections, size_t count, double level, double slope,
                          double *state) {
    for (size_t k = 0; k < count; k++) {
        const double *a = sections[k].a, *b = sections[k].b;
        const double delay =
            (b[1] + 2 * b[2]) / (b[0] + b[1] + b[2]) - (a[0] + 2 * a[1]) / (1 + a[0] + a[1]);
        const double out = level - slope * delay;
        state[2 * k] = out - b[0] * level;
        state[2 * k + 1] = out + slope - b[0] * (level + slope) - b[1] * level + a[0] * out;
        level = out;
    }
}

/* After how many samples the slowest part of the filter has died away to 1e-10. */
static size_t memory_of(const shot_biquad *sections, size_t count, size_t most) {
    double radius = 0;
    for (size_t k = 0; k < count; k++)
        radius =
            fmax(radius, sections[k].a[1] > 0 ? sqrt(sections[k].a[1]) : fabs(sections[k].a[0]));
    const double samples = radius > 0 ? ceil(log(1e-10) / log(radius)) : 1;
    return samples >= 1 && samples < (double)most ? (size_t)samples : most; /* not if radius is 1 */
}

static void reverse(double *x, size_t n) {
    for (size_t i = 0; i < n / 2; i++) {
        const double keep = x[i];
        x[i] = x[n - 1 - i];
        x[n - 1 - i] = keep;
    }
}

/* One pass over x, whose first `lead` steps tell the line to start from. */
static void pass(const shot_biquad *sections, size_t count, double *x, size_t n, size_t lead,
                 double *state) {
    remember_line(sections, count, x[0], (x[lead] - x[0]) / (double)lead, state);
    shot_butterworth_filter(sections, count, x, n, state);
}

void shot_butterworth_zero_phase(const shot_biquad *sections, size_t count, double *x, size_t n,
                                 double *work) {
    if (n < 2)
        return;
    const size_t lead = memory_of(sections, count, n - 1), all = n + 2 * lead;
    double *longer = work, *state = work + all;
    for (size_t i = 0; i < lead; i++) {
        longer[i] = 2 * x[0] - x[lead - i];
        longer[lead + n + i] = 2 * x[n - 1] - x[n - 2 - i];
    }
    for (size_t i = 0; i < n; i++)
        longer[lead + i] = x[i];
    for (int direction = 0; direction < 2; direction++) {
        pass(sections, count, longer, all, lead, state);
        reverse(longer, all);
    }
    for (size_t i = 0; i < n; i++)
        x[i] = longer[lead + i];
}

/* ---- noise ---- */

enum { MOST_RESPONSES = 4096 };

size_t shot_butterworth_gain_workspace(size_t n, size_t count) {
    const size_t few = n < MOST_RESPONSES ? n : MOST_RESPONSES;
    return few + shot_butterworth_workspace(few, count);
}

/* A shock at sample j, which fades; the first one stands for all before it. */
static void put_shock(size_t j, double lag1, size_t n, double *out) {
    double left = j == 0 ? 1 : sqrt(1 - lag1 * lag1);
    for (size_t i = 0; i < n; i++) {
        out[i] = i < j ? 0 : left;
        left *= i < j ? 1 : lag1;
    }
}

/* The gains of a series of n samples, from its n responses. */
static void gain_of_few(const shot_biquad *sections, size_t count, size_t n, double lag1,
                        double *gain, double *work) {
    double *response = work;
    for (size_t i = 0; i < n; i++)
        gain[i] = 0;
    for (size_t j = 0; j < n; j++) {
        put_shock(j, lag1, n, response);
        shot_butterworth_zero_phase(sections, count, response, n, work + n);
        for (size_t i = 0; i < n; i++)
            gain[i] += response[i] * response[i];
    }
}

void shot_butterworth_gain(const shot_biquad *sections, size_t count, size_t n, double lag1,
                           double *gain, double *work) {
    const size_t reach = memory_of(sections, count, n), few = n < 2 * reach + 1 ? n : 2 * reach + 1;
    if (few > MOST_RESPONSES) {
        for (size_t i = 0; i < n; i++)
            gain[i] = NAN;
        return;
    }
    gain_of_few(sections, count, few, lag1, gain, work);
    if (few == n)
        return;
    /* the last `reach` to the end; what is between is like the middle */
    for (size_t i = 0; i < reach; i++)
        gain[n - 1 - i] = gain[few - 1 - i];
    for (size_t i = reach; i + reach < n; i++)
        gain[i] = gain[reach];
}
