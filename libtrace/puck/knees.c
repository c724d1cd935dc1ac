/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Slope breaks of a noise-free pressure: the instants of greatest change between the slopes just
 * before and just after.
 *
 * With d(h) = slope over the next h minus slope over the last h seconds, a break has the same d
 * for every small h, while d of a smooth bend shrinks with h.  So a knee is a local maximum of
 * |d(h)| that is large enough to matter and not much smaller than |d(2 h)|, with h = 0.2 s or,
 * where pump and gauge round it off, 0.5 s; a rounded one has its own strongest change within
 * 0.25 s of its place, so that it is no end of a window in a curve behind an edge.  Of the bends,
 * which have no instant of their own, those that matter become notes, so that nobody is blamed for
 * finding a knee there. */
#include "puck/knees.h"

#include <math.h>
#include <string.h>

enum { NEAR = 20, WIDE = 50 };                 /* h in steps: 0.2 and 0.5 s */
enum { FINE = 5 };                             /* 0.05 s: to tell two breaks that stand close */
enum { APART = 30 };                           /* steps between two sharp knees of one sign */
static const double LEAST_CHANGE = 0.15;       /* bar/s */
static const double LEAST_FINAL_CHANGE = 0.05; /* bar/s, where the final rise begins */
static const double LEAST_BEND = 0.3;          /* bar/s */
static const double SHARPNESS = 0.7; /* d(0.2 s) / d(0.4 s): 1 for a break, 0.5 for a bend */
static const double LEAST_FINAL = 0.08, MOST_FINAL = 1.2; /* bar: a small final rise */

static const char BEND[] = "a bend, not a knee";
static const char FINAL_RISE[] = "final rise";
static const char GENTLE_RISE[] = "a bend, not a knee: final rise";

static double gauge(const shot_recipe *recipe, const shot_moment *moment) {
    return recipe->machine.gauge_at_puck != 0 ? moment->puck : moment->pump;
}

/* Change of slope at moment i seen from `h` steps, bar/s.  Before the program starts the gauge is
 * at rest; behind its end nothing is known, and the change is 0. */
static double change(const shot_recipe *recipe, const shot_brew *brew, size_t i, size_t h) {
    if (i + h >= brew->count)
        return 0;
    const shot_moment *m = brew->moments;
    const double here = gauge(recipe, &m[i]);
    const double before = here - gauge(recipe, &m[i >= h ? i - h : 0]);
    const double after = gauge(recipe, &m[i + h]) - here;
    return (after - before) / ((double)h * SHOT_BREW_STEP);
}

/* Among changes of its own sign: the foot of a fast fall stands close behind its edge. */
static bool is_local_maximum(const shot_recipe *recipe, const shot_brew *brew, size_t i, size_t h,
                             size_t apart) {
    const double here = change(recipe, brew, i, h);
    const double sign = here < 0 ? -1 : 1;
    for (size_t k = i > apart ? i - apart : 0; k <= i + apart && k < brew->count; k++) {
        const double there = sign * change(recipe, brew, k, h);
        if (there > sign * here || (there == sign * here && k < i))
            return false;
    }
    return true;
}

/* Does d(h) hold when h is doubled? */
static bool is_sharp(const shot_recipe *recipe, const shot_brew *brew, size_t i, size_t h) {
    return fabs(change(recipe, brew, i, h)) >= SHARPNESS * fabs(change(recipe, brew, i, 2 * h));
}

static bool is_peak(const shot_recipe *recipe, const shot_brew *brew, size_t i, size_t h,
                    size_t apart, double least) {
    return fabs(change(recipe, brew, i, h)) >= least && is_local_maximum(recipe, brew, i, h, apart);
}

/* A gauge at the pump of a restricted machine stands below its final level while the headspace
 * fills; it starts its small final rise when pressure first comes to the puck. */
static double final_rise(const shot_recipe *recipe, const shot_brew *brew) {
    if (recipe->machine.gauge_at_puck != 0 || recipe->machine.jet == 0 || isnan(brew->main_rise))
        return NAN;
    size_t i = (size_t)(brew->main_rise / SHOT_BREW_STEP + 0.5);
    if (brew->moments[i].puck > 0)
        return NAN;
    while (i < brew->count && brew->moments[i].puck == 0)
        i++;
    const size_t later = i + (size_t)(4 / SHOT_BREW_STEP);
    if (later >= brew->count)
        return NAN;
    const double rise = brew->moments[later].pump - brew->moments[i].pump;
    return rise >= LEAST_FINAL && rise <= MOST_FINAL ? (double)i * SHOT_BREW_STEP : NAN;
}

static shot_status add(shot_truth_list *list, const char *kind, size_t i, double value,
                       const char *text) {
    const double t = (double)i * SHOT_BREW_STEP;
    return shot_truth_add(list, (shot_truth){kind, t, t, "pressure", value, "bar/s", text});
}

static bool has_knee_near(const shot_truth_list *list, size_t since, double seconds) {
    for (size_t k = since; k < list->count; k++)
        if (list->items[k].kind[0] == 'k' && fabs(list->items[k].from - seconds) < 0.5)
            return true;
    return false;
}

/* The start of the final rise is a knee by its cause, however gently the gauge shows it. */
static bool is_knee(const shot_recipe *recipe, const shot_brew *brew, size_t i, bool final) {
    const double least = final ? LEAST_FINAL_CHANGE : LEAST_CHANGE;
    return is_peak(recipe, brew, i, NEAR, APART, least) &&
           (final || is_sharp(recipe, brew, i, NEAR));
}

/* Is d(h) at `i` perhaps nothing but a stronger break of the other sign, h away, leaving the
 * window? */
static bool is_echo(const shot_recipe *recipe, const shot_brew *brew, size_t i, size_t h) {
    const double here = change(recipe, brew, i, h);
    const size_t near = h - h / 6, far = h + h / 6;
    for (size_t k = i > far ? i - far : 0; k <= i + far; k++) {
        const size_t distance = k > i ? k - i : i - k;
        const double there = distance < near ? 0 : change(recipe, brew, k, h);
        if (there * here < 0 && fabs(there) > 0.9 * fabs(here) &&
            is_local_maximum(recipe, brew, k, h, 3))
            return true;
    }
    return false;
}

/* The strongest change of the other sign within h of `i`. */
static size_t opposite(const shot_recipe *recipe, const shot_brew *brew, size_t i, size_t h) {
    const double sign = change(recipe, brew, i, h) < 0 ? 1 : -1;
    size_t place = i;
    double most = 0;
    for (size_t k = i > h + h / 6 ? i - h - h / 6 : 0; k <= i + h + h / 6; k++)
        if (sign * change(recipe, brew, k, h) > most) {
            most = sign * change(recipe, brew, k, h);
            place = k;
        }
    return place;
}

/* The place of the break of this sign within h of `i`, seen from close by and clear of the break of
 * the other sign; brew->count if there is none. */
static size_t close_break(const shot_recipe *recipe, const shot_brew *brew, size_t i, size_t h) {
    const double here = change(recipe, brew, i, h);
    const size_t other = opposite(recipe, brew, i, h);
    size_t place = brew->count;
    double most = fabs(here) / 2;
    for (size_t k = i > h ? i - h : 0; k <= i + h; k++) {
        const double there = (here < 0 ? -1 : 1) * change(recipe, brew, k, FINE);
        if (there > most && (k > other ? k - other : other - k) > FINE + 1) {
            most = there;
            place = k;
        }
    }
    return place;
}

static shot_status add_sharp(const shot_recipe *recipe, const shot_brew *brew, size_t i, bool final,
                             shot_truth_list *list) {
    const double value = change(recipe, brew, i, NEAR);
    if (!is_echo(recipe, brew, i, NEAR))
        return add(list, "knee", i, value, final ? FINAL_RISE : "");
    const size_t place = close_break(recipe, brew, i, NEAR);
    return place < brew->count ? add(list, "knee", place, value, "")
                               : add(list, "note", i, value, BEND);
}

/* Is the change of slope concentrated about `i`?  In a curve that falls away from an edge d(h) is
 * the larger the nearer the edge, and its largest where the window just leaves the edge out is of
 * the window's making. */
static bool has_own_centre(const shot_recipe *recipe, const shot_brew *brew, size_t i) {
    const double sign = change(recipe, brew, i, WIDE) < 0 ? -1 : 1;
    size_t place = i;
    double most = -INFINITY;
    for (size_t k = i > WIDE / 2 ? i - WIDE / 2 : 0; k <= i + WIDE / 2; k++) {
        const double there = sign * change(recipe, brew, k, NEAR);
        if (there > most) {
            most = there;
            place = k;
        }
    }
    return place + WIDE / 2 > i && place < i + WIDE / 2;
}

static shot_status add_rounded(const shot_recipe *recipe, const shot_brew *brew, size_t i,
                               shot_truth_list *list) {
    const bool knee = is_sharp(recipe, brew, i, WIDE) && !is_echo(recipe, brew, i, WIDE) &&
                      has_own_centre(recipe, brew, i);
    return add(list, knee ? "knee" : "note", i, change(recipe, brew, i, WIDE), knee ? "" : BEND);
}

/* Where pressure comes to the puck but the gauge shows no knee, as the rise is no more than the end
 * of its ramp, the place is a note. */
static shot_status add_gentle_rise(const shot_recipe *recipe, const shot_brew *brew, double rise,
                                   size_t since, shot_truth_list *list) {
    if (isnan(rise))
        return SHOT_OK;
    for (size_t k = since; k < list->count; k++)
        if (strcmp(list->items[k].note, FINAL_RISE) == 0)
            return SHOT_OK;
    const size_t i = (size_t)(rise / SHOT_BREW_STEP + 0.5);
    return add(list, "note", i, change(recipe, brew, i, NEAR), GENTLE_RISE);
}

/* Breaks, sharp ones first; then what is rounded, as a knee or as a note. */
shot_status knees_find(const shot_recipe *recipe, const shot_brew *brew, shot_truth_list *list) {
    const double rise = final_rise(recipe, brew);
    const size_t since = list->count;
    for (size_t i = 0; i + 2 * NEAR < brew->count; i++) {
        const bool final =
            fabs((double)i * SHOT_BREW_STEP - rise) < 0.3 && change(recipe, brew, i, NEAR) > 0;
        if (is_knee(recipe, brew, i, final))
            SHOT_TRY(add_sharp(recipe, brew, i, final, list));
    }
    SHOT_TRY(add_gentle_rise(recipe, brew, rise, since, list));
    for (size_t i = 0; i + 2 * WIDE < brew->count; i++)
        if (is_peak(recipe, brew, i, WIDE, WIDE, LEAST_BEND) &&
            !has_knee_near(list, since, (double)i * SHOT_BREW_STEP))
            SHOT_TRY(add_rounded(recipe, brew, i, list));
    return SHOT_OK;
}
