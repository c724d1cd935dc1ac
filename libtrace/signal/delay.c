/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Delay between two sequences by correlation. */
#include <shottrace/signal/delay.h>

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "signal/autocovariance.h"
#include "signal/dot.h"
#include "signal/fourier.h"
#include "signal/gaussian_mean.h"
#include "signal/pi.h"

/* Eight samples around a place, 3 before and 4 after the one below it, and the weights of the
 * polynomial through them at `part` after that one (Lagrange; Abramowitz & Stegun 1964, 25.2.1). */
enum { POINTS = 8, BEFORE = 3 };

static void set_weights(double part, double *weight) {
    for (int k = 0; k < POINTS; k++) {
        weight[k] = 1;
        for (int j = 0; j < POINTS; j++)
            if (j != k)
                weight[k] *= (part - (j - BEFORE)) / (k - j);
    }
}

/* value[k] is x at the place `first` + k. */
static void shifted(const double *x, double first, size_t n, double *value) {
    double weight[POINTS];
    const double whole = floor(first);
    set_weights(first - whole, weight);
    for (size_t k = 0; k < n; k++)
        value[k] = dot(weight, x + (ptrdiff_t)whole - BEFORE + k, POINTS);
}

static double at(const double *x, double place) {
    double value;
    shifted(x, place, 1, &value);
    return value;
}

typedef struct search {
    size_t n, longest;
    size_t margin, width;  /* b[margin .. margin + width) is compared */
    double *raw_a, *raw_b; /* about their means [n] */
    double *a, *b;         /* the same, smoothed [n] */
    double *rho;           /* correlation at lag -margin .. margin [2 margin + 1] */
    double *work;          /* [3 n + 1] */
    double smoothing;
    double b_mean, b_squares;
} search;

/* x about its mean; 0 if a sample is missing. */
static int centre(const double *from, double *to, size_t n) {
    double mean = 0;
    for (size_t i = 0; i < n; i++)
        mean += (from[i] - mean) / (double)(i + 1);
    for (size_t i = 0; i < n; i++)
        to[i] = from[i] - mean;
    return isfinite(mean);
}

/* Variance of white noise in x, from third differences, which a smooth signal hardly has: the
 * squares of 1, -3, 3, -1 sum to 20 (von Neumann 1941, 'Distribution of the ratio of the mean
 * square successive difference to the variance', Ann. Math. Stat. 12:367-395, carried on). */
static double noise_variance(const double *x, size_t n) {
    double sum = 0;
    for (size_t i = 0; i + 3 < n; i++) {
        const double d = x[i + 3] - 3 * x[i + 2] + 3 * x[i + 1] - x[i];
        sum += d * d;
    }
    return sum / (20 * (double)(n - 3));
}

static double mean_square_slope(const double *x, size_t n) {
    double sum = 0;
    for (size_t i = 0; i + 2 < n; i++)
        sum += (x[i + 2] - x[i]) * (x[i + 2] - x[i]) / 4;
    return sum / (double)(n - 2);
}

/* Part of the slopes' energy that noise may have. */
static const double NOISE_SHARE = 0.05;

/* Smooth x and tell whether little enough noise is left in the slopes: white noise of variance v
 * has slopes of variance v / (4 sqrt(pi) width^3) under a Gaussian, v / 2 under none. */
static shot_status smooth_enough(const double *x, size_t n, double width, double *out,
                                 bool *enough) {
    const double left = width > 0 ? 1 / (4 * sqrt(SHOT_PI) * width * width * width) : 0.5;
    SHOT_TRY(gaussian_mean(x, n, width, out));
    *enough = noise_variance(x, n) * left <= NOISE_SHARE * mean_square_slope(out, n);
    return SHOT_OK;
}

/* Smooth both alike, as little as will do; a twentieth of the record is the most. */
static shot_status smooth_both(search *s) {
    double wider = 0;
    bool a_done = false, b_done = false;
    while (!(a_done && b_done) && wider <= (double)s->n / 20) {
        s->smoothing = wider;
        SHOT_TRY(smooth_enough(s->raw_a, s->n, wider, s->a, &a_done));
        SHOT_TRY(smooth_enough(s->raw_b, s->n, wider, s->b, &b_done));
        wider = wider > 0 ? wider * sqrt(2) : 0.75;
    }
    return SHOT_OK;
}

/* rho[j] = sum over i of (b_i - mean) a_{i - lag}, lag = j - margin, by one transform. */
static shot_status correlate(search *s) {
    const size_t length = fourier_good_length(s->n + s->width);
    fourier fa, fb;
    SHOT_TRY(fourier_make(length, &fa));
    const shot_status status = fourier_make(length, &fb);
    if (status != SHOT_OK) {
        fourier_clear(&fa);
        return status;
    }
    for (size_t i = 0; i < length; i++) {
        fa.x[i] = i < s->n ? s->a[i] : 0;
        fb.x[i] = i < s->width ? s->b[s->margin + i] - s->b_mean : 0;
    }
    fourier_forward(&fa);
    fourier_forward(&fb);
    for (size_t k = 0; k <= length / 2; k++)
        fa.bin[k] *= conj(fb.bin[k]);
    fourier_backward(&fa); /* x[m] = sum b_{margin + i} a_{i + m}, m = margin - lag */
    for (size_t j = 0; j <= 2 * s->margin; j++)
        s->rho[j] = fa.x[2 * s->margin - j];
    fourier_clear(&fa);
    fourier_clear(&fb);
    return SHOT_OK;
}

/* Divide by the spread of the part of a that lag j looks at. */
static shot_status normalise(search *s) {
    double *sum = s->work; /* running sum of a, then the windows' sums of squares by differences */
    const double w = (double)s->width;
    double squares = 0, largest = 0;
    sum[0] = 0;
    for (size_t i = 0; i < s->n; i++)
        sum[i + 1] = sum[i] + s->a[i];
    for (size_t i = 0; i < s->n; i++)
        largest += s->a[i] * s->a[i];
    for (size_t i = 0; i < s->width; i++)
        squares += s->a[i] * s->a[i];
    for (size_t m = 0; m <= 2 * s->margin; m++) { /* window of a starts at m = margin - lag */
        const double window = sum[m + s->width] - sum[m];
        const double spread = squares - window * window / w;
        if (!(spread > 1e-14 * largest))
            return SHOT_ERR_SINGULAR;
        s->rho[2 * s->margin - m] /= sqrt(spread * s->b_squares);
        if (m < 2 * s->margin)
            squares += s->a[m + s->width] * s->a[m + s->width] - s->a[m] * s->a[m];
    }
    return SHOT_OK;
}

/* The top beside the whole lag at `near`, by golden section, as a place in rho. */
static double top_beside(const search *s, size_t near) {
    const double golden = 0.61803398874989485;
    double low = (double)near - 1, high = (double)near + 1;
    for (int step = 0; step < 45; step++) {
        const double p = high - golden * (high - low), q = low + golden * (high - low);
        if (at(s->rho, p) > at(s->rho, q))
            high = q;
        else
            low = p;
    }
    return (low + high) / 2;
}

/* The lag of the highest correlation inside the search, as a place in rho. */
static shot_status find_top(const search *s, double *top) {
    const size_t first = s->margin - s->longest, last = s->margin + s->longest;
    size_t best = first;
    for (size_t j = first; j <= last; j++)
        if (s->rho[j] > s->rho[best])
            best = j;
    if (best == first || best == last || !(s->rho[best] > 0))
        return SHOT_ERR_SINGULAR;
    *top = top_beside(s, best);
    return SHOT_OK;
}

/* Parzen's lag window, 0 <= x. */
static double parzen(double x) {
    if (x <= 0.5)
        return 1 - 6 * x * x * (1 - x);
    return x < 1 ? 2 * (1 - x) * (1 - x) * (1 - x) : 0;
}

/* How far the noise reaches: the bandwidth of Parzen's window for a first-order autoregression of
 * its lag-1 correlation (Andrews 1991, equations 6.2 and 6.4). */
static double bandwidth_of(const double *noise, size_t n) {
    const double r = fmin(fabs(dot(noise, noise + 1, n - 1) / dot(noise, noise, n)), 0.97);
    const double alpha = 4 * r * r / pow(1 - r, 4);
    return fmin(2.6614 * pow(alpha * (double)n, 0.2), (double)n / 2);
}

/* Lags of which autocovariances are looked at: under the window's bandwidth, 0 among them. */
static size_t lags_within(double bandwidth) {
    return (size_t)fmax(ceil(bandwidth), 1);
}

/* Variance of sum weight_i noise_i, for weights that are given and noise that is a sample of a
 * stationary process: sum over lags of the two autocovariances, the noise's under the window. */
static double steady_variance(const double *of_weight, const double *of_noise, size_t n,
                              double bandwidth) {
    double sum = of_noise[0] * of_weight[0];
    for (size_t lag = 1; (double)lag < bandwidth; lag++)
        sum += 2 * parzen((double)lag / bandwidth) * of_noise[lag] * of_weight[lag];
    return fmax(sum, 0) / (double)n;
}

/* The same of noise that is larger where the weights are, as rounding is where the signal moves
 * and its figures change: the autocovariances of the products themselves (Andrews 1991, equation
 * 2.5; MacKinnon & White 1985, J. Econometrics 29:305-325). */
static double own_variance(const double *of_product, double bandwidth) {
    double sum = of_product[0];
    for (size_t lag = 1; (double)lag < bandwidth; lag++)
        sum += 2 * parzen((double)lag / bandwidth) * of_product[lag];
    return sum;
}

/* The larger of the two: of few samples the second is the more uncertain one, and low. `weight`
 * becomes the products. */
static shot_status variance_of_sum(double *weight, const double *noise, size_t n, double *out) {
    const double bandwidth = bandwidth_of(noise, n);
    const size_t lags = lags_within(bandwidth);
    double *of_weight = malloc(2 * lags * sizeof *of_weight), *of_noise = of_weight + lags;
    if (of_weight == NULL)
        return SHOT_ERR_MEMORY;
    shot_status status = autocovariance(weight, n, lags, of_weight);
    if (status == SHOT_OK)
        status = autocovariance(noise, n, lags, of_noise);
    if (status == SHOT_OK) {
        *out = steady_variance(of_weight, of_noise, n, bandwidth);
        /* a residual is the smaller the more its sample weighs: HC3 */
        for (size_t i = 0; i < n; i++)
            weight[i] *= noise[i] / (1 - weight[i] * weight[i] / of_weight[0]);
        status = autocovariance(weight, n, lags, of_weight);
    }
    if (status == SHOT_OK)
        *out = fmax(*out, own_variance(of_weight, bandwidth));
    free(of_weight);
    return status;
}

/* Least-squares gain of b on the shifted a, which becomes the residuals. */
static double regress(const double *b, size_t n, double *shifted_a) {
    double a_mean = 0, b_mean = 0, squares = 0, product = 0;
    for (size_t i = 0; i < n; i++) {
        a_mean += shifted_a[i] / (double)n;
        b_mean += b[i] / (double)n;
    }
    for (size_t i = 0; i < n; i++) {
        squares += (shifted_a[i] - a_mean) * (shifted_a[i] - a_mean);
        product += (shifted_a[i] - a_mean) * (b[i] - b_mean);
    }
    for (size_t i = 0; i < n; i++)
        shifted_a[i] = b[i] - b_mean - product / squares * (shifted_a[i] - a_mean);
    return product / squares;
}

/* The standard error.  Near its top, half the sum of squared residuals of the smoothed sequences
 * is B (1 - rho^2) / 2 with B = sum (b - mean)^2: its second derivative is -B rho rho'', and its
 * first derivative, 0 on average at the true delay, is gain sum slope_i residual_i.  Smoothing is
 * moved from the residuals to the slopes, so that the noise is looked at as it was measured. */
static shot_status judge(search *s, double top, shot_delay *out) {
    const double h = 0.1, lag = top - (double)s->margin, first = (double)s->margin - lag;
    const double rho = at(s->rho, top);
    const double bend = (at(s->rho, top + h) - 2 * rho + at(s->rho, top - h)) / (h * h);
    double *residual = s->work, *slope = residual + s->width, *after = slope + s->width;
    shifted(s->raw_a, first, s->width, residual);
    const double gain = regress(s->raw_b + s->margin, s->width, residual);
    shifted(s->a, first - h, s->width, slope);
    shifted(s->a, first + h, s->width, after);
    for (size_t i = 0; i < s->width; i++)
        after[i] = (after[i] - slope[i]) / (2 * h);
    double variance;
    SHOT_TRY(gaussian_mean(after, s->width, s->smoothing, slope));
    SHOT_TRY(variance_of_sum(slope, residual, s->width, &variance));
    *out = (shot_delay){
        .samples = lag,
        .se = gain * sqrt(variance) / (s->b_squares * rho * -bend),
        .correlation = rho,
        .gain = gain,
        .smoothing = s->smoothing,
    };
    return SHOT_OK;
}

/* The residuals of the smoothed sequences at a top, in s->work. */
static void smooth_residuals(search *s, double top) {
    shifted(s->a, 2 * (double)s->margin - top, s->width, s->work);
    regress(s->b + s->margin, s->width, s->work);
}

/* How many independent samples the variance of x is known by: n / (1 + 2 sum r_k^2), r being its
 * autocorrelations (Bartlett 1946, 'On the theoretical specification and sampling properties of
 * autocorrelated time-series', J. R. Stat. Soc. Suppl. 8:27-41), to a quarter of the record. */
static shot_status count_independent(const double *x, size_t n, double *out) {
    const size_t lags = n / 4;
    double sum = 1, *of_x = malloc(lags * sizeof *of_x);
    if (of_x == NULL)
        return SHOT_ERR_MEMORY;
    const shot_status status = autocovariance(x, n, lags, of_x);
    for (size_t lag = 1; status == SHOT_OK && lag < lags && of_x[0] > 0; lag++)
        sum += 2 * of_x[lag] / of_x[0] * of_x[lag] / of_x[0];
    free(of_x);
    *out = (double)n / sum;
    return status;
}

bool shot_delay_fits_as_well(const shot_delay *best, double correlation) {
    /* a correlation is no surer than this, since it is interpolated between whole lags */
    const double least = 2e-5;
    const double left = fmax(1 - best->correlation * best->correlation, least);
    const double other = fmax(1 - correlation * correlation, least);
    return correlation > 0 && log(other / left) * sqrt(best->freedom) < 2 * SHOT_DELAY_CLEAR;
}

/* The highest top of the correlation outside the interval of the highest, the ends of the search
 * among them; NaN if it is no rival. */
static double find_rival(const search *s, double top, const shot_delay *found) {
    const size_t first = s->margin - s->longest, last = s->margin + s->longest;
    const double reach = SHOT_DELAY_CLEAR * found->se + 1;
    double best = -1, place = NAN;
    for (size_t j = first; j <= last; j++) {
        if ((j > first && s->rho[j] < s->rho[j - 1]) || (j < last && s->rho[j] < s->rho[j + 1]) ||
            fabs((double)j - top) <= reach)
            continue;
        const double here = j > first && j < last ? top_beside(s, j) : (double)j;
        if (at(s->rho, here) > best) {
            best = at(s->rho, here);
            place = here;
        }
    }
    return shot_delay_fits_as_well(found, best) ? place - (double)s->margin : NAN;
}

static shot_status run(search *s, const double *a, const double *b, shot_delay *out) {
    if (!centre(a, s->raw_a, s->n) || !centre(b, s->raw_b, s->n))
        return SHOT_ERR_RANGE;
    SHOT_TRY(smooth_both(s));
    for (size_t i = 0; i < s->width; i++)
        s->b_mean += s->b[s->margin + i] / (double)s->width;
    double largest = 0;
    for (size_t i = 0; i < s->width; i++) {
        const double x = s->b[s->margin + i] - s->b_mean;
        s->b_squares += x * x;
        largest = fmax(largest, fabs(b[s->margin + i]));
    }
    if (!(s->b_squares > (double)s->width * (1e-14 * largest) * (1e-14 * largest)))
        return SHOT_ERR_SINGULAR;
    double top;
    SHOT_TRY(correlate(s));
    SHOT_TRY(normalise(s));
    SHOT_TRY(find_top(s, &top));
    SHOT_TRY(judge(s, top, out));
    smooth_residuals(s, top);
    SHOT_TRY(count_independent(s->work, s->width, &out->freedom));
    out->rival = find_rival(s, top, out);
    return SHOT_OK;
}

shot_status shot_delay_find(const double *a, const double *b, size_t n, size_t longest,
                            shot_delay *out) {
    if (longest < 1 || longest > SIZE_MAX / 64 || n > SIZE_MAX / 64 ||
        n < 2 * SHOT_DELAY_MARGIN(longest) + 16)
        return SHOT_ERR_RANGE;
    search s = {.n = n, .longest = longest, .margin = SHOT_DELAY_MARGIN(longest)};
    s.width = n - 2 * s.margin;
    double *store = malloc((7 * n + 2 * s.margin + 2) * sizeof *store);
    if (store == NULL)
        return SHOT_ERR_MEMORY;
    s.raw_a = store, s.raw_b = s.raw_a + n, s.a = s.raw_b + n, s.b = s.a + n, s.rho = s.b + n;
    s.work = s.rho + 2 * s.margin + 1;
    const shot_status status = run(&s, a, b, out);
    free(store);
    return status;
}
