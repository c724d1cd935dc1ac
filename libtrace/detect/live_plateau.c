/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The pressure at the puck has come up: told while samples arrive. */
#include "detect/live_plateau.h"

#include <math.h>

static const double every = 0.05;   /* s between looks */
static const double window = 0.5;   /* s */
static const double longest = 1.0;  /* s, where noise or a slow log needs it */
static const double slowing = 0.1;  /* of the level in a second: the rise is over */
static const double sure = 2;       /* SD of the slope: a chance of 2 % at each look */
static const double excess = 0.03;  /* of the level, by which a plateau may be exceeded */
static const double falling = 0.08; /* of the level in a second: no plateau or slow peak falls so */
static const double reached = 0.95; /* of the level: the end of the preinfusion */
static const double main_share = 0.6; /* of the highest level: less is no main plateau */
static const double brewing =
    5.5;                          /* bar: pre-wetting is held at less; common practice, no source */
static const double strong = 0.6; /* of the highest flow so far: the basket fills */
static const size_t lines_kept = 40; /* over which the noise is averaged: two seconds */
static const double held = 3;        /* s that a plateau must hold */

/* The straight line through the last seconds: level in their middle, scatter of the samples about
 * it, sum of squares of their times. */
typedef struct line {
    double n, level, slope, variance, spread;
} line;

typedef struct view {
    const double *t, *p, *q;
    size_t n;
    double rest, k;
} view;

/* The first row of the last seconds. */
static size_t first_of(const view *v, double seconds) {
    size_t i = v->n;
    while (i > 0 && v->t[i - 1] >= v->t[v->n - 1] - seconds)
        i--;
    return i;
}

/* The last flow that was logged before row i; a meter may have news less often than the gauge. */
static double flow_before(const view *v, size_t i) {
    for (size_t k = i; v->q != NULL && k-- > 0 && v->t[k] > v->t[i] - 1;)
        if (!isnan(v->q[k]))
            return v->q[k];
    return 0;
}

/* What the restrictor takes off; pressure at the puck is never below nothing. */
static double at_puck(const view *v, double p, double q) {
    double shown = p - v->rest;
    return v->k > 0 && q > 0 ? fmax(shown - v->k * q * q, fmin(shown, 0)) : shown;
}

static line line_over(const view *v, double seconds) {
    size_t first = first_of(v, seconds);
    double now = v->t[v->n - 1], q = flow_before(v, first);
    double n = 0, st = 0, sy = 0, stt = 0, sty = 0, syy = 0;
    for (size_t i = first; i < v->n; i++) {
        q = v->q != NULL && !isnan(v->q[i]) ? v->q[i] : q;
        if (isnan(v->p[i]))
            continue;
        double t = v->t[i] - now, y = at_puck(v, v->p[i], q);
        n++, st += t, sy += y, stt += t * t, sty += t * y, syy += y * y;
    }
    double spread = stt - st * st / n, with = sty - st * sy / n, slope = with / spread;
    double left = fmax(0, syy - sy * sy / n - slope * with);
    return (line){n, sy / n, slope, left / (n - 2), spread};
}

/* ---- the restrictor ---- */

/* p and q are means over the window, where the log has both. */
static void learn_restrictor(live_plateau *plateau, const view *v) {
    double p = 0, q = 0, n = 0, now = v->t[v->n - 1];
    if (plateau->puck_gauge || v->q == NULL)
        return;
    for (size_t i = v->n; i-- > 0 && v->t[i] >= now - window;)
        if (!isnan(v->p[i]) && !isnan(v->q[i]))
            p += v->p[i] - v->rest, q += v->q[i], n++;
    q /= n;
    if (!(n >= 3))
        return;
    plateau->top_flow = fmax(plateau->top_flow, q);
    if (q < strong * plateau->top_flow || q < 1)
        return;
    double ratio = fmax(p / n, 0) / (q * q);
    plateau->k = plateau->k > 0 || plateau->looked ? fmin(plateau->k, ratio) : ratio;
    plateau->looked = true;
}

/* ---- the plateau ---- */

/* When the puck last came over 95 % of `level`: between two samples. */
static double crossing(const view *v, double level) {
    size_t first = first_of(v, 2 * held);
    double at = v->t[first], below = NAN, q = flow_before(v, first);
    for (size_t i = first; i < v->n; i++) {
        q = v->q != NULL && !isnan(v->q[i]) ? v->q[i] : q;
        if (isnan(v->p[i]))
            continue;
        bool over = at_puck(v, v->p[i], q) >= reached * level;
        if (over && !isnan(below))
            at = (below + v->t[i]) / 2;
        below = over ? NAN : v->t[i];
    }
    return at;
}

static double slope_se(const live_plateau *plateau, const line *one) {
    return sqrt(plateau->noise / one->spread);
}

/* The first plateau is told when the rise has slowed down; what takes its place must be flat. */
static bool is_flat(const live_plateau *plateau, const line *one) {
    double most = (plateau->level > 0 ? excess : slowing) * one->level;
    return one->slope + sure * slope_se(plateau, one) < most && one->slope > -falling * one->level;
}

/* Has the pressure gone beyond what the plateau told may be exceeded by? */
static bool outgrown(const live_plateau *plateau, const line *one, double now) {
    double level = plateau->level, slack = 2 * sqrt(plateau->noise / fmax(one->n, 1));
    return one->level > level / main_share ||
           (now < plateau->told_t + held && one->level > (1 + excess) * level + slack);
}

/* A line is as long as its slope needs to be told from the greatest of a plateau. */
static line good_line(const live_plateau *plateau, const view *v) {
    double spacing = v->n > 1 ? v->t[v->n - 1] - v->t[v->n - 2] : window;
    double seconds = fmax(window, 3.5 * spacing);
    line one = line_over(v, seconds);
    while (seconds < longest && 2 * sure * slope_se(plateau, &one) > slowing * one.level) {
        seconds *= 1.25;
        one = line_over(v, seconds);
    }
    return one;
}

/* The scatter about a line is noise, but where the pressure turns: then it counts little. */
static void learn_noise(live_plateau *plateau, const line *one) {
    if (!(one->n >= 4))
        return;
    if (plateau->lines < lines_kept)
        plateau->lines++;
    double most = plateau->lines > 3 ? 4 * plateau->noise : INFINITY;
    plateau->noise += (fmin(one->variance, most) - plateau->noise) / (double)plateau->lines;
}

/* Does the line look like the plateau that is looked for? */
static bool is_plateau(const live_plateau *plateau, const line *one, double now) {
    if (plateau->level > 0 && !outgrown(plateau, one, now))
        return false;
    return one->level > brewing && is_flat(plateau, one);
}

bool live_plateau_look(live_plateau *plateau, const double *t, const double *p, const double *q,
                       size_t n, double rest) {
    view v = {t, p, q, n, rest, plateau->k};
    double now = t[n - 1];
    if (isnan(p[n - 1]) || now < plateau->next_look)
        return false;
    plateau->next_look = now + every * 0.999;
    learn_restrictor(plateau, &v);
    v.k = plateau->k;
    line one = good_line(plateau, &v);
    learn_noise(plateau, &one);
    if (!(one.n >= 4) || !is_plateau(plateau, &one, now))
        return false;
    plateau->level = one.level;
    plateau->at = crossing(&v, one.level);
    plateau->told_t = now;
    return true;
}
