/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The pressure at the puck has come up: told while samples arrive. */
#include "detect/live_plateau.h"

#include <math.h>

#include "detect/brewing.h"
#include "detect/course.h"
#include "signal/wide.h"

static const double every = 0.05;  /* s between looks */
static const double window = 0.4;  /* s */
static const double longest = 0.6; /* s, where noise needs it, or four samples of a slow gauge */
static const double soon = 0.8;    /* s in which three samples must come, or two have to do */
static const double sure = 1;      /* SD of the slope by which the rise may be more than it looks */
static const double falling = 0.08; /* of the level in a second: no plateau or slow peak falls so */
static const double strong = 0.6;   /* of the highest flow so far: the basket fills */
static const double moved = 0.2;    /* s by which a mark must move to be told again */
static const double clear_rise = 0.5;    /* bar by which a pressure rises that is no noise */
static const double longest_pulse = 1.5; /* s; common practice, no source */
static const double longer = 1.1;        /* times the longest pulse so far: none of its kind */
static const size_t lines_kept = 40;     /* over which the noise is followed: two seconds */

/* More of the definition of the first main plateau (detect/brewing.h), and what is called reached.
 */
static const double excess = 0.03, reached = 0.95;

/* The straight line through some samples: level at its end, scatter of the samples about it, sum of
 * squares of their times. */
typedef struct line {
    double n, level, slope, variance, spread;
} line;

typedef struct view {
    const double *t, *p, *q;
    size_t n;
    double rest, k;
    double spacing; /* s between samples; this and the next are set by those who fit lines */
    double length;  /* s of samples that make a line */
} view;

static view view_of(const live_plateau *plateau, const double *t, const double *p, const double *q,
                    size_t n, double rest) {
    return (view){.t = t, .p = p, .q = q, .n = n, .rest = rest, .k = plateau->k};
}

/* The usual time between samples of the gauge: the middle one of the last three, since one may have
 * been lost.  Rows without any lie between them where a scale has its own. */
static double spacing_of(const view *v) {
    double gap[3] = {window, window, window}, later = NAN;
    int gaps = 0;
    for (size_t i = v->n; i-- > 0 && gaps < 3;) {
        if (isnan(v->p[i]))
            continue;
        if (!isnan(later))
            gap[gaps++] = later - v->t[i];
        later = v->t[i];
    }
    return fmax(fmin(gap[0], gap[1]), fmin(fmax(gap[0], gap[1]), gap[2]));
}

/* Four samples, or three where they come slowly. */
static double length_of_line(const view *v) {
    double three = 2.5 * v->spacing, four = 3.5 * v->spacing;
    return fmax(window, fmin(four, fmax(longest, three)));
}

/* The first row from `time` on. */
static size_t first_of(const view *v, double time) {
    size_t i = v->n;
    while (i > 0 && v->t[i - 1] >= time)
        i--;
    return i;
}

/* The last flow that was logged before row i; a meter may have news less often than the gauge. */
static double flow_before(const view *v, size_t i) {
    const double from = v->t[i < v->n ? i : v->n - 1] - 1;
    for (size_t k = i; v->q != NULL && k-- > 0 && v->t[k] > from;)
        if (!isnan(v->q[k]))
            return v->q[k];
    return 0;
}

/* What the restrictor takes off; pressure at the puck is never below nothing. */
static double at_puck(const view *v, double p, double q) {
    double shown = p - v->rest;
    return v->k > 0 && q > 0 ? greater(shown - v->k * q * q, lesser(shown, 0)) : shown;
}

/* Over the samples after `from`, up to `to`. */
static line line_over(const view *v, double from, double to) {
    size_t first = first_of(v, nextafter(from, INFINITY));
    double q = flow_before(v, first);
    double n = 0, st = 0, sy = 0, stt = 0, sty = 0, syy = 0;
    for (size_t i = first; i < v->n && v->t[i] <= to; i++) {
        q = v->q != NULL && !isnan(v->q[i]) ? v->q[i] : q;
        if (isnan(v->p[i]))
            continue;
        double t = v->t[i] - to, y = at_puck(v, v->p[i], q);
        n++, st += t, sy += y, stt += t * t, sty += t * y, syy += y * y;
    }
    double spread = stt - st * st / n, with = sty - st * sy / n, slope = with / spread;
    double left = fmax(0, syy - sy * sy / n - slope * with);
    return (line){n, (sy - slope * st) / n, slope, left / (n - 2), spread};
}

/* ---- the restrictor ---- */

/* p and q are means over the window; a meter may have rows of its own. */
static void learn_restrictor(live_plateau *plateau, const view *v) {
    size_t first = first_of(v, v->t[v->n - 1] - v->length);
    double p = 0, q = 0, n = 0, flow = flow_before(v, first);
    if (plateau->puck_gauge || v->q == NULL)
        return;
    for (size_t i = first; i < v->n; i++) {
        flow = isnan(v->q[i]) ? flow : v->q[i];
        if (!isnan(v->p[i]))
            p += v->p[i] - v->rest, q += flow, n++;
    }
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

/* When the puck last came over `level`: between two samples, or at the first there is.  NaN if it
 * is not over it. */
static double crossing(const view *v, double level) {
    size_t first = first_of(v, v->t[v->n - 1] - 2 * shot_level_seconds);
    double at = NAN, below = NAN, q = flow_before(v, first);
    for (size_t i = first; i < v->n; i++) {
        q = v->q != NULL && !isnan(v->q[i]) ? v->q[i] : q;
        if (isnan(v->p[i]))
            continue;
        bool over = at_puck(v, v->p[i], q) >= level;
        if (over && (isnan(at) || !isnan(below)))
            at = isnan(below) ? v->t[i] : (below + v->t[i]) / 2;
        below = over ? NAN : v->t[i];
    }
    return isnan(below) ? at : NAN;
}

static double slope_se(const live_plateau *plateau, const line *one) {
    return sqrt(plateau->noise / one->spread);
}

/* How long the last line must be for its slope to be told from the greatest of a plateau: *one is
 * that of the usual length, and becomes that one. */
static double good_length(const live_plateau *plateau, const view *v, line *one) {
    double now = v->t[v->n - 1], seconds = v->length;
    while (seconds < longest && shot_level_seconds * slope_se(plateau, one) > excess * one->level) {
        seconds *= 1.25;
        *one = line_over(v, now - seconds, now);
    }
    return seconds;
}

/* The scatter about a line is noise, but where the pressure turns: followed is its median.  Three
 * samples are enough for one. */
static void learn_noise(live_plateau *plateau, const line *one) {
    if (!(one->n >= 3))
        return;
    if (plateau->lines < lines_kept)
        plateau->lines++;
    double step = 1 / (double)plateau->lines;
    if (plateau->lines <= 4)
        plateau->noise += (one->variance - plateau->noise) * step;
    else
        plateau->noise *= one->variance > plateau->noise ? 1 + step : 1 - step;
}

/* How much the pressure will still rise in the next 3 s: a rise that slows down does so by the same
 * share in the same time, as where a pump fills what yields through what resists (a first-order
 * lag); one that does not slow down goes on. */
static double still_to_come(double former_slope, double slope, double apart) {
    double slows = log(former_slope / slope);
    if (!(slope > 0))
        return 0;
    if (!(slows > 0))
        return former_slope > 0 ? INFINITY : shot_level_seconds * slope;
    double lag = apart / slows, now = slope * exp(-apart / 2 / lag);
    return now * lag * (1 - exp(-shot_level_seconds / lag));
}

/* The level of the plateau that the pressure comes to, by the last line, of so many seconds, and
 * one as long before it, if 95 % of it are surely reached already; else NaN.  It is the first that
 * is not exceeded by more than 3 %: so much less than the last. */
static double plateau_by(const live_plateau *plateau, const view *v, line one, double seconds) {
    double now = v->t[v->n - 1];
    const line before = line_over(v, now - 2 * seconds, now - seconds);
    double former = before.slope;
    double surely = one.slope + sure * slope_se(plateau, &one);
    double level = (one.level + still_to_come(former, one.slope, seconds)) / (1 + excess);
    double most = (one.level + still_to_come(former, surely, seconds)) / (1 + excess);
    if (!(one.n >= 3 || (one.n >= 2 && before.n >= 2)) || !(level > plateau->least) ||
        one.slope < -falling * one.level)
        return NAN;
    return one.level >= reached * most ? level : NAN;
}

/* By the last line of the usual length.  Three samples of a slow gauge tell of it surely, but late;
 * two may do. */
static double plateau_ahead(const live_plateau *plateau, const view *v, line one) {
    const double now = v->t[v->n - 1], seconds = good_length(plateau, v, &one);
    const double level = plateau_by(plateau, v, one, seconds), two = 1.75 * v->spacing;
    const bool late = 2.5 * v->spacing > soon;
    return isnan(level) && late ? plateau_by(plateau, v, line_over(v, now - two, now), two) : level;
}

/* Has the pressure gone beyond what the plateau told may be exceeded by? */
static bool outgrown(const live_plateau *plateau, const line *one, double now) {
    double end =
        one->level - 2 * sqrt(4 * plateau->noise / one->n); /* a line's end is worth n / 4 */
    return end > plateau->level / shot_main_share ||
           (now < plateau->told_t + shot_level_seconds && end > (1 + excess) * plateau->level);
}

/* A pulse of the pump comes to a level too, but does not stay there. */
static void forget_pulse(live_plateau *plateau, const line *one, double now) {
    if (plateau->level > 0 && now < plateau->at + shot_brewed &&
        one->level < shot_main_share * plateau->level)
        plateau->level = 0;
}

/* A pump that pulsed may do so again: for how long it ran.  What is up for longer is held. */
static void follow_pulses(live_plateau *plateau, const line *one, double now) {
    if (!(one->n >= 2))
        return;
    if (!plateau->running && one->level > plateau->trough + clear_rise) {
        plateau->running = true;
        plateau->rise_t = now;
        plateau->peak = -INFINITY;
    }
    if (!plateau->running) {
        plateau->trough = fmin(plateau->trough, one->level);
        return;
    }
    if (one->level > plateau->peak) {
        plateau->peak = one->level;
        plateau->peak_t = now;
    }
    if (one->level > shot_main_share * plateau->peak)
        return;
    const double ran = plateau->peak_t - plateau->rise_t;
    plateau->longest = ran < longest_pulse ? fmax(plateau->longest, ran) : plateau->longest;
    plateau->running = false;
    plateau->trough = one->level;
}

static bool may_be_pulse(const live_plateau *plateau, double now) {
    return plateau->longest > 0 && now < plateau->rise_t + longer * plateau->longest;
}

bool live_plateau_look(live_plateau *plateau, const double *t, const double *p, const double *q,
                       size_t n, double rest) {
    view v = view_of(plateau, t, p, q, n, rest);
    double now = t[n - 1];
    if (isnan(p[n - 1]) || now < plateau->next_look)
        return false;
    plateau->next_look = now + every * 0.999;
    v.spacing = spacing_of(&v);
    v.length = length_of_line(&v);
    learn_restrictor(plateau, &v);
    v.k = plateau->k;
    line one = line_over(&v, now - v.length, now);
    learn_noise(plateau, &one);
    forget_pulse(plateau, &one, now);
    follow_pulses(plateau, &one, now);
    double level = plateau_ahead(plateau, &v, one), at;
    if (isnan(level) || may_be_pulse(plateau, now) ||
        (plateau->level > 0 && !outgrown(plateau, &one, now)))
        return false;
    at = crossing(&v, reached * level);
    if (isnan(at) || (plateau->level > 0 && at < plateau->at + moved))
        return false;
    plateau->level = level;
    plateau->at = at;
    plateau->told_t = now;
    return true;
}

/* ---- the basket ---- */

/* Of the last two samples the one with less at the puck, since one may be a spike: what the gauge
 * shows, and what of it is at the puck. */
static double lowest_now(const view *v, double *shown) {
    double lowest = INFINITY;
    int seen = 0;
    for (size_t i = v->n; i-- > 0 && seen < 2;) {
        const double q = v->q != NULL && !isnan(v->q[i]) ? v->q[i] : flow_before(v, i);
        const double puck = isnan(v->p[i]) ? NAN : at_puck(v, v->p[i], q);
        seen += !isnan(puck);
        if (puck < lowest) {
            lowest = puck;
            *shown = v->p[i] - v->rest;
        }
    }
    return seen == 2 ? lowest : NAN;
}

double live_plateau_full(const live_plateau *plateau, const double *t, const double *p,
                         const double *q, size_t n, double rest) {
    const view v = view_of(plateau, t, p, q, n, rest);
    double shown = NAN;
    if (isnan(p[n - 1]) || !(plateau->puck_gauge || plateau->looked))
        return NAN;
    const double puck = lowest_now(&v, &shown);
    if (!(puck > fmax(shot_no_pressure, shown / 2) + sqrt(plateau->noise)))
        return NAN;
    return crossing(&v, fmax(shot_no_pressure, shown / 4));
}
