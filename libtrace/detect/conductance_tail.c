/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Forms of what is still to come, from the last sample to the first. */
#include "detect/conductance_tail.h"

#include "detect/conductance_lanes.h"

typedef struct conductance_tail_rest tail_rest;

/* Q = F' Q F and q = F' q of what heals.  A weight gathers `gathered` of the rest in a step. */
static inline void move_rest(const conductance_step *f, const conductance_tail *of, int healing,
                             double gathered, tail_rest *x) {
    const double dt = f->dt, a = f->by_level, b = f->by_slope, healed = f->healed[healing];
    const tail_rest old = *x;
    x->rg = gathered * (of->gc + a * of->cc) + healed * (old.rg + a * old.rc);
    x->rd = gathered * (dt * of->gc + of->dc + b * of->cc) +
            healed * (dt * old.rg + old.rd + b * old.rc);
    x->rc = gathered * of->cc + healed * old.rc;
    x->re = f->left * (gathered * of->ce + healed * old.re);
    x->rr = gathered * (gathered * of->cc + 2 * healed * old.rc) + healed * healed * old.rr;
    x->r = gathered * of->c + healed * old.r;
}

/* The same of the states. */
static inline void move_states(const conductance_step *f, conductance_tail *x) {
    const double dt = f->dt, a = f->by_level, b = f->by_slope, left = f->left;
    const double gc = x->gc + a * x->cc, dc = dt * x->gc + x->dc + b * x->cc;
    const double gd = dt * x->gg + x->gd + b * x->gc;
    x->dd = dt * gd + dt * x->gd + x->dd + b * x->dc + b * dc;
    x->gd = gd + a * dc;
    x->gg += a * x->gc + a * gc;
    x->gc = gc;
    x->dc = dc;
    x->de = left * (dt * x->ge + x->de + b * x->ce);
    x->ge = left * (x->ge + a * x->ce);
    x->ce *= left;
    x->ee *= left * left;
    x->d += dt * x->g + b * x->c;
    x->g += a * x->c;
    x->e *= left;
}

/* The gains of a sample, and its innovation. */
typedef struct seen {
    double kg, kd, kc, ke, weight, innovation;
    double by_g, by_c, by_rest;
} seen;

static inline void see_rest(const seen *of, double square, const double u[STATES], tail_rest *x) {
    const double both = of->kg * x->rg + of->kd * x->rd + of->kc * x->rc + of->ke * x->re;
    const double h = of->by_rest;
    x->rg += square * of->by_g * h - of->by_g * both - h * u[0];
    x->rd -= h * u[1];
    x->rc += square * of->by_c * h - of->by_c * both - h * u[2];
    x->re += square * h - both - h * u[3];
    x->rr += h * (square * h - 2 * both);
}

/* Q = A' Q A + h h' / variance and q = A' q + h v / variance, with A = I - K h'. */
static inline void see_sample(const seen *of, conductance_tail *x) {
    const double kg = of->kg, kd = of->kd, kc = of->kc, ke = of->ke;
    const double u[STATES] = {x->gg * kg + x->gd * kd + x->gc * kc + x->ge * ke,
                              x->gd * kg + x->dd * kd + x->dc * kc + x->de * ke,
                              x->gc * kg + x->dc * kd + x->cc * kc + x->ce * ke,
                              x->ge * kg + x->de * kd + x->ce * kc + x->ee * ke};
    const double square = u[0] * kg + u[1] * kd + u[2] * kc + u[3] * ke + of->weight;
    const double along =
        of->weight * of->innovation - (x->g * kg + x->d * kd + x->c * kc + x->e * ke);
    const double hg = of->by_g, hc = of->by_c;
    for (int i = 0; i < CONDUCTANCE_HEALINGS; i++) {
        see_rest(of, square, u, &x->rest[i]);
        x->rest[i].r += of->by_rest * along;
    }
    x->gg += hg * (square * hg - 2 * u[0]);
    x->gd -= hg * u[1];
    x->gc += square * hg * hc - hg * u[2] - hc * u[0];
    x->ge += square * hg - hg * u[3] - u[0];
    x->dc -= hc * u[1];
    x->de -= u[1];
    x->cc += hc * (square * hc - 2 * u[2]);
    x->ce += square * hc - hc * u[3] - u[2];
    x->ee += square - 2 * u[3];
    x->g += hg * along;
    x->c += hc * along;
    x->e += along;
}

static seen seen_at(const conductance_data *data, const conductance_filter *filter, size_t i) {
    const double *gain = filter->gains->gain + i * STATES * LANES + filter->lane;
    const observation h = observe(data, i);
    return (seen){.kg = gain[0],
                  .kd = gain[LANES],
                  .kc = gain[2 * LANES],
                  .ke = gain[3 * LANES],
                  .weight = filter->gains->weight[i * LANES + (size_t)filter->lane],
                  .innovation = filter->innovation[i],
                  .by_g = h.by_g,
                  .by_c = h.by_c,
                  .by_rest = data->summed ? 0 : data->pressure[i]};
}

/* What a weight gathers of a rest in the step to sample i. */
static inline double gathered(const conductance_data *data, const conductance_step *f, size_t i,
                              int healing) {
    return data->summed
               ? f->dt * (data->pressure[i - 1] + data->pressure[i] * f->healed[healing]) / 2
               : 0;
}

SHOT_WIDE void conductance_tails_find(const conductance_data *data, const conductance_step *steps,
                                      conductance_filter *filter) {
    conductance_tail x = {.gg = 0};
    for (size_t i = data->n; i-- > 0;) {
        const seen now = seen_at(data, filter, i);
        if (i + 1 < data->n) {
            const conductance_step *f = &steps[i + 1];
            for (int k = 0; k < CONDUCTANCE_HEALINGS; k++)
                move_rest(f, &x, k, gathered(data, f, i + 1, k), &x.rest[k]);
            move_states(f, &x);
        }
        see_sample(&now, &x);
        filter->tails[i] = x;
    }
}

double conductance_tail_along(const conductance_tail *x, const conductance_behind *z, int lane) {
    return x->g * z->g[lane] + x->d * z->d[lane] + x->c * z->c[lane] + x->e * z->e[lane] +
           x->rest[z->healing[lane]].r * z->rest[lane];
}

double conductance_tail_common(const conductance_tail *x, const conductance_behind *a,
                               const conductance_behind *b, int lane) {
    const tail_rest *rest = &x->rest[a->healing[lane]];
    const double g = b->g[lane], d = b->d[lane], c = b->c[lane], e = b->e[lane], r = b->rest[lane];
    return a->g[lane] * (x->gg * g + x->gd * d + x->gc * c + x->ge * e + rest->rg * r) +
           a->d[lane] * (x->gd * g + x->dd * d + x->dc * c + x->de * e + rest->rd * r) +
           a->c[lane] * (x->gc * g + x->dc * d + x->cc * c + x->ce * e + rest->rc * r) +
           a->e[lane] * (x->ge * g + x->de * d + x->ce * c + x->ee * e + rest->re * r) +
           a->rest[lane] *
               (rest->rg * g + rest->rd * d + rest->rc * c + rest->re * e + rest->rr * r);
}
