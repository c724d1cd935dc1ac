/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Regularised incomplete beta and gamma functions. */
#include <shottrace/signal/special.h>

#include <float.h>
#include <math.h>
#include <stdbool.h>

static const double two_pi = 6.283185307179586477;
static const double half_log_two_pi = 0.918938533204672741780;
static const double tiny = 1e-300; /* stands for a denominator that has become zero */

/* ln Gamma(n + 1) less Stirling's (n + 1/2) ln n - n + ln(2 pi)/2: Loader 2000, section 3.
 * The series is cut where its next term, 691/(360360 n^11), is under 3e-16. */
static double stirling_error(double n) {
    if (n <= 15)
        return log(tgamma(n + 1)) - (n + 0.5) * log(n) + n - half_log_two_pi;
    double s = 1 / (n * n);
    return (1.0 / 12 - (1.0 / 360 - (1.0 / 1260 - (1.0 / 1680 - s / 1188) * s) * s) * s) / n;
}

double shot_special_log_gamma(double x) {
    if (!(x > 0))
        return NAN;
    if (x <= 15)
        return log(tgamma(x));
    return stirling_error(x) + (x - 0.5) * log(x) - x + half_log_two_pi;
}

/* x ln(x/m) + m - x without cancellation near x = m: Loader 2000, section 4 ('bd0'). */
static double deviance(double x, double m) {
    double v = (x - m) / (x + m);
    if (fabs(v) >= 0.1)
        return x * log(x / m) + m - x;
    double sum = (x - m) * v, term = 2 * x * v;
    for (int j = 3;; j += 2) {
        term *= v * v;
        double next = sum + term / j;
        if (next == sum)
            return sum;
        sum = next;
    }
}

/* x^a y^b / B(a, b). */
static double beta_factor(double a, double b, double x, double y) {
    double n = a + b;
    double exponent = stirling_error(n) - stirling_error(a) - stirling_error(b) -
                      deviance(a, n * x) - deviance(b, n * y);
    return exp(exponent) * sqrt(a / n * b / two_pi);
}

/* I_x(a, b) less its factor in front: 1/(beta_0 + alpha_1/(beta_1 + alpha_2/(beta_2 + ...))),
 * Didonato & Morris 1992, BFRAC.  It asks for x <= a/(a + b), where every term is positive; since
 * x enters beside 1 - x, nothing cancels where x is close to 1. */
static double beta_fraction(double a, double b, double x, double y) {
    double lambda = x > y ? (a + b) * y - b : a - (a + b) * x;
    double c = a / (a + 1) * (lambda + 1), d = 0;
    double fraction = 1 / c;
    double last = 200 + 20 * sqrt(fmax(a, b));
    for (double n = 1; n <= last; n++) {
        double s = a + 2 * n - 1, w = n * (b - n) * x;
        double alpha = (a + n - 1) / s * ((a + b + n - 1) / s) * w * x;
        double beta = n + w / s + (a + n) / (s + 2) * (lambda + 1 + n * (1 + y));
        d = beta + alpha * d;
        d = 1 / (fabs(d) < tiny ? tiny : d);
        c = beta + alpha / c;
        c = fabs(c) < tiny ? tiny : c;
        fraction /= c * d;
        if (fabs(c * d - 1) <= 2 * DBL_EPSILON)
            return fraction;
    }
    return NAN;
}

static bool is_in_range(double parameter) {
    return parameter > 0 && parameter <= SHOT_SPECIAL_LARGEST;
}

shot_tails shot_special_beta(double a, double b, double x, double y) {
    if (!(is_in_range(a) && is_in_range(b) && x >= 0 && y >= 0))
        return (shot_tails){NAN, NAN};
    if (x == 0 || y == 0)
        return x == 0 ? (shot_tails){0, 1} : (shot_tails){1, 0};
    double factor = beta_factor(a, b, x, y);
    if (b * x <= a * y) {
        double lower = factor * beta_fraction(a, b, x, y);
        return (shot_tails){lower, 1 - lower};
    }
    double upper = factor * beta_fraction(b, a, y, x);
    return (shot_tails){1 - upper, upper};
}

static double gamma_series(double a, double x) {
    double term = 1 / a, sum = term;
    for (double n = a + 1; term > DBL_EPSILON / 4 * sum; n++) {
        term *= x / n;
        sum += term;
    }
    return sum;
}

static double gamma_fraction(double a, double x) {
    double b = x + 1 - a, c = 1 / tiny, d = 1 / b;
    double fraction = d;
    double last = 200 + 20 * sqrt(a);
    for (double i = 1; i <= last; i++) {
        double term = -i * (i - a);
        b += 2;
        d = term * d + b;
        d = 1 / (fabs(d) < tiny ? tiny : d);
        c = b + term / c;
        c = fabs(c) < tiny ? tiny : c;
        fraction *= c * d;
        if (fabs(c * d - 1) <= DBL_EPSILON)
            return fraction;
    }
    return NAN;
}

shot_tails shot_special_gamma(double a, double x) {
    if (!(is_in_range(a) && x >= 0))
        return (shot_tails){NAN, NAN};
    if (x == 0 || isinf(x))
        return x == 0 ? (shot_tails){0, 1} : (shot_tails){1, 0};
    /* x^a e^-x / Gamma(a) */
    double factor = exp(-stirling_error(a) - deviance(a, x)) * sqrt(a / two_pi);
    if (x < a + 1) {
        double lower = factor * gamma_series(a, x);
        return (shot_tails){lower, 1 - lower};
    }
    double upper = factor * gamma_fraction(a, x);
    return (shot_tails){1 - upper, upper};
}
