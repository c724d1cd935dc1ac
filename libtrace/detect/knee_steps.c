/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Steps between samples.
 *
 * A break is seen by the slopes on both sides of it, and these need samples.  Where a machine takes
 * less time from one line to the next than lies between two samples, the scan sees one strong break
 * or none.  But the chord between the samples is steeper than both lines, and that says that there
 * were two breaks, of opposite sign, within the interval: where in it, nobody can tell. */
#include "detect/knee_steps.h"

#include <math.h>
#include <stdlib.h>

#include <shottrace/signal/distribution.h>
#include <shottrace/signal/median.h>

#include "detect/knee_list.h"
#include "detect/knee_sizes.h"

/* In shorter intervals the narrowest windows of the scan see both breaks. */
static const double SHORTEST = 0.0625; /* s */
/* Of the slope of the chord.  One sample that is off makes two chords, and from each the line
 * through the three samples outside falls back by half of its slope. */
static const double MOST_BACK = 0.4;
/* Samples that flicker by a step move the ends of a chord by two, against a line that falls by one
 * step an interval: over two intervals, by four. */
enum { LEAST_STEPS = 5 };
enum { OUTSIDE = 3, MOST_INTERVALS = 2 };
enum { AROUND = 16 }; /* intervals on either side that tell how restless the channel is there */

typedef struct step {
    size_t from, to;             /* samples at its ends */
    double before, slope, after; /* slopes of the line before, the chord, the line after */
    double first, last;          /* changes of slope */
    double first_se, last_se;
} step;

static double chord(const shot_channel_view *view, size_t a, size_t b) {
    return (view->y[b] - view->y[a]) / (view->t[b] - view->t[a]);
}

/* Slope of the line through OUTSIDE samples from `from` on, and its standard error; false where
 * their times do not fix it. */
static bool slope_of(const shot_channel_view *view, const line_sums *sums, size_t from,
                     double *slope, double *se) {
    line_fit line;
    if (!line_sums_line(sums, from, from + OUTSIDE, &line))
        return false;
    *slope = line.slope;
    *se = view->noise.sd / sqrt(line.sxx);
    return true;
}

/* The smaller of two changes where they have one sign, else 0. */
static double lesser(double a, double b) {
    return a * b <= 0 ? 0 : fabs(a) < fabs(b) ? a : b;
}

/* The chord is held against the lines outside and against the chords next to it, in case these
 * lines bend. */
static bool measure(const shot_channel_view *view, const line_sums *sums, size_t from, size_t to,
                    step *out) {
    double before_se, after_se;
    const double chord_se = sqrt(2) * view->noise.sd / (view->t[to] - view->t[from]);
    *out = (step){.from = from, .to = to, .slope = chord(view, from, to)};
    if (from + 1 < OUTSIDE || to + OUTSIDE > view->n ||
        !slope_of(view, sums, from + 1 - OUTSIDE, &out->before, &before_se) ||
        !slope_of(view, sums, to, &out->after, &after_se))
        return false;
    out->first = lesser(out->slope - out->before, out->slope - chord(view, from - 1, from));
    out->last = lesser(out->after - out->slope, chord(view, to, to + 1) - out->slope);
    out->first_se = hypot(before_se, chord_se);
    out->last_se = hypot(after_se, chord_se);
    return true;
}

/* The changes of slope between neighbours, in standard errors of white noise: those at the first
 * end of the interval behind each sample, negative where none counts. */
static double *scores_of(const shot_channel_view *view, const line_sums *sums) {
    double *score = malloc(2 * view->n * sizeof *score); /* as much again to work with */
    step one;
    for (size_t i = 0; score != NULL && i < view->n; i++)
        score[i] = i + 1 < view->n && measure(view, sums, i, i + 1, &one)
                       ? fabs(one.first) / one.first_se
                       : -1;
    return score;
}

/* Knees that are known are no noise. */
static void leave_knees_out(const shot_channel_view *view, const shot_knee *knees, size_t count,
                            double *score) {
    for (size_t k = 0; k < count; k++) {
        const size_t i = shot_view_first(view, knees[k].at), end = i + OUTSIDE - 1;
        for (size_t j = i > OUTSIDE ? i - OUTSIDE : 0; j < end && j < view->n; j++)
            score[j] = -1;
    }
}

/* By how much those from sample `from` to before `to` exceed what white noise makes of them in the
 * middle: 1 or more. */
static double restlessness(double *score, size_t n, size_t from, size_t to) {
    double *work = score + n;
    size_t count = 0;
    for (size_t i = from; i < to; i++)
        if (score[i] >= 0)
            work[count++] = score[i];
    return count > 0 ? fmax(1, SHOT_MAD_TO_SD * shot_median(work, count)) : 1;
}

/* What a change of slope must exceed. */
typedef struct limits {
    double least, threshold, step; /* itself, in standard errors, and in steps of the channel */
    double restless;               /* what the whole channel adds to the threshold */
} limits;

/* Does the change stand out from the noise, and move the channel by more than its steps can? */
static bool stands_out(const shot_channel_view *view, const step *one, double change, double se,
                       const limits *over) {
    const double seconds = view->t[one->to] - view->t[one->from];
    return fabs(change) > over->threshold * se && fabs(change) >= over->least &&
           fabs(change) * seconds >= LEAST_STEPS * over->step;
}

static bool is_step(const shot_channel_view *view, const step *one, const limits *over) {
    return one->slope != 0 && one->first * one->last < 0 &&
           -one->before / one->slope <= MOST_BACK && -one->after / one->slope <= MOST_BACK &&
           stands_out(view, one, one->first, one->first_se, over) &&
           stands_out(view, one, one->last, one->last_se, over);
}

/* Is it one beside what goes on before it and behind it, whichever is the more restless?  On a
 * ramp, rows that are dated by a clock that is late now and then make chords of all slopes. */
static bool stands_out_there(const shot_channel_view *view, const step *one, const limits *over,
                             double *score) {
    const size_t n = view->n, begin = one->from + 1 > OUTSIDE ? one->from + 1 - OUTSIDE : 0;
    const size_t end = one->to + OUTSIDE < n ? one->to + OUTSIDE : n;
    const double before = restlessness(score, n, begin > AROUND ? begin - AROUND : 0, begin);
    const double behind = restlessness(score, n, end, end + AROUND < n ? end + AROUND : n);
    limits there = *over;
    there.threshold *= fmax(1, fmax(before, behind) / over->restless);
    return is_step(view, one, &there);
}

/* Does the sample between two intervals lie on neither line?  Else the step may be within one. */
static bool has_own_middle(const shot_channel_view *view, const step *one, const limits *over) {
    const double *t = view->t, *y = view->y;
    const double noise = over->threshold * sqrt(2) * view->noise.sd;
    const size_t m = one->from + 1;
    return fabs(y[m] - y[one->from] - one->before * (t[m] - t[one->from])) > noise &&
           fabs(y[m] - y[one->to] - one->after * (t[m] - t[one->to])) > noise;
}

/* The knee of that sign that the scan found there, the nearest to the interval; `count` if none. */
static size_t known_knee(const shot_channel_view *view, const step *one, const shot_knee *knee,
                         const shot_knee *knees, size_t count) {
    const double change = knee->after - knee->before;
    const double *t = view->t, from = t[one->from], to = t[one->to];
    const double low = fmin(t[one->from > 0 ? one->from - 1 : 0], from - SHOT_KNEE_APART);
    const double high =
        fmax(t[one->to + 1 < view->n ? one->to + 1 : one->to], to + SHOT_KNEE_APART);
    size_t best = count;
    double least = INFINITY;
    for (size_t i = 0; i < count; i++) {
        const double off = fabs(knees[i].at - 0.5 * (from + to));
        if (knees[i].at >= low && knees[i].at <= high &&
            (knees[i].after - knees[i].before) * change > 0 && off < least) {
            best = i;
            least = off;
        }
    }
    return best;
}

/* The breaks within one interval may be anywhere in it, the first one first: uniform places have
 * their means at 1/3 and 2/3.  Within two, the slope on the way is at least that of the steeper
 * chord, which leaves each break a part of its interval; its middle is the mean there. */
static void places(const shot_channel_view *view, const step *one, shot_knee *first,
                   shot_knee *last) {
    const double *t = view->t, *y = view->y, low = t[one->from], high = t[one->to];
    *first = (shot_knee){.at = low + (high - low) / 3, .low = low, .high = high};
    *last = (shot_knee){.at = high - (high - low) / 3, .low = low, .high = high};
    if (one->to - one->from == 1)
        return;
    const size_t m = one->from + 1;
    const double s1 = chord(view, one->from, m), s2 = chord(view, m, one->to);
    const double steeper = fabs(s2) > fabs(s1) ? s2 : s1;
    first->at = t[m] - 0.5 * (y[m] - y[one->from]) / steeper;
    last->at = t[m] + 0.5 * (y[one->to] - y[m]) / steeper;
    first->high = last->low = t[m];
}

/* Is sample i off the line through the OUTSIDE samples from `from` on?  (By two standard errors.)
 */
static bool is_off(const shot_channel_view *view, const line_sums *sums, size_t i, size_t from) {
    line_fit line;
    if (!line_sums_line(sums, from, from + OUTSIDE, &line))
        return true;
    const double u = sums->x[i] - line.mean_x;
    return fabs(sums->y[i] - line.level - line.slope * u) >
           2 * view->noise.sd * sqrt(1 + 1 / line.weight + u * u / line.sxx);
}

/* Where the sample at an end of the chord does not lie on the line outside, that break may be
 * beyond it. */
static void reach_out(const shot_channel_view *view, const line_sums *sums, const step *one,
                      shot_knee *first, shot_knee *last) {
    if (one->from >= OUTSIDE && is_off(view, sums, one->from, one->from - OUTSIDE))
        first->low = view->t[one->from - 1];
    if (one->to + OUTSIDE < view->n && is_off(view, sums, one->to, one->to + 1))
        last->high = view->t[one->to + 1];
}

/* Add a knee, or move the one that the scan found there.  That the break lies within the interval
 * says more than slopes over seconds: a scan that is less sure of its place, and puts it into the
 * interval next to this, saw the curve behind the step as well.  The range stays that of the scan,
 * in case the break is rounded. */
static void put(const shot_channel_view *view, const step *one, shot_knee knee, shot_knee *knees,
                size_t *count) {
    const size_t known = known_knee(view, one, &knee, knees, *count);
    if (known < *count) {
        shot_knee old = knees[known];
        if (old.high - old.low <= knee.high - knee.low || old.at < view->t[one->from - 1] ||
            old.at > view->t[one->to + 1])
            return;
        knee_list_remove(known, knees, count);
        old.at = knee.at;
        old.low = fmin(old.low, knee.low);
        old.high = fmax(old.high, knee.high);
        knee = old;
    }
    knee_list_insert(knee, knees, count);
}

static void add(const shot_channel_view *view, const line_sums *sums, const step *one,
                shot_knee *knees, size_t *count) {
    shot_knee first, last;
    places(view, one, &first, &last);
    reach_out(view, sums, one, &first, &last);
    first.level_here = view->y[one->from];
    last.level_here = view->y[one->to];
    first.before = one->before;
    first.after = last.before = one->slope;
    last.after = one->after;
    first.change_low = first.change_high = last.change_low = last.change_high = NAN;
    put(view, one, first, knees, count);
    put(view, one, last, knees, count);
}

/* Those over so many intervals. */
static void add_steps(const shot_channel_view *view, const line_sums *sums, size_t intervals,
                      bool own_middle, const limits *over, double *score, shot_knee *knees,
                      size_t *count) {
    step one;
    for (size_t from = 0; from + intervals < view->n; from++)
        if (view->t[from + intervals] - view->t[from] >= (double)intervals * SHORTEST &&
            measure(view, sums, from, from + intervals, &one) && is_step(view, &one, over) &&
            stands_out_there(view, &one, over, score) &&
            (!own_middle || has_own_middle(view, &one, over)))
            add(view, sums, &one, knees, count);
}

/* The surest first: over two intervals with a sample on the way, within one, and over two that the
 * noise does not tell from one. */
shot_status shot_knee_steps(const shot_channel_view *view, const line_sums *sums, double least,
                            double alarm_rate, shot_knee *knees, size_t *count) {
    const double n = (double)view->n, tests = 2 * MOST_INTERVALS * n;
    double *score = scores_of(view, sums);
    if (score == NULL)
        return SHOT_ERR_MEMORY;
    leave_knees_out(view, knees, *count, score);
    const double restless = restlessness(score, view->n, 0, view->n);
    const limits over = {.least = least,
                         .threshold =
                             restless * shot_student_quantile(1 - alarm_rate / 2 / tests, 0.4 * n),
                         .step = shot_channel_view_written_step(view),
                         .restless = restless};
    add_steps(view, sums, 2, true, &over, score, knees, count);
    add_steps(view, sums, 1, false, &over, score, knees, count);
    add_steps(view, sums, 2, false, &over, score, knees, count);
    free(score);
    return SHOT_OK;
}
