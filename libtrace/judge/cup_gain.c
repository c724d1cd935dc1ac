/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "judge/cup_gain.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/signal/noise.h>
#include <shottrace/signal/resolution.h>

#include "puck/cup_touch.h"
#include "puck/scale_leaps.h"

/* All of these are common practice, no source. */
static const double some = 1;       /* g: less is no cup, and no hand */
static const double moment = 0.3;   /* s in which a hand or a tare does what it does */
static const double level_of = 0.5; /* s of a mean */
static const double rate_of = 2;    /* s of a stream's rate */
static const double runs = 0.5;     /* g/s */
static const double long_still = 3; /* s without a drop, while the stream runs */
static const double least_drips = 3, drips_for = 4; /* g, and s at the rate before, after a stop */

/* The samples of the scale; what is done to them is done to gain->weight too. */
typedef struct scale {
    double *t, *y; /* owned, one block [n] each */
    size_t *row;   /* owned [n] */
    size_t n;
    cup_weight seen;
    scale_samples samples;
    cup_times when;
    cup_gain *gain;
} scale;

static void scale_free(scale *s) {
    free(s->t);
    free(s->row);
}

static shot_status scale_take(const shot_table *shot, scale *s) {
    const double *time = shot_table_column(shot, "time"), *weight = s->gain->weight;
    const size_t rows = shot->rows.rows;
    s->t = malloc((2 * rows + 1) * sizeof *s->t);
    s->row = malloc((rows + 1) * sizeof *s->row);
    if (s->t == NULL || s->row == NULL)
        return SHOT_ERR_MEMORY;
    s->y = s->t + rows;
    for (size_t i = 0; i < rows; i++)
        if (!isnan(weight[i])) {
            s->t[s->n] = time[i];
            s->row[s->n] = i;
            s->y[s->n++] = weight[i];
        }
    return SHOT_OK;
}

/* How it looks to who seeks a hand on it; with too few samples nobody can. */
static shot_status look(scale *s) {
    shot_noise noise;
    const double step = shot_resolution(s->y, s->n);
    double *work = malloc(shot_noise_workspace(s->n) * sizeof *work);
    if (work == NULL)
        return SHOT_ERR_MEMORY;
    const bool known = shot_noise_estimate(s->t, s->y, s->n, step, work, &noise) == SHOT_OK;
    if (known)
        scale_samples_take(s->t, s->y, s->n, step, &noise, work, &s->samples);
    free(work);
    const double spacing = (s->t[s->n - 1] - s->t[0]) / (double)(s->n - 1);
    s->seen = (cup_weight){s->t, s->y, s->n, known ? noise.spacing : spacing,
                           known ? cup_blur(noise.sd, noise.inflation, step) : 1.5 * step};
    return SHOT_OK;
}

static size_t first_from(const scale *s, double time) {
    size_t i = 0;
    while (i < s->n && s->t[i] < time)
        i++;
    return i;
}

/* The mean of the samples in the last half second up to sample i. */
static double level_at(const scale *s, size_t i) {
    double sum = 0, count = 0;
    for (size_t k = i + 1; k-- > 0 && s->t[i] - s->t[k] <= level_of;)
        sum += s->y[k], count++;
    return sum / count;
}

/* g/s up to sample i, or from it on; 0 without time. */
static double rate_before(const scale *s, size_t i) {
    size_t k = i;
    while (k > 0 && s->t[i] - s->t[k - 1] <= rate_of)
        k--;
    return k < i ? fmax(0, (s->y[i] - s->y[k]) / (s->t[i] - s->t[k])) : 0;
}

static double rate_after(const scale *s, size_t i) {
    size_t k = i;
    while (k + 1 < s->n && s->t[k + 1] <= fmin(s->t[i] + rate_of, s->when.stop))
        k++;
    return k > i ? fmax(0, (s->y[k] - s->y[i]) / (s->t[k] - s->t[i])) : 0;
}

/* ---- hands ---- */

/* Does water alone lead from sample i to the next, and to all that follow within a moment? */
static bool goes_on(const scale *s, size_t i) {
    for (size_t k = i + 1; k < s->n && (k == i + 1 || s->t[k] <= s->t[i] + moment); k++)
        if (!cup_may_lead(&s->seen, i, k))
            return false;
    return true;
}

/* Does it lead there from the one before, and from all within a moment? */
static bool comes_on(const scale *s, size_t i) {
    for (size_t k = i; k-- > 0 && (k + 1 == i || s->t[k] >= s->t[i] - moment);)
        if (!cup_may_lead(&s->seen, k, i))
            return false;
    return true;
}

/* From one sample to the next no more falls than noise does. */
static bool is_water(const scale *s, size_t i) {
    return s->y[i + 1] >= s->y[i] - s->seen.blur && cup_may_lead(&s->seen, i, i + 1);
}

/* The last sample from i on before a hand comes. */
static size_t last_before_hand(const scale *s, size_t i) {
    while (i + 1 < s->n && goes_on(s, i))
        i++;
    while (i + 1 < s->n && is_water(s, i))
        i++;
    return i;
}

/* The first sample, i or before it but behind `last`, that a hand has left. */
static size_t first_behind_hand(const scale *s, size_t last, size_t i) {
    while (i > last + 1 && comes_on(s, i))
        i--;
    while (i > last + 1 && is_water(s, i - 1))
        i--;
    return i;
}

static void forget(scale *s, size_t from, size_t to) {
    for (size_t i = from; i < to; i++)
        s->gain->weight[s->row[i]] = NAN;
}

static void take_off(scale *s, size_t from, double grams) {
    for (size_t i = from; i < s->n; i++) {
        s->y[i] -= grams;
        s->gain->weight[s->row[i]] -= grams;
    }
}

static void fall_silent(scale *s, size_t last) {
    s->gain->silent = s->t[last];
    forget(s, last + 1, s->n);
}

/* Where a hand next does something from sample i on: between `last` and `next`.  False where it
 * does nothing any more before `end`, or never lets go. */
static bool next_hand(const scale *s, size_t i, double end, size_t *last, size_t *next) {
    const size_t touched = cup_next_touch(&s->seen, i, true);
    scale_leap leap;
    if (scale_next_leap(&s->samples, i, &leap) && leap.before < touched) {
        *last = leap.before;
        *next = leap.after;
        return s->t[*last] < end;
    }
    if (touched >= s->n)
        return false;
    *last = last_before_hand(s, touched);
    const size_t away = cup_next_touch(&s->seen, touched, false);
    if (*last + 1 >= s->n || s->t[*last] >= end || away >= s->n)
        return false;
    *next = first_behind_hand(s, *last, away > *last + 1 ? away : *last + 1);
    return true;
}

/* Between the two samples a hand did something: what the scale shows from then on is less by that.
 * False where it shows no more of the stream. */
static bool take_hand_off(scale *s, size_t last, size_t next) {
    cup_gain *gain = s->gain;
    const double before = rate_before(s, last), after = rate_after(s, next);
    const double rest = fmin(s->when.stop, s->t[s->n - 1]) - s->t[next];
    if (before >= runs && after < before / 4 && rest >= rate_of) {
        fall_silent(s, last);
        return false;
    }
    const double ran =
        (rest > rate_of / 2 ? (before + after) / 2 : before) * (s->t[next] - s->t[last]);
    const double hand = s->y[next] - s->y[last] - ran;
    gain->touched = isnan(gain->touched) ? s->t[last] : gain->touched;
    gain->hands += hand;
    gain->missed += ran;
    forget(s, last + 1, next);
    take_off(s, next, hand);
    return true;
}

/* While the stream runs. */
static void take_hands_off(scale *s) {
    const double end = isnan(s->when.stop) ? INFINITY : s->when.stop;
    size_t last, next, i = first_from(s, s->when.water);
    while (next_hand(s, i, end, &last, &next) && take_hand_off(s, last, next))
        i = next;
}

/* After it the cup only drips.  Where somebody had it, and the scale does not show the cup in the
 * end, what it showed before that counts. */
static void end_with_stream(scale *s) {
    const size_t stop = first_from(s, s->when.stop);
    if (stop >= s->n)
        return;
    const double shown = level_at(s, stop), end = level_at(s, s->n - 1);
    if (end > shown - some && end < shown + least_drips + drips_for * rate_before(s, stop))
        return;
    const size_t last = last_before_hand(s, stop);
    if (last + 1 >= s->n)
        return;
    s->gain->left = s->t[last];
    forget(s, last + 1, s->n);
}

/* ---- a cup that nobody tared, and a scale that fell silent ---- */

/* What came onto the scale before sample `end` by water, and not by hand. */
static double gained_before(const scale *s, size_t end) {
    size_t first = 0, last, next;
    double gained = 0;
    for (; next_hand(s, first, s->t[end], &last, &next) && next < end; first = next)
        gained += s->y[last] - s->y[first];
    return gained + s->y[end] - s->y[first];
}

/* Where a stream shows before the water, it is the water whose time is wrong. */
static void take_before(scale *s) {
    const size_t water = first_from(s, s->when.water);
    if (water == 0 || water >= s->n || s->t[water - 1] - s->t[0] < level_of)
        return;
    const double before = level_at(s, water - 1);
    if (!(fabs(before) >= some) || fabs(gained_before(s, water - 1)) >= some)
        return;
    s->gain->before = before;
    take_off(s, 0, before);
}

static double mean_of(const shot_table *shot, const double *y, double from, double to) {
    const double *time = shot_table_column(shot, "time");
    double sum = 0, count = 0;
    for (size_t i = 0; i < shot->rows.rows && time[i] <= to; i++)
        if (time[i] >= from && !isnan(y[i]))
            sum += y[i], count++;
    return sum / count;
}

/* A scale that stands to the digit, or says nothing, while the meter shows that as much runs on. */
static void look_for_silence(scale *s, const shot_table *shot, const double *flow) {
    const double stop = s->when.stop;
    size_t i = first_from(s, stop);
    i = i < s->n ? i : s->n - 1;
    while (i > 0 && s->y[i - 1] == s->y[i])
        i--;
    if (!(stop - s->t[i] > long_still) || rate_before(s, i) < runs)
        return;
    if (flow == NULL || mean_of(shot, flow, s->t[i] + level_of, stop) >=
                            mean_of(shot, flow, s->t[i] - long_still, s->t[i]) / 2)
        fall_silent(s, i);
}

static shot_status seek(const shot_table *shot, const double *flow, scale *s) {
    SHOT_TRY(scale_take(shot, s));
    if (s->n < 5)
        return SHOT_OK;
    SHOT_TRY(look(s));
    if (!isnan(s->when.water))
        take_before(s);
    take_hands_off(s);
    if (isnan(s->gain->silent) && !isnan(s->when.stop)) {
        look_for_silence(s, shot, flow);
        end_with_stream(s);
    }
    return SHOT_OK;
}

shot_status cup_gain_find(const shot_table *shot, const double *flow, cup_times when,
                          cup_gain *out) {
    const double *weight = shot_table_column(shot, "weight");
    const size_t rows = shot->rows.rows;
    scale s = {.when = when, .gain = out};
    *out = (cup_gain){.water = when.water, .touched = NAN, .silent = NAN, .left = NAN};
    if (weight == NULL)
        return SHOT_OK;
    out->weight = malloc((rows + 1) * sizeof *out->weight);
    if (out->weight == NULL)
        return SHOT_ERR_MEMORY;
    memcpy(out->weight, weight, rows * sizeof *out->weight);
    const shot_status status = seek(shot, flow, &s);
    scale_free(&s);
    if (status != SHOT_OK)
        cup_gain_free(out);
    return status;
}

/* "18.1 s after the water", or of the log where nobody knows when that came. */
static shot_status say_time(const cup_gain *gain, double time, shot_text *words) {
    return isnan(gain->water)
               ? shot_text_add_format(words, "%.1f s of the log", time)
               : shot_text_add_format(words, "%.1f s after the water", time - gain->water);
}

/* WORDS, the time, and MORE, behind what was said before. */
static shot_status say(const cup_gain *gain, const char *words, double time, const char *more,
                       shot_text *out) {
    SHOT_TRY(shot_text_add_format(out, "%s%s", out->length > 0 ? "; " : "", words));
    SHOT_TRY(say_time(gain, time, out));
    return shot_text_add(out, more);
}

shot_status cup_gain_say(const cup_gain *gain, shot_text *words) {
    if (!isnan(gain->silent))
        SHOT_TRY(say(gain, "at least that: the scale shows no more of the stream from ",
                     gain->silent, " on", words));
    if (fabs(gain->hands) >= some || gain->missed >= some)
        SHOT_TRY(say(gain, "the scale leapt ", gain->touched,
                     " (a cup that was changed, tared or loaded): what it gained before and after "
                     "is added up",
                     words));
    if (!isnan(gain->left))
        SHOT_TRY(
            say(gain, "as the scale had it before the cup was touched, ", gain->left, "", words));
    if (gain->before == 0)
        return SHOT_OK;
    return shot_text_add_format(words, "%sthe %.1f g on the scale before the water are taken off",
                                words->length > 0 ? "; " : "", gain->before);
}

void cup_gain_free(cup_gain *gain) {
    free(gain->weight);
    *gain = (cup_gain){0};
}
