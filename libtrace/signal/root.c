/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A root of a function of one variable. */
#include <shottrace/signal/root.h>

#include <float.h>
#include <math.h>
#include <stdbool.h>

enum { EVALUATIONS = 400 };

/* a is the newest estimate, b the other end of the bracket, c the estimate before. */
struct bracket {
    double a, b, c;
    double fa, fb, fc;
};

/* The next step as a fraction of the way from a to b: inverse quadratic interpolation where
 * Chandrupatla's test says that it is safe, else the middle. */
static double next_fraction(const struct bracket *r) {
    double xi = (r->a - r->b) / (r->c - r->b);
    double phi = (r->fa - r->fb) / (r->fc - r->fb);
    if (!(phi * phi < xi && (1 - phi) * (1 - phi) < 1 - xi))
        return 0.5;
    return r->fa / (r->fb - r->fa) * (r->fc / (r->fb - r->fc)) +
           (r->c - r->a) / (r->b - r->a) * (r->fa / (r->fc - r->fa)) * (r->fb / (r->fc - r->fb));
}

static void take(struct bracket *r, double x, double fx) {
    if ((fx > 0) == (r->fa > 0)) {
        r->c = r->a, r->fc = r->fa;
    } else {
        r->c = r->b, r->fc = r->fb;
        r->b = r->a, r->fb = r->fa;
    }
    r->a = x, r->fa = fx;
}

static double narrow(shot_root_function f, const void *context, struct bracket *r,
                     double tolerance) {
    double t = 0.5;
    for (int i = 0; i < EVALUATIONS; i++) {
        double x = r->a + t * (r->b - r->a);
        take(r, x, f(x, context));
        double best = fabs(r->fa) < fabs(r->fb) ? r->a : r->b;
        double least = (2 * DBL_EPSILON * fabs(best) + tolerance / 2 + DBL_MIN) / fabs(r->b - r->a);
        if (least > 0.5 || r->fa == 0 || r->fb == 0)
            return best;
        t = next_fraction(r);
        if (!(t > least))
            t = least;
        if (t > 1 - least)
            t = 1 - least;
    }
    return fabs(r->fa) < fabs(r->fb) ? r->a : r->b;
}

shot_status shot_root_find(shot_root_function f, const void *context, double low, double high,
                           double tolerance, double *x) {
    *x = NAN;
    if (!isfinite(low) || !isfinite(high) || !(tolerance >= 0))
        return SHOT_ERR_RANGE;
    double f_low = f(low, context), f_high = f(high, context);
    if (isnan(f_low) || isnan(f_high))
        return SHOT_ERR_SINGULAR;
    if (f_low == 0 || f_high == 0) {
        *x = f_low == 0 ? low : high;
        return SHOT_OK;
    }
    if ((f_low > 0) == (f_high > 0))
        return SHOT_ERR_SINGULAR;
    struct bracket r = {high, low, low, f_high, f_low, f_low};
    *x = narrow(f, context, &r, tolerance);
    return SHOT_OK;
}
