/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Runs of one and the same value. */
#include <shottrace/signal/value_runs.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "changes.h"
#include "value_stay.h"
#include "wide.h"

enum { LENGTHS = 1024, MOST = 512, RECENT = 8, ENOUGH_CHANGES = 10, RESIDUALS = 4096 };

/* A run that has passed: where it began, and its samples. */
typedef struct passed_run {
    double t, y;
    size_t n;
} passed_run;

/* How far samples lie from the line through their two neighbours, of every `stride`-th sample;
 * those inside of runs lie on it, and are counted. */
typedef struct residuals {
    double size[RESIDUALS], t[2], y[2]; /* t, y: the last two samples */
    size_t count, zeros, met, stride;
} residuals;

struct shot_value_runs {
    shot_value_run now;        /* grows; n 0 before the first sample */
    shot_value_run kept[MOST]; /* in order of time */
    size_t number[MOST];       /* of each in the order of all runs */
    size_t longest[MOST]; /* of the RECENT runs on either side of each that have another value */
    size_t count;
    size_t lengths[LENGTHS];   /* how many runs of each length, those at 0 left out; the last one
                                  holds all longer ones */
    size_t used;               /* of these; the others are 0 */
    passed_run recent[RECENT]; /* of the runs before `now`, in a ring */
    size_t samples, runs;      /* runs: before `now` */
    shot_changes changes;
    double low, high; /* +-infinite before the first sample */
    residuals residuals;
};

shot_status shot_value_runs_new(shot_value_runs **out) {
    *out = malloc(sizeof **out);
    if (*out == NULL)
        return SHOT_ERR_MEMORY;
    (*out)->used = LENGTHS;
    shot_value_runs_reset(*out);
    return SHOT_OK;
}

void shot_value_runs_reset(shot_value_runs *runs) {
    runs->now.n = runs->count = runs->samples = runs->runs = 0;
    runs->changes = (shot_changes){INFINITY, 0, 0};
    runs->low = INFINITY;
    runs->high = -INFINITY;
    memset(runs->lengths, 0, runs->used * sizeof *runs->lengths);
    runs->used = 0;
    runs->residuals.count = runs->residuals.zeros = runs->residuals.met = 0;
    runs->residuals.stride = 1;
    memset(runs->residuals.t, 0, sizeof runs->residuals.t);
    memset(runs->residuals.y, 0, sizeof runs->residuals.y);
}

void shot_value_runs_free(shot_value_runs *runs) {
    free(runs);
}

/* How many samples there are before the first one that has the value of the one before it. */
SHOT_WIDE static size_t samples_anew(const double *y, size_t n) {
    enum { BLOCK = 8 };
    size_t i = 1;
    for (; i + BLOCK <= n; i += BLOCK) {
        double stays = 0;
        for (size_t l = 0; l < BLOCK; l++)
            stays += y[i + l] == y[i + l - 1] ? 1 : 0;
        if (stays > 0)
            break;
    }
    while (i < n && y[i] != y[i - 1])
        i++;
    return i < n ? i : n;
}

/* ---- residuals ---- */

static void keep_residual(residuals *all, double size) {
    if (all->met++ % all->stride != 0)
        return;
    if (all->count == RESIDUALS) {
        all->count /= 2;
        for (size_t i = 0; i < all->count; i++)
            all->size[i] = all->size[2 * i];
        all->stride *= 2;
    }
    all->size[all->count++] = size;
}

/* Of each sample between its two neighbours; t and y have two more. */
SHOT_WIDE static void find_residuals(const double *restrict t, const double *restrict y, size_t n,
                                     double *restrict size) {
    for (size_t i = 0; i < n; i++) {
        const double a = (t[i + 2] - t[i + 1]) / (t[i + 2] - t[i]);
        size[i] = fabs(y[i + 1] - a * y[i] - (1 - a) * y[i + 2]);
    }
}

/* Keep those of samples that are not inside of a run, whose residual is nothing. */
static void keep_residuals(residuals *all, const double *y, const double *size, size_t n) {
    const bool all_fit = all->stride == 1 && all->count + n <= RESIDUALS;
    if (all_fit && n > 0 && samples_anew(y, n + 2) == n + 2) { /* no runs */
        memcpy(all->size + all->count, size, n * sizeof *size);
        all->count += n;
        all->met += n;
        return;
    }
    for (size_t i = 0; i < n; i++) {
        const bool inside = y[i] == y[i + 1] && y[i + 1] == y[i + 2];
        if (all_fit) {
            all->size[all->count] = size[i];
            all->count += !inside;
            all->met += !inside;
        } else if (!inside) {
            keep_residual(all, size[i]);
        }
    }
}

/* Samples before which `seen` others came: each tells the residual of the one before it. */
static void take_residuals(residuals *all, size_t seen, const double *t, const double *y,
                           size_t n) {
    enum { SOME = 128 };
    double times[SOME + 2], values[SOME + 2], size[SOME];
    for (size_t done = 0, some; done < n; done += some) {
        some = n - done < SOME ? n - done : SOME;
        memcpy(times, all->t, sizeof all->t);
        memcpy(values, all->y, sizeof all->y);
        memcpy(times + 2, t + done, some * sizeof *t);
        memcpy(values + 2, y + done, some * sizeof *y);
        const size_t early = seen + done < 2 ? 2 - (seen + done) : 0,
                     first = early < some ? early : some;
        find_residuals(times + first, values + first, some - first, size);
        keep_residuals(all, values + first, size, some - first);
        memcpy(all->t, times + some, sizeof all->t);
        memcpy(all->y, values + some, sizeof all->y);
    }
}

/* ---- one run ends ---- */

/* Did the channel move on behind the run that ends with a sample (t, y)?  See the header. */
static bool motion_was_missed(const shot_value_runs *runs, double t, double y) {
    const shot_value_run *now = &runs->now;
    if (runs->runs < RECENT || now->n < SHOT_VALUE_RUN_LEAST)
        return false;
    double longest = 0, largest = 0;
    passed_run later = {now->from, now->value, now->n};
    for (size_t k = 1; k <= RECENT; k++) {
        const passed_run earlier = runs->recent[(runs->runs - k) % RECENT];
        longest = fmax(longest, later.t - earlier.t);
        largest = fmax(largest, fabs(later.y - earlier.y));
        later = earlier;
    }
    const double jump = y - now->value, lasted = t - now->from;
    const double course = (now->value - later.y) / (now->from - later.t) * lasted;
    return lasted >= 4 * longest && fabs(jump) >= 3 * largest && jump / course >= 1 / 2.5 &&
           jump / course <= 2.5;
}

/* Make room by forgetting the shortest. */
static void forget_shortest(shot_value_runs *runs) {
    size_t shortest = 0;
    for (size_t i = 1; i < runs->count; i++)
        if (runs->kept[i].n < runs->kept[shortest].n)
            shortest = i;
    runs->count--;
    const size_t behind = runs->count - shortest;
    memmove(runs->kept + shortest, runs->kept + shortest + 1, behind * sizeof *runs->kept);
    memmove(runs->number + shortest, runs->number + shortest + 1, behind * sizeof *runs->number);
    memmove(runs->longest + shortest, runs->longest + shortest + 1, behind * sizeof *runs->longest);
}

/* The run that ends is a neighbour of those kept shortly before it. */
static void tell_neighbours(shot_value_runs *runs) {
    const shot_value_run *now = &runs->now;
    for (size_t i = runs->count; i-- > 0 && runs->runs - runs->number[i] <= RECENT;)
        if (runs->kept[i].value != now->value && now->n > runs->longest[i])
            runs->longest[i] = now->n;
}

static void keep_run(shot_value_runs *runs) {
    const shot_value_run *now = &runs->now;
    if (runs->count == MOST)
        forget_shortest(runs);
    const size_t i = runs->count++;
    runs->kept[i] = *now;
    runs->number[i] = runs->runs;
    runs->longest[i] = 0;
    for (size_t k = 0; k < RECENT && k < runs->runs; k++)
        if (runs->recent[k].y != now->value && runs->recent[k].n > runs->longest[i])
            runs->longest[i] = runs->recent[k].n;
}

static void count_lengths(shot_value_runs *runs, size_t length, size_t more) {
    const size_t place = length < LENGTHS ? length : LENGTHS - 1;
    runs->lengths[place] += more;
    runs->used = place < runs->used ? runs->used : place + 1;
}

/* The run ends; it has samples. */
static void end_run(shot_value_runs *runs) {
    const shot_value_run *now = &runs->now;
    if (now->value != 0)
        count_lengths(runs, now->n, 1);
    if (now->n >= 3 && now->n < SHOT_VALUE_RUN_LEAST)
        runs->residuals.zeros += now->n - 2;
    tell_neighbours(runs);
    if (now->n >= SHOT_VALUE_RUN_LEAST)
        keep_run(runs);
    runs->recent[runs->runs % RECENT] = (passed_run){now->from, now->value, now->n};
    runs->runs++;
}

SHOT_WIDE static void take_range(shot_value_runs *runs, const double *y, size_t n) {
    double low = runs->low, high = runs->high;
#pragma omp simd reduction(min : low) reduction(max : high)
    for (size_t i = 0; i < n; i++) {
        low = lesser(y[i], low);
        high = greater(y[i], high);
    }
    runs->low = low;
    runs->high = high;
}

/* What every sample tells, whatever run it belongs to. */
static void take_all(shot_value_runs *runs, const double *t, const double *y, size_t n) {
    const double seam[2] = {runs->residuals.y[1], y[0]};
    take_residuals(&runs->residuals, runs->samples, t, y, n);
    take_range(runs, y, n);
    if (runs->samples > 0)
        changes_take(seam, 2, &runs->changes);
    changes_take(y, n, &runs->changes);
    runs->samples += n;
}

/* A sample for the run that grows or, if its value is another, for the next one. */
static void take_one(shot_value_runs *runs, double t, double y) {
    shot_value_run *now = &runs->now;
    if (now->n > 0 && y == now->value) {
        now->to = t;
        now->n++;
        return;
    }
    if (now->n > 0) {
        now->missed = motion_was_missed(runs, t, y);
        end_run(runs);
    }
    *now = (shot_value_run){t, t, y, 1, false};
}

SHOT_WIDE static size_t count_nonzero(const double *y, size_t n) {
    double count = 0;
#pragma omp simd reduction(+ : count)
    for (size_t i = 0; i < n; i++)
        count += y[i] != 0 ? 1 : 0;
    return (size_t)count;
}

/* Samples that each have another value than the one before them, the first of which is the run that
 * grows; the last one is in the end.  Of runs of one sample end_run keeps no more than this, where
 * no run that is kept is near enough to have them as neighbours. */
static void take_single(shot_value_runs *runs, const double *t, const double *y, size_t n) {
    const size_t ended = n - 1;
    count_lengths(runs, 1, count_nonzero(y, ended));
    for (size_t i = ended > RECENT ? ended - RECENT : 0; i < ended; i++)
        runs->recent[(runs->runs + i) % RECENT] = (passed_run){t[i], y[i], 1};
    runs->runs += ended;
    runs->now = (shot_value_run){t[ended], t[ended], y[ended], 1, false};
}

static bool near_kept(const shot_value_runs *runs) {
    return runs->count > 0 && runs->runs - runs->number[runs->count - 1] <= RECENT;
}

void shot_value_runs_push_block(shot_value_runs *runs, const double *t, const double *y, size_t n) {
    if (n == 0)
        return;
    take_all(runs, t, y, n);
    for (size_t i = 0; i < n;) {
        take_one(runs, t[i], y[i]);
        const bool single = runs->now.n == 1 && !near_kept(runs);
        const size_t anew = single ? samples_anew(y + i, n - i) : 1;
        if (anew > 1)
            take_single(runs, t + i, y + i, anew);
        i += anew;
    }
}

void shot_value_runs_push(shot_value_runs *runs, double t, double y) {
    shot_value_runs_push_block(runs, &t, &y, 1);
}

void shot_value_runs_finish(shot_value_runs *runs) {
    if (runs->now.n > 0)
        end_run(runs);
    runs->now.n = 0;
}

/* ---- what they say ---- */

size_t shot_value_runs_count(const shot_value_runs *runs) {
    return runs->count;
}

const shot_value_run *shot_value_runs_at(const shot_value_runs *runs, size_t i) {
    return &runs->kept[i];
}

void shot_value_runs_range(const shot_value_runs *runs, double *low, double *high) {
    *low = runs->samples > 0 ? runs->low : NAN;
    *high = runs->samples > 0 ? runs->high : NAN;
}

double shot_value_runs_stay(const shot_value_runs *runs) {
    const residuals *all = &runs->residuals;
    const double step = runs->changes.smallest;
    const double least = VALUE_STAY_FAR * (1 - SHOT_CHANGES_ROUNDING) * step;
    double far = 0;
    if (runs->changes.count < ENOUGH_CHANGES)
        return 1;
    for (size_t i = 0; i < all->count; i++)
        far += all->size[i] >= least;
    return value_stay(far, (double)all->count + (double)all->zeros / (double)all->stride, step);
}

/* q from the length-weighted mean of the runs shorter than `limit`. */
static double stay_of_shorter(const shot_value_runs *runs, size_t limit) {
    double samples = 0, squares = 0;
    for (size_t m = 1; m < limit && m < LENGTHS; m++) {
        const double count = (double)runs->lengths[m], length = (double)m;
        samples += count * length;
        squares += count * length * length;
    }
    const double mean = samples > 0 ? squares / samples : 1;
    return (mean - 1) / (mean + 1);
}

/* How many other runs are at least so long. */
static size_t as_long(const shot_value_runs *runs, size_t length) {
    size_t count = 0;
    for (size_t m = length < LENGTHS ? length : LENGTHS - 1; m < LENGTHS; m++)
        count += runs->lengths[m];
    return count > 0 ? count - 1 : 0;
}

double shot_value_runs_expected(const shot_value_runs *runs, size_t i) {
    static const size_t HABIT = 4, LONGER = 3;
    const size_t n = runs->kept[i].n, others = as_long(runs, (n + 1) / 2);
    if (others > HABIT)
        return (double)others;
    if (LONGER * runs->longest[i] > n)
        return 1;
    const double q = fmax(shot_value_runs_stay(runs), stay_of_shorter(runs, (n + 1) / 2));
    return (double)runs->samples * pow(q, (double)(n - 1));
}
