/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is done at the scale while a shot is logged. */
#include "puck/scale_leaps.h"

#include <math.h>

#include <shottrace/signal/straight_line.h>

#include "puck/cup_touch.h"
#include "puck/water_counter.h"
#include "signal/held_values.h"

/* All of these are common practice, no source; water_fastest ml/s weigh as many g/s. */
static const double sudden = 0.25; /* s: no puck opens, gushes and shuts again in less */
static const double leans = 5;     /* s: longest for which somebody leans on a cup */
static const double settles = 2;   /* s: hands are off and a scale's own smoothing is over */
static const double likely = 2;    /* standard errors of an interval of 95 % */
static const double certain = 5;   /* standard deviations that noise does not reach */
enum { FEW = 4, SEVERAL = 5 };

void scale_samples_take(const double *t, const double *y, size_t n, double step,
                        const shot_noise *noise, double *work, scale_samples *out) {
    double stand;
    size_t figures = 1;
    *out = (scale_samples){t, y, n, step, noise->sd, noise->spacing};
    if (!held_look(t, y, n, step, noise->sd, work, &stand))
        return;
    for (size_t i = 1; i < n; i++)
        figures += y[i] != y[i - 1];
    out->stand = fmax(out->stand, isnan(stand) ? (t[n - 1] - t[0]) / (double)figures : stand);
}

static double window(const scale_samples *scale) {
    return fmax(CUP_JUDGED_OVER, FEW * scale->stand);
}

/* What noise and rounding do to the difference of two figures, and drops. */
static double limit(const scale_samples *scale) {
    return fmax(CUP_LEAST_CHANGE, fmax(certain * sqrt(2) * scale->sd, 2 * scale->step));
}

/* A line through a few samples; slope 0, and not known, where they are too few. */
typedef struct run {
    double level, slope; /* g at the time asked for, g/s */
    double level_se, slope_se;
    double scatter; /* g about it */
    size_t n;       /* samples, where they are enough to tell the slope; else 0 */
} run;

/* Through samples first..end - 1, at the time `at`. */
static run run_of(const scale_samples *scale, size_t first, size_t end, double at) {
    const double *t = scale->t + first, *y = scale->y + first;
    const size_t n = end - first;
    shot_straight_line line;
    double sum = 0;
    if (n >= FEW && shot_straight_line_fit(t, y, n, t[0], t[n - 1], &line) == SHOT_OK) {
        const double away = at - line.centre, se = fmax(line.sd, scale->sd) / sqrt((double)n);
        const double ratio = line.sd > 0 ? line.slope_se / line.sd : 0;
        const double slope_se = fmax(line.slope_se, scale->sd * ratio);
        return (run){.level = line.level + line.slope * away,
                     .slope = line.slope,
                     .level_se = hypot(fmax(line.level_se, se), away * slope_se),
                     .slope_se = slope_se,
                     .scatter = line.sd,
                     .n = n};
    }
    for (size_t i = 0; i < n; i++)
        sum += y[i];
    return (run){.level = sum / (double)n, .level_se = fmax(scale->sd, scale->step / 2)};
}

/* ---- one row ---- */

/* Since when the figure of sample i stands. */
static size_t stands_since(const scale_samples *scale, size_t i, size_t from) {
    while (i > from && scale->y[i - 1] == scale->y[i])
        i--;
    return i;
}

static size_t back_from(const scale_samples *scale, size_t i, size_t from, double seconds) {
    const double t = scale->t[i] - seconds;
    while (i > from && scale->t[i - 1] >= t)
        i--;
    return i;
}

/* What may have come unseen before sample i + 1: a figure that stood while the stream ran. */
static double held_back(const scale_samples *scale, size_t i, size_t from) {
    const size_t since = stands_since(scale, i, from);
    const double time = scale->t[i] - scale->t[since];
    if (since == from || time <= scale->stand)
        return 0;
    const size_t first = back_from(scale, since, from, window(scale));
    const run before = run_of(scale, first, since + 1, scale->t[since]);
    return fmax(before.slope, 0) * time;
}

/* The last sample that comes at once behind sample i: the next, or more of a fast log. */
static size_t at_once(const scale_samples *scale, size_t i) {
    size_t k = i + 1;
    while (k + 1 < scale->n && scale->t[k + 1] - scale->t[i] <= sudden)
        k++;
    return k;
}

/* The rate from one sample to a later one, g/s. */
static double rate(const scale_samples *scale, size_t i, size_t k) {
    return k > i ? (scale->y[k] - scale->y[i]) / (scale->t[k] - scale->t[i]) : 0;
}

static size_t on_from(const scale_samples *scale, size_t i, double seconds) {
    const double t = scale->t[i] + seconds;
    while (i + 1 < scale->n && scale->t[i + 1] <= t)
        i++;
    return i;
}

/* Does the weight change at once behind sample i by more than noise beside what it does before and
 * behind, and, upward, by more than a stream could bring in a row that takes long? */
static bool is_sudden(const scale_samples *scale, size_t i) {
    const size_t k = at_once(scale, i);
    const double change = scale->y[k] - scale->y[i], time = scale->t[k] - scale->t[i];
    const double most = limit(scale);
    if (fabs(change) <= most || (change > 0 && time > sudden && change <= water_fastest * time))
        return false;
    const double before = rate(scale, back_from(scale, i, 0, window(scale)), i);
    const double behind = rate(scale, k, on_from(scale, k, window(scale)));
    const double brought = fmax(fmax(before, behind), 0) * fmax(time, scale->stand);
    return change > 0 ? change - brought > most : change < -most;
}

/* The last sample before such a change, at `from` or later: the row behind it brings half of the
 * most that one brings, and more, and the row before it does not. */
static size_t last_before(const scale_samples *scale, size_t i, size_t from) {
    const double *y = scale->y;
    const size_t k = at_once(scale, i);
    double most = 0;
    for (size_t j = i; j < k; j++)
        most = fmax(most, fabs(y[j + 1] - y[j]));
    while (fabs(y[i + 1] - y[i]) < most / 2)
        i++;
    while (i > from && fabs(y[i] - y[i - 1]) >= most / 2)
        i--;
    return i;
}

/* ---- what follows ---- */

/* The first sample behind what is done from sample i on: hands that go on within the time over
 * which a weight is judged do one thing. */
static size_t done_by(const scale_samples *scale, size_t i) {
    size_t done = i + 1;
    for (size_t k = i + 1; k + 1 < scale->n && scale->t[k] <= scale->t[done] + window(scale); k++)
        done = is_sudden(scale, k) ? at_once(scale, k) : done;
    return done;
}

/* The samples from b on over a window, to the next sudden change. */
static run run_behind(const scale_samples *scale, size_t b) {
    const double until = scale->t[b] + window(scale);
    size_t end = b + 1;
    while (end < scale->n && scale->t[end] <= until && !is_sudden(scale, end - 1))
        end++;
    return run_of(scale, b, end, scale->t[b]);
}

/* How evenly the weight can be expected to lie in first..end: as in the evenest window there. */
static double least_scatter(const scale_samples *scale, size_t first, size_t end) {
    double out = INFINITY;
    for (size_t b = first; b <= end; b++) {
        const run now = run_behind(scale, b);
        out = now.n > 0 ? fmin(out, now.scatter) : out;
    }
    return fmax(out, fmax(scale->sd, scale->step / 2));
}

/* A scatter about a line by n samples is off by sd / sqrt(2 (n - 2)) (large-sample rule; 95 % of
 * them lie below this). */
static double most_scatter(double sd, size_t n) {
    return sd * (1 + 1.645 / sqrt(2 * ((double)n - 2)));
}

/* The first sample behind a leap at sample i from which the scale has settled: it lies evenly about
 * a line.  What noise hides then of its own smoothing is gone after as long again. */
static size_t settled_from(const scale_samples *scale, size_t i, run *behind) {
    const size_t done = done_by(scale, i), end = on_from(scale, done, settles);
    const double least_one = least_scatter(scale, done, end);
    size_t settled = done;
    for (size_t b = done; b <= end; b++) {
        *behind = run_behind(scale, b);
        if (behind->n > 0 && behind->scatter <= most_scatter(least_one, behind->n)) {
            settled = on_from(scale, b, scale->t[b] - scale->t[done]);
            break;
        }
    }
    *behind = run_behind(scale, settled);
    return settled;
}

/* What lies between two runs beyond what the stream brings: it ran as before or as behind, or
 * changed from the one to the other at any time.  What the scale had still to settle may hide in
 * the scatter behind it. */
static void measure(const run *before, const run *behind, double time, scale_leap *out) {
    const double first = before->n > 0 ? before->slope : behind->slope;
    const double second = behind->n > 0 ? behind->slope : first;
    const double doubt = fabs(second - first) * time / 2;
    out->size = behind->level - before->level - (first + second) / 2 * time;
    out->half = doubt + likely * hypot(hypot(before->level_se, behind->level_se), behind->scatter);
}

static bool is_at_rest(const run *of) {
    return of->slope <= likely * of->slope_se;
}

/* A hand that leaned on the cup shows when it lets go: the scale rests as it did a few seconds
 * before.  That is no leap, as the hand came too slowly for one. */
static bool is_hand_that_goes(const scale_samples *scale, size_t from, const scale_leap *leap,
                              const run *behind) {
    const double level = behind->level + limit(scale) / 2;
    const size_t first = back_from(scale, leap->before, from, leans);
    size_t i = leap->before;
    if (leap->size > 0 || !is_at_rest(behind))
        return false;
    while (i > first && scale->y[i] > level)
        i--;
    const run then = run_of(scale, back_from(scale, i, from, window(scale)), i + 1, scale->t[i]);
    return scale->y[i] <= level && is_at_rest(&then);
}

/* The change behind sample i, where it is a leap; only samples from `from` on count. */
static bool is_leap(const scale_samples *scale, size_t from, size_t i, scale_leap *out) {
    run behind;
    const run before = run_of(scale, back_from(scale, i, from, window(scale)), i + 1, scale->t[i]);
    *out = (scale_leap){.before = i, .after = settled_from(scale, i, &behind)};
    measure(&before, &behind, scale->t[out->after] - scale->t[i], out);
    const double up = out->size > 0 ? held_back(scale, i, from) : 0;
    return fabs(out->size) > limit(scale) + out->half + up &&
           !is_hand_that_goes(scale, from, out, &behind);
}

bool scale_next_leap(const scale_samples *scale, size_t from, scale_leap *out) {
    for (size_t i = from; i + 1 < scale->n; i++) {
        if (!is_sudden(scale, i))
            continue;
        if (is_leap(scale, from, last_before(scale, i, from), out))
            return true;
        from = out->after; /* a knock */
        i = from - 1;
    }
    return false;
}

size_t scale_join(const scale_samples *scale, double *t, double *y) {
    scale_samples left = *scale; /* what is still as it came */
    scale_leap leap = {0};
    double taken = 0;
    size_t kept = 0, next = 0;
    bool more = true;
    while (more) {
        more = scale_next_leap(&left, leap.after, &leap);
        const size_t end = more ? leap.before + 1 : left.n;
        for (; next < end; next++, kept++) {
            t[kept] = t[next];
            y[kept] = y[next] - taken;
        }
        next = more ? leap.after : next;
        taken += more ? leap.size : 0;
    }
    return kept;
}

size_t scale_hangs(const scale_samples *scale, double until) {
    size_t end = scale->n;
    while (end > 0 && scale->t[end - 1] > until)
        end--;
    if (end == 0)
        return scale->n;
    const size_t since = stands_since(scale, end - 1, 0);
    const double time = scale->t[end - 1] - scale->t[since];
    const size_t first = back_from(scale, since, 0, window(scale));
    const run before = run_of(scale, first, since + 1, scale->t[since]);
    const double slope = before.slope - likely * before.slope_se;
    const bool long_enough = time >= fmax(CUP_JUDGED_OVER, SEVERAL * scale->stand);
    const double unseen = SEVERAL * fmax(scale->step, scale->sd);
    return before.n > 0 && long_enough && slope * time > unseen ? since : scale->n;
}
