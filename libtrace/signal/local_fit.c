/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The local polynomial in a basis that is orthonormal over the samples.
 *
 * Basis vector k is x times basis vector k - 1, made orthogonal to all before it and scaled to
 * length 1.  The numbers that do so (projection[k][j], its diagonal the lengths) make the same
 * polynomial anywhere else: evaluate() repeats the steps at one place, for the derivatives by the
 * product rule (x q)^(r) = x q^(r) + r q^(r-1). */
#include <shottrace/signal/local_fit.h>

#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "dot.h"

struct shot_local_fit {
    size_t terms;    /* order + 1 */
    size_t fitted;   /* terms, or 0 where there is no fit */
    size_t given;    /* samples of the last call */
    size_t used;     /* those that count */
    size_t capacity; /* samples that the arrays below can hold */
    bool tapered;
    size_t based; /* samples on whose times and weights the basis rests; 0: none */
    bool based_tapered;
    double centre;       /* s */
    double middle;       /* of the scaled times */
    double scale;        /* s, a power of two so that scaling rounds nothing */
    double *x;           /* (t - centre) / scale - middle           [capacity] */
    double *y;           /*                                         [capacity] */
    double *taper;       /* weights                                 [capacity] */
    double *product;     /* taper * basis vector                    [capacity] */
    double *times;       /* t - centre, of the basis                [capacity] */
    double *weights;     /* taper, of the basis                     [capacity] */
    size_t *place;       /* index of the sample in the call         [capacity] */
    double *basis;       /*                                         [terms][capacity] */
    double *projection;  /*                                        [terms][terms] */
    double *coefficient; /* of y on the basis                     [terms] */
    double *here;        /* basis, and its derivative, at one place [2][terms] */
};

shot_status shot_local_fit_new(size_t order, shot_local_fit **out) {
    *out = NULL;
    const size_t terms = order + 1;
    if (terms == 0 || terms > SIZE_MAX / sizeof(double) / (terms + 3))
        return SHOT_ERR_MEMORY;
    shot_local_fit *fit = calloc(1, sizeof *fit);
    double *numbers = malloc((terms + 3) * terms * sizeof *numbers);
    if (fit == NULL || numbers == NULL) {
        free(numbers);
        free(fit);
        return SHOT_ERR_MEMORY;
    }
    fit->terms = terms;
    fit->projection = numbers;
    fit->coefficient = fit->projection + terms * terms;
    fit->here = fit->coefficient + terms;
    *out = fit;
    return SHOT_OK;
}

void shot_local_fit_free(shot_local_fit *fit) {
    if (fit == NULL)
        return;
    free(fit->projection);
    free(fit->place);
    free(fit->x);
    free(fit);
}

static shot_status make_room(shot_local_fit *fit, size_t n) {
    if (n <= fit->capacity)
        return SHOT_OK;
    const size_t room = n < SIZE_MAX / 2 ? n + n / 2 : n, arrays = fit->terms + 6;
    if (room > SIZE_MAX / sizeof(double) / arrays)
        return SHOT_ERR_MEMORY;
    double *numbers = malloc(room * arrays * sizeof *numbers);
    size_t *place = malloc(room * sizeof *place);
    if (numbers == NULL || place == NULL) {
        free(numbers);
        free(place);
        return SHOT_ERR_MEMORY;
    }
    free(fit->x);
    free(fit->place);
    fit->x = numbers;
    fit->y = fit->x + room;
    fit->taper = fit->y + room;
    fit->product = fit->taper + room;
    fit->times = fit->product + room;
    fit->weights = fit->times + room;
    fit->basis = fit->weights + room;
    fit->based = 0;
    fit->place = place;
    fit->capacity = room;
    return SHOT_OK;
}

/* Cleveland 1979, section 2. */
static double tricube(double u) {
    const double gap = 1 - u * u * u;
    return u < 1 ? gap * gap * gap : 0;
}

static void select_samples(shot_local_fit *fit, const double *t, const double *y, double taper) {
    size_t used = 0;
    for (size_t i = 0; i < fit->given; i++) {
        const double x = t[i] - fit->centre;
        const double weight = taper > 0 ? tricube(fabs(x) / taper) : 1;
        if (isnan(y[i]) || weight == 0)
            continue;
        fit->x[used] = x;
        fit->y[used] = y[i];
        fit->taper[used] = weight;
        fit->place[used++] = i;
    }
    fit->used = used;
    fit->tapered = taper > 0;
}

/* Shift and scale the times to [-1, 1]. */
static void normalise(shot_local_fit *fit) {
    double low = fit->x[0], high = fit->x[0];
    for (size_t i = 1; i < fit->used; i++) {
        low = fmin(low, fit->x[i]);
        high = fmax(high, fit->x[i]);
    }
    int exponent;
    frexp(fmax(fabs(low), fabs(high)), &exponent);
    fit->scale = ldexp(1, exponent);
    fit->middle = (low / 2 + high / 2) / fit->scale;
    for (size_t i = 0; i < fit->used; i++)
        fit->x[i] = fit->x[i] / fit->scale - fit->middle;
}

/* taper * v, the vector that a tapered inner product with v needs. */
static const double *weighed(shot_local_fit *fit, const double *v) {
    if (!fit->tapered)
        return v;
    for (size_t i = 0; i < fit->used; i++)
        fit->product[i] = fit->taper[i] * v[i];
    return fit->product;
}

static double length_of(shot_local_fit *fit, const double *v) {
    return sqrt(dot(v, weighed(fit, v), fit->used));
}

/* Take from vector k what the vectors before it can express. */
static void orthogonalise(shot_local_fit *fit, size_t k) {
    double *v = fit->basis + k * fit->capacity;
    for (size_t j = k; j-- > 0;) {
        const double *q = fit->basis + j * fit->capacity;
        const double share = dot(q, weighed(fit, v), fit->used);
        fit->projection[k * fit->terms + j] += share;
        for (size_t i = 0; i < fit->used; i++)
            v[i] -= share * q[i];
    }
}

/* Make basis vector k; false where the samples cannot tell it from those before.  A second pass
 * where the first cancelled much restores orthogonality ("twice is enough", Parlett 1998, 'The
 * symmetric eigenvalue problem', section 6.9). */
static bool add_vector(shot_local_fit *fit, size_t k) {
    static const double MUCH = 0.1, NOTHING_LEFT = 1e-13; /* rounding leaves some n * 1e-16 */
    double *v = fit->basis + k * fit->capacity, *projection = fit->projection + k * fit->terms;
    for (size_t i = 0; i < fit->used; i++)
        v[i] = k == 0 ? 1 : fit->x[i] * (v - fit->capacity)[i];
    const double before = length_of(fit, v);
    memset(projection, 0, (k + 1) * sizeof *projection);
    orthogonalise(fit, k);
    double length = length_of(fit, v);
    if (length < MUCH * before) {
        orthogonalise(fit, k);
        length = length_of(fit, v);
    }
    if (!(length > NOTHING_LEFT * before))
        return false;
    projection[k] = length;
    for (size_t i = 0; i < fit->used; i++)
        v[i] /= length;
    return true;
}

/* Whether the basis of the last call holds: windows at the start of shots often have the same
 * times, and it does not depend on values. */
static bool is_based(const shot_local_fit *fit) {
    const size_t size = fit->used * sizeof *fit->x;
    return fit->based == fit->used && fit->based_tapered == fit->tapered &&
           memcmp(fit->times, fit->x, size) == 0 && memcmp(fit->weights, fit->taper, size) == 0;
}

/* Make the basis anew; false where the samples determine none. */
static bool make_basis(shot_local_fit *fit) {
    fit->based = 0;
    memcpy(fit->times, fit->x, fit->used * sizeof *fit->x);
    memcpy(fit->weights, fit->taper, fit->used * sizeof *fit->taper);
    normalise(fit);
    for (size_t k = 0; k < fit->terms; k++)
        if (!add_vector(fit, k))
            return false;
    fit->based = fit->used;
    fit->based_tapered = fit->tapered;
    return true;
}

shot_status shot_local_fit_set(shot_local_fit *fit, const double *t, const double *y, size_t n,
                               double centre, double taper) {
    fit->fitted = 0;
    fit->given = 0;
    if (!(taper >= 0))
        return SHOT_ERR_RANGE;
    SHOT_TRY(make_room(fit, n));
    fit->given = n;
    fit->centre = centre;
    select_samples(fit, t, y, taper);
    if (fit->used < fit->terms)
        return SHOT_ERR_SINGULAR;
    if (!is_based(fit) && !make_basis(fit))
        return SHOT_ERR_SINGULAR;
    for (size_t k = 0; k < fit->terms; k++)
        fit->coefficient[k] = dot(fit->basis + k * fit->capacity, weighed(fit, fit->y), fit->used);
    fit->fitted = fit->terms;
    return SHOT_OK;
}

/* The derivative of every basis polynomial at a time, in units of scale^-derivative. */
static const double *evaluate(const shot_local_fit *fit, double t, size_t derivative) {
    const double x = (t - fit->centre) / fit->scale - fit->middle;
    double *lower = fit->here, *now = fit->here + fit->terms;
    for (size_t r = 0; r <= derivative; r++) {
        double *swap = lower;
        lower = now;
        now = swap;
        for (size_t k = 0; k < fit->fitted; k++) {
            const double *projection = fit->projection + k * fit->terms;
            double value = r == 0 ? 1 : 0;
            if (k > 0)
                value = x * now[k - 1] + (r > 0 ? (double)r * lower[k - 1] : 0);
            for (size_t j = k; j-- > 0;)
                value -= projection[j] * now[j];
            now[k] = value / projection[k];
        }
    }
    return now;
}

/* What sample i weighs in the value that `here` makes. */
static double weight_of(const shot_local_fit *fit, const double *here, size_t i) {
    double sum = 0;
    for (size_t k = 0; k < fit->fitted; k++)
        sum += here[k] * fit->basis[k * fit->capacity + i];
    return fit->tapered ? fit->taper[i] * sum : sum;
}

/* The basis is orthonormal, so without a taper the squares of the weights sum to those of `here`.
 */
static double gain_of(const shot_local_fit *fit, const double *here) {
    if (!fit->tapered)
        return dot(here, here, fit->fitted);
    double sum = 0;
    for (size_t i = 0; i < fit->used; i++) {
        const double weight = weight_of(fit, here, i);
        sum += weight * weight;
    }
    return sum;
}

/* scale^-derivative, exact while it does not underflow. */
static double unit_of(const shot_local_fit *fit, size_t derivative) {
    double unit = 1;
    for (size_t d = 0; d < derivative; d++)
        unit /= fit->scale;
    return unit;
}

shot_local_fit_value shot_local_fit_at(const shot_local_fit *fit, double t, size_t derivative) {
    if (fit->fitted == 0)
        return (shot_local_fit_value){NAN, NAN};
    if (derivative >= fit->terms)
        return (shot_local_fit_value){0, 0};
    const double *here = evaluate(fit, t, derivative);
    const double unit = unit_of(fit, derivative);
    return (shot_local_fit_value){unit * dot(here, fit->coefficient, fit->fitted),
                                  unit * unit * gain_of(fit, here)};
}

void shot_local_fit_weights(const shot_local_fit *fit, double t, size_t derivative,
                            double *weights) {
    for (size_t i = 0; i < fit->given; i++)
        weights[i] = fit->fitted == 0 ? NAN : 0;
    if (fit->fitted == 0 || derivative >= fit->terms)
        return;
    const double *here = evaluate(fit, t, derivative);
    const double unit = unit_of(fit, derivative);
    for (size_t i = 0; i < fit->used; i++)
        weights[fit->place[i]] = unit * weight_of(fit, here, i);
}
