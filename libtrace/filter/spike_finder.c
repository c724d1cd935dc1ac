/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Spikes in one channel. */
#include "filter/spike_finder.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/signal/hampel.h>
#include <shottrace/signal/median.h>

#include "signal/scatter.h"

enum {
    EARLY = 5,    /* samples that tell how far apart they are */
    RECENT = 128, /* samples that tell how the channel scatters */
    HELD = 1024,  /* at least RECENT and a block */
    GAVE = 64,    /* samples that tell what a pump gave before; kept, since RECENT are */
    FEW = 16,     /* samples of a run of the pump that may look like a spike */
    LEAST = 4     /* samples in a window that has a median and a scatter worth the name */
};

/* A run of spikes is not longer than this, s: common practice, no source; a real pulse is. */
static const double longest = 0.12;

/* The jumps to a spike and back are at least this share of its height. */
static const double least_jump = 0.7;

typedef struct judged {
    double t, value, median;
    bool far;   /* from the median, and not decided yet */
    bool spike; /* decided */
} judged;

struct spike_finder {
    spike_rule rule;
    shot_hampel *by_time, *by_count, *now; /* `now` is one of the two, or NULL */
    double early_t[EARLY], early_y[EARLY];
    size_t early;
    double recent_t[HELD], recent_y[HELD]; /* the last samples, from number `base` on */
    size_t samples, base, start;           /* start: of the stretch */
    double residual[HELD]; /* of the sample behind each of these, if it is one of the `measured` */
    size_t measured;
    judged *queue; /* of what waits for the end of a run     [count], from `head` */
    size_t head, count, room;
    judged before; /* the last one handed out that is no spike */
    bool has_before, finished;
};

shot_status spike_finder_new(const spike_rule *rule, spike_finder **out) {
    *out = calloc(1, sizeof **out);
    if (*out == NULL)
        return SHOT_ERR_MEMORY;
    (*out)->rule = *rule;
    return SHOT_OK;
}

void spike_finder_free(spike_finder *finder) {
    if (finder == NULL)
        return;
    shot_hampel_free(finder->by_time);
    shot_hampel_free(finder->by_count);
    free(finder->queue);
    free(finder);
}

static void start_stretch(spike_finder *finder) {
    finder->now = NULL;
    finder->early = finder->head = finder->count = 0;
    finder->has_before = finder->finished = false;
    finder->start = finder->samples;
}

void spike_finder_reset(spike_finder *finder) {
    finder->samples = finder->base = finder->measured = 0;
    start_stretch(finder);
}

/* ---- which window ---- */

static double usual_spacing(const spike_finder *finder) {
    double spacing[EARLY - 1];
    for (size_t i = 0; i + 1 < finder->early; i++)
        spacing[i] = finder->early_t[i + 1] - finder->early_t[i];
    return shot_median(spacing, finder->early - 1);
}

/* A window in time must hold enough samples: six spacings, else two samples on either side. */
static shot_reach reach_of(const spike_finder *finder) {
    const shot_span *window = &finder->rule.window;
    if (window->samples) {
        const double half = floor(window->length / 2);
        return (shot_reach){half, half, true};
    }
    if (finder->early > 1 && !(usual_spacing(finder) <= window->length / 6))
        return (shot_reach){2, 2, true};
    return (shot_reach){window->length / 2, window->length / 2, false};
}

/* Choose the window of this stretch and hand over the samples that waited for it. */
static shot_status choose(spike_finder *finder) {
    const shot_reach reach = reach_of(finder);
    shot_hampel **one = reach.samples ? &finder->by_count : &finder->by_time;
    const shot_hampel_rule rule = {.reach = reach, .threshold = finder->rule.threshold};
    if (*one == NULL)
        SHOT_TRY(shot_hampel_new(&rule, one));
    shot_hampel_reset(*one);
    finder->now = *one;
    return shot_hampel_push_block(finder->now, finder->early_t, finder->early_y, finder->early);
}

static void remember(spike_finder *finder, const double *t, const double *y, size_t n) {
    size_t held = finder->samples - finder->base;
    if (held + n > HELD) {
        memmove(finder->recent_t, finder->recent_t + held - RECENT, RECENT * sizeof *t);
        memmove(finder->recent_y, finder->recent_y + held - RECENT, RECENT * sizeof *y);
        finder->measured = 0;
        held = RECENT;
    }
    memcpy(finder->recent_t + held, t, n * sizeof *t);
    memcpy(finder->recent_y + held, y, n * sizeof *y);
    finder->samples += n;
    finder->base = finder->samples - held - n;
}

shot_status spike_finder_push(spike_finder *finder, const double *t, const double *y, size_t n) {
    size_t first = 0;
    if (finder->finished)
        start_stretch(finder);
    remember(finder, t, y, n);
    for (; finder->now == NULL && first < n; first++) {
        finder->early_t[finder->early] = t[first];
        finder->early_y[finder->early++] = y[first];
        if (finder->early == EARLY)
            SHOT_TRY(choose(finder));
    }
    return n > first ? shot_hampel_push_block(finder->now, t + first, y + first, n - first)
                     : SHOT_OK;
}

shot_status spike_finder_finish(spike_finder *finder) {
    if (finder->now == NULL)
        SHOT_TRY(choose(finder));
    shot_hampel_finish(finder->now);
    finder->finished = true;
    return SHOT_OK;
}

/* ---- far from the median ---- */

/* The number of samples that had come when a verdict became known, had they come one by one: the
 * first few of a stretch wait for each other. */
static size_t samples_for(const spike_finder *finder, const shot_hampel_at *at) {
    const size_t known = finder->start + (at->known > EARLY ? at->known : EARLY);
    return known < finder->samples ? known : finder->samples;
}

/* What a meter that counts pulses writes now and then. */
static bool is_miscount(const spike_nature *nature, double value, double median) {
    const double most = 1.05 * fabs(median); /* gates jitter by some % */
    return nature->pulse > 0 && fabs(value - median) <= fmax(most, nature->pulse);
}

/* How far the recent samples from one on lie off the lines through their neighbours.  They are
 * asked for again and again, and each is found once. */
static const double *residuals_of(spike_finder *finder, size_t first, size_t n) {
    const size_t from = finder->measured, end = first + n;
    if (from + 2 < end) {
        scatter_residuals(finder->recent_t + from, finder->recent_y + from, end - from,
                          finder->residual + from);
        finder->measured = end - 2;
    }
    return finder->residual + first;
}

static bool is_far(spike_finder *finder, const shot_hampel_at *at) {
    double work[RECENT];
    if (!at->spike || at->n < LEAST || is_miscount(&finder->rule.nature, at->value, at->median))
        return false;
    const size_t end = samples_for(finder, at), n = end < RECENT ? end : RECENT;
    const size_t first = end - n - finder->base;
    return scatter_is_below(residuals_of(finder, first, n), finder->recent_y + first, n,
                            fabs(at->value - at->median), finder->rule.threshold, work);
}

/* ---- runs ---- */

static shot_status enqueue(spike_finder *finder, const judged *one) {
    if (finder->head + finder->count == finder->room) {
        if (finder->head > 0) {
            memmove(finder->queue, finder->queue + finder->head, finder->count * sizeof *one);
            finder->head = 0;
        } else {
            const size_t room = finder->room ? 2 * finder->room : 16;
            judged *queue = realloc(finder->queue, room * sizeof *queue);
            if (queue == NULL)
                return SHOT_ERR_MEMORY;
            finder->queue = queue;
            finder->room = room;
        }
    }
    finder->queue[finder->head + finder->count++] = *one;
    return SHOT_OK;
}

/* Bring in the next judged sample; *came false if there is none yet. */
static shot_status judge_next(spike_finder *finder, bool *came) {
    shot_hampel_at at;
    shot_hampel_passed passed;
    *came = false;
    if (finder->now == NULL)
        return SHOT_OK;
    SHOT_TRY(shot_hampel_pass(finder->now, 1, &passed));
    *came = passed.count > 0;
    if (*came)
        return enqueue(finder, &(judged){.t = passed.t, .value = passed.value, .median = NAN});
    SHOT_TRY(shot_hampel_next(finder->now, &at, came));
    if (!*came)
        return SHOT_OK;
    return enqueue(finder, &(judged){at.t, at.value, at.median, is_far(finder, &at), false});
}

static double height(const judged *one) {
    return one->value - one->median;
}

/* How many samples from the head on are far on the same side. */
static size_t run_length(const spike_finder *finder) {
    const judged *run = finder->queue + finder->head;
    size_t length = 0;
    while (length < finder->count && run[length].far && height(&run[length]) * height(run) > 0)
        length++;
    return length;
}

/* From `outside` to `inside` nearly the whole height is jumped. */
static bool is_jump(const judged *outside, const judged *inside) {
    const double jump = inside->value - outside->value;
    return jump * height(inside) > 0 && fabs(jump) >= least_jump * fabs(height(inside));
}

/* What a pump can do between two samples. */
static bool is_push(const spike_nature *nature, const judged *outside, const judged *inside) {
    const double jump = inside->value - outside->value;
    return height(inside) > 0 && inside->median < nature->calm &&
           fabs(jump) <= nature->slew * fabs(inside->t - outside->t);
}

/* The highest of the samples before time `t`. */
static double highest_before(const spike_finder *finder, double t) {
    size_t end = finder->samples - finder->base;
    while (end > 0 && finder->recent_t[end - 1] >= t)
        end--;
    double most = -INFINITY;
    for (size_t i = end > GAVE ? end - GAVE : 0; i < end; i++)
        most = fmax(most, finder->recent_y[i]);
    return most;
}

/* A short run of the pump in a log so slow that a few samples show it: it gives what it gave
 * before. */
static bool is_run(const spike_finder *finder, const judged *first, const judged *after) {
    const spike_nature *nature = &finder->rule.nature;
    const bool slow = finder->now == finder->by_count && !finder->rule.window.samples;
    if (!slow || !(nature->run > 0) || after->t - finder->before.t < nature->run ||
        after - first > FEW || !(height(first) > 0 && first->median < nature->calm))
        return false;
    const double gave = highest_before(finder, first->t);
    double most = first->value;
    for (const judged *one = first + 1; one < after; one++)
        most = fmax(most, one->value);
    return most >= 0.5 * gave && most <= 1.2 * gave;
}

static bool is_spike(const spike_finder *finder, size_t length) {
    const judged *first = finder->queue + finder->head, *last = first + length - 1;
    const judged *before = &finder->before, *after = last + 1;
    const spike_nature *nature = &finder->rule.nature;
    if (!finder->has_before || length == finder->count)
        return false;
    return is_jump(before, first) && is_jump(after, last) &&
           !(is_push(nature, before, first) && is_push(nature, after, last)) &&
           !is_run(finder, first, after);
}

/* Decide on the run at the head; false if its end has not come and may yet, unless `ended`. */
static bool decide_run(spike_finder *finder, bool ended) {
    judged *run = finder->queue + finder->head;
    const size_t length = run_length(finder);
    const bool is_long = run[length - 1].t - run[0].t > longest;
    if (!is_long && length == finder->count && !ended)
        return false;
    const bool spike = !is_long && is_spike(finder, length);
    for (size_t i = 0; i < length; i++) {
        run[i].spike = spike;
        run[i].far = false;
    }
    return true;
}

static void hand_out(spike_finder *finder, spike_verdict *verdict) {
    const judged *one = finder->queue + finder->head;
    *verdict = (spike_verdict){one->t, one->value, one->median, one->spike};
    if (!one->spike) {
        finder->before = *one;
        finder->has_before = true;
    }
    finder->head++;
    finder->count--;
}

shot_status spike_finder_pass(spike_finder *finder, size_t *count) {
    shot_hampel_passed passed;
    *count = 0;
    if (finder->count > 0 || finder->now == NULL)
        return SHOT_OK;
    SHOT_TRY(shot_hampel_pass(finder->now, SIZE_MAX, &passed));
    *count = passed.count;
    if (passed.count > 0) {
        finder->before = (judged){.t = passed.t, .value = passed.value, .median = NAN};
        finder->has_before = true;
    }
    return SHOT_OK;
}

shot_status spike_finder_next(spike_finder *finder, spike_verdict *verdict, bool *ready) {
    for (bool came = true;;) {
        const bool ended = finder->finished && !came;
        *ready =
            finder->count > 0 && (!finder->queue[finder->head].far || decide_run(finder, ended));
        if (*ready) {
            hand_out(finder, verdict);
            return SHOT_OK;
        }
        if (!came)
            return SHOT_OK;
        SHOT_TRY(judge_next(finder, &came));
    }
}
