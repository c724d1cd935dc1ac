/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Distributions: everything central is the incomplete beta or gamma function under a change of
 * variable, and every quantile is the root of a logarithm of a tail, which stays smooth and keeps
 * its digits however small the tail is. */
#include <shottrace/signal/distribution.h>
#include <shottrace/signal/root.h>
#include <shottrace/signal/special.h>

#include <float.h>
#include <math.h>
#include <stdbool.h>

static const double sqrt_half = 0.707106781186547524401;
static const double sqrt_two_pi = 2.506628274631000502416;

/* --- normal --------------------------------------------------------------------------------- */

double shot_normal_cdf(double z) {
    return 0.5 * erfc(-z * sqrt_half);
}

double shot_normal_tail(double z) {
    return 0.5 * erfc(z * sqrt_half);
}

double shot_normal_density(double z) {
    return exp(-0.5 * z * z) / sqrt_two_pi;
}

/* --- quantiles as roots ----------------------------------------------------------------------- */

/* A distribution as tails of a logarithmic variable u, and what is asked of it: the u at which the
 * smaller of the two tails is as wanted. */
struct wanted {
    shot_tails (*tails)(double u, const struct wanted *);
    double first, second; /* parameters */
    shot_tails at;
};

static double misfit(double u, const void *context) {
    const struct wanted *w = context;
    shot_tails t = w->tails(u, w);
    double ratio = w->at.lower <= w->at.upper ? t.lower / w->at.lower : w->at.upper / t.upper;
    return log(
        fmin(fmax(ratio, DBL_MIN), DBL_MAX)); /* both ends finite, so that it can interpolate */
}

/* The u that is wanted, by widening an interval round 0 until it holds the root.  NaN if none does
 * within the range of exp(). */
static double solve(const struct wanted *w) {
    double low = -1, high = 1, u;
    while (low > -800 && misfit(low, w) > 0)
        low *= 2;
    while (high < 800 && misfit(high, w) < 0)
        high *= 2;
    return shot_root_find(misfit, w, low, high, 0, &u) == SHOT_OK ? u : NAN;
}

/* Beta at the log odds u = ln(x/(1 - x)). */
static shot_tails beta_tails(double u, const struct wanted *w) {
    return shot_special_beta(w->first, w->second, 1 / (1 + exp(-u)), 1 / (1 + exp(u)));
}

static double beta_log_odds(shot_tails at, double a, double b) {
    return solve(&(struct wanted){beta_tails, a, b, at});
}

static shot_tails gamma_tails(double u, const struct wanted *w) {
    return shot_special_gamma(w->first, exp(u));
}

double shot_beta_quantile(double p, double a, double b) {
    if (!(p >= 0 && p <= 1 && a > 0 && b > 0))
        return NAN;
    if (p == 0 || p == 1)
        return p;
    return 1 / (1 + exp(-beta_log_odds((shot_tails){p, 1 - p}, a, b)));
}

/* --- Student's t ------------------------------------------------------------------------------ */

/* At so many degrees of freedom t is the normal distribution, to the last digit. */
static bool is_normal(double df) {
    return df > SHOT_SPECIAL_LARGEST;
}

/* P(|T| < t) and P(|T| > t), t >= 0. */
static shot_tails student_two_sided(double t, double df) {
    double square = t * t;
    if (isinf(square))
        return (shot_tails){1, 0};
    return shot_special_beta(0.5, df / 2, square / (df + square), df / (df + square));
}

double shot_student_tail(double t, double df) {
    if (!(df > 0) || isnan(t))
        return NAN;
    if (is_normal(df))
        return shot_normal_tail(t);
    shot_tails both = student_two_sided(fabs(t), df);
    return t > 0 ? both.upper / 2 : 0.5 + both.lower / 2;
}

double shot_student_cdf(double t, double df) {
    return shot_student_tail(-t, df);
}

double shot_student_quantile(double p, double df) {
    if (!(df > 0) || !(p > 0 && p < 1))
        return df > 0 && (p == 0 || p == 1) ? (p == 0 ? -INFINITY : INFINITY) : NAN;
    if (is_normal(df))
        return shot_normal_quantile(p);
    if (p == 0.5)
        return 0;
    double q = p < 0.5 ? p : 1 - p;
    /* t^2/df is the odds of a beta variable. */
    double u = beta_log_odds((shot_tails){2 * (0.5 - q), 2 * q}, 0.5, df / 2);
    double t = exp(u / 2) * sqrt(df);
    return p < 0.5 ? -t : t;
}

/* Over the scatter.  With u = ln sqrt(C/df) its density is exp(df u - df e^2u/2) but for a
 * constant, which divides out: it falls as exp(df u) to the left and faster to the right.  In steps
 * of a sixth of its width, 1/sqrt(2 df), and half of that in which the normal chance rises,
 * 1/delta, the trapezoidal rule's error is under the rounding. */
static double over_the_scatter(double t, double df, double delta) {
    double width = 1 / sqrt(2 * df), step = fmin(width / 6, 0.5 / fmax(delta, 1));
    double left = fmin(-40 / df, -10 * width), right = fmin(10 * width, 2.5);
    double sum = 0, weight = 0;
    for (double u = left; u <= right; u += step) {
        double scale = exp(u), density = exp(df * u - df / 2 * (scale * scale - 1));
        sum += density * shot_normal_cdf(t * scale - delta);
        weight += density;
    }
    return sum / weight;
}

/* Over the normal variable, where delta is so large that the chance of a scatter under (z +
 * delta)/t changes slowly with z and z + delta is never negative: t > 0. */
static double over_the_normal(double t, double df, double delta) {
    double sum = 0;
    for (double z = -8.5; z <= 8.5; z += 0.25) {
        double scale = (z + delta) / t;
        sum += shot_normal_density(z) * shot_special_gamma(df / 2, df / 2 * scale * scale).upper;
    }
    return 0.25 * sum;
}

double shot_noncentral_student_cdf(double t, double df, double delta) {
    if (!(df >= 1) || isnan(t) || !isfinite(delta))
        return NAN;
    if (is_normal(df) || isinf(t))
        return shot_normal_cdf(t - delta);
    if (delta < 0)
        return 1 - shot_noncentral_student_cdf(-t, df, -delta);
    if (delta <= fmax(9, sqrt(2 * df)))
        return over_the_scatter(t, df, delta);
    return t > 0 ? over_the_normal(t, df, delta) : 0;
}

/* --- F, chi-square, binomial ------------------------------------------------------------------ */

static shot_tails f_tails(double f, double df1, double df2) {
    if (!(df1 > 0 && df2 > 0) || isnan(f))
        return (shot_tails){NAN, NAN};
    if (f <= 0)
        return (shot_tails){0, 1};
    double odds = df1 / df2 * f;
    return shot_special_beta(df1 / 2, df2 / 2, isinf(odds) ? 1 : odds / (1 + odds), 1 / (1 + odds));
}

double shot_f_cdf(double f, double df1, double df2) {
    return f_tails(f, df1, df2).lower;
}

double shot_f_tail(double f, double df1, double df2) {
    return f_tails(f, df1, df2).upper;
}

double shot_f_quantile(double p, double df1, double df2) {
    if (!(p >= 0 && p <= 1 && df1 > 0 && df2 > 0))
        return NAN;
    if (p == 0 || p == 1)
        return p == 0 ? 0 : INFINITY;
    return df2 / df1 * exp(beta_log_odds((shot_tails){p, 1 - p}, df1 / 2, df2 / 2));
}

static shot_tails chi_square_tails(double x, double df) {
    return shot_special_gamma(df / 2, isnan(x) ? NAN : fmax(x, 0) / 2);
}

double shot_chi_square_cdf(double x, double df) {
    return chi_square_tails(x, df).lower;
}

double shot_chi_square_tail(double x, double df) {
    return chi_square_tails(x, df).upper;
}

double shot_chi_square_quantile(double p, double df) {
    if (!(p >= 0 && p <= 1 && df > 0))
        return NAN;
    if (p == 0 || p == 1)
        return p == 0 ? 0 : INFINITY;
    return 2 * exp(solve(&(struct wanted){gamma_tails, df / 2, 0, {p, 1 - p}}));
}

static shot_tails binomial_tails(double k, double n, double p) {
    if (!(n >= 0 && p >= 0 && p <= 1) || isnan(k))
        return (shot_tails){NAN, NAN};
    k = floor(k);
    if (k < 0 || k >= n)
        return k < 0 ? (shot_tails){0, 1} : (shot_tails){1, 0};
    return shot_special_beta(n - k, k + 1, 1 - p, p);
}

double shot_binomial_cdf(double k, double n, double p) {
    return binomial_tails(k, n, p).lower;
}

double shot_binomial_tail(double k, double n, double p) {
    return binomial_tails(k, n, p).upper;
}

double shot_binomial_quantile(double q, double n, double p) {
    if (!(q >= 0 && q <= 1 && n >= 0 && n <= SHOT_SPECIAL_LARGEST && p >= 0 && p <= 1))
        return NAN;
    double low = -1, high = floor(n); /* cdf(low) < q <= cdf(high) */
    while (high - low > 1) {
        double middle = floor((low + high) / 2);
        if (shot_binomial_cdf(middle, n, p) < q)
            low = middle;
        else
            high = middle;
    }
    return high;
}
