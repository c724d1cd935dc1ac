/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Runs of one and the same value. */
#include <shottrace/signal/value_runs.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/signal/normal.h>

enum { LENGTHS = 1024, MOST = 512, RECENT = 8, ENOUGH_CHANGES = 10, RESIDUALS = 4096 };

static const double rounding = 1e-9; /* of decimals and of sums of them, relative to the values */

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
    passed_run recent[RECENT]; /* of the runs before `now`, in a ring */
    size_t samples, runs;      /* runs: before `now` */
    size_t changes;            /* beyond rounding */
    double smallest;           /* of them */
    double low, high;
    residuals residuals;
};

shot_status shot_value_runs_new(shot_value_runs **out) {
    *out = malloc(sizeof **out);
    if (*out == NULL)
        return SHOT_ERR_MEMORY;
    shot_value_runs_reset(*out);
    return SHOT_OK;
}

void shot_value_runs_reset(shot_value_runs *runs) {
    runs->now.n = runs->count = runs->samples = runs->runs = runs->changes = 0;
    runs->smallest = INFINITY;
    runs->low = runs->high = NAN;
    memset(runs->lengths, 0, sizeof runs->lengths);
    runs->residuals.count = runs->residuals.zeros = runs->residuals.met = 0;
    runs->residuals.stride = 1;
}

void shot_value_runs_free(shot_value_runs *runs) {
    free(runs);
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

/* The sample before (t, y), the `seen`-th one: inside of a run its residual is nothing. */
static void take_residual(residuals *all, size_t seen, double t, double y) {
    const double *times = all->t, *values = all->y;
    if (seen >= 3 && !(values[0] == values[1] && values[1] == y)) {
        const double a = (t - times[1]) / (t - times[0]);
        keep_residual(all, fabs(values[1] - a * values[0] - (1 - a) * y));
    }
    all->t[0] = all->t[1];
    all->y[0] = all->y[1];
    all->t[1] = t;
    all->y[1] = y;
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

static void end_run(shot_value_runs *runs) {
    const shot_value_run *now = &runs->now;
    if (now->n == 0)
        return;
    if (now->value != 0)
        runs->lengths[now->n < LENGTHS ? now->n : LENGTHS - 1]++;
    if (now->n >= 3 && now->n < SHOT_VALUE_RUN_LEAST)
        runs->residuals.zeros += now->n - 2;
    tell_neighbours(runs);
    if (now->n >= SHOT_VALUE_RUN_LEAST)
        keep_run(runs);
    runs->recent[runs->runs % RECENT] = (passed_run){now->from, now->value, now->n};
    runs->runs++;
}

static void note_change(shot_value_runs *runs, double from, double to) {
    const double change = fabs(to - from);
    if (!(change > rounding * fmax(fabs(from), fabs(to))))
        return;
    runs->smallest = fmin(runs->smallest, change);
    runs->changes++;
}

void shot_value_runs_push(shot_value_runs *runs, double t, double y) {
    shot_value_run *now = &runs->now;
    take_residual(&runs->residuals, ++runs->samples, t, y);
    runs->low = fmin(runs->low, y);
    runs->high = fmax(runs->high, y);
    if (now->n > 0 && y == now->value) {
        now->to = t;
        now->n++;
        return;
    }
    if (now->n > 0) {
        now->missed = motion_was_missed(runs, t, y);
        note_change(runs, now->value, y);
        end_run(runs);
    }
    *now = (shot_value_run){t, t, y, 1, false};
}

void shot_value_runs_finish(shot_value_runs *runs) {
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
    *low = runs->low;
    *high = runs->high;
}

/* The share of the residuals that reach `least`, less two standard errors of the count. */
static double share_of_large(const residuals *all, double least) {
    double large = 0;
    for (size_t i = 0; i < all->count; i++)
        large += all->size[i] >= least;
    const double kept = (double)all->count + (double)all->zeros / (double)all->stride;
    return fmax(0, large - 2 * sqrt(large)) / kept;
}

double shot_value_runs_stay(const shot_value_runs *runs) {
    const double step = runs->smallest;
    if (runs->changes < ENOUGH_CHANGES)
        return 1;
    const double share = share_of_large(&runs->residuals, 1.5 * (1 - rounding) * step);
    if (!(share > 0))
        return 1;
    const double sd = 1.25 * step / shot_normal_quantile(1 - share / 2);
    const double variance = sd * sd / 1.5 - step * step / 12;
    return variance > 0 ? erf(step / (2 * sqrt(2 * variance))) : 1;
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
