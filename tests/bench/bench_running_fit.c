/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Nanoseconds a sample for each way of smoothing (even weights, sliding sums, a fresh fit), one by
 * one as while a shot runs and many at once as from a file, and how far the sliding sums are from
 * the fresh fit, over windows and orders. */
#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include <shottrace/signal/local_fit.h>
#include <shottrace/signal/random.h>
#include <shottrace/signal/running_fit.h>

enum { COUNT = 60000, REPEATS = 15, BLOCK = 512 };

static double even_t[COUNT], uneven_t[COUNT], y[COUNT], sliding[COUNT], fresh[COUNT], gain[COUNT];

/* The time of this process alone: others on the machine move it less than the clock on the wall. */
static double now(void) {
    struct timespec t;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
    return (double)t.tv_sec * 1e9 + (double)t.tv_nsec;
}

static void fill(void) {
    shot_random random = shot_random_at(1, 0);
    double t = 0;
    for (size_t i = 0; i < COUNT; i++) {
        even_t[i] = (double)i / 20;
        uneven_t[i] = t += shot_random_between(&random, 0.015, 0.085);
        y[i] = 9 * sin(t) + shot_random_normal(&random);
    }
}

/* Smooth the whole series as a stream; the samples' results in `out`. */
static void stream(const shot_running_fit_rule *rule, const double *t, double *out) {
    shot_running_fit *fit;
    shot_running_fit_at at;
    size_t count = 0;
    if (shot_running_fit_new(rule, &fit) != SHOT_OK)
        exit(1);
    for (size_t i = 0; i <= COUNT; i++) {
        if (i < COUNT && shot_running_fit_push(fit, t[i], y[i]) != SHOT_OK)
            exit(1);
        if (i == COUNT)
            shot_running_fit_finish(fit);
        for (bool ready; shot_running_fit_next(fit, &at, &ready) == SHOT_OK && ready;)
            out[count++] = at.fitted;
    }
    shot_running_fit_free(fit);
}

/* The same in blocks. */
static void at_once(const shot_running_fit_rule *rule, const double *t, double *out) {
    shot_running_fit *fit;
    size_t count = 0, more;
    if (shot_running_fit_new(rule, &fit) != SHOT_OK)
        exit(1);
    for (size_t i = 0, some; i < COUNT; i += some) {
        some = COUNT - i < BLOCK ? COUNT - i : BLOCK;
        if (shot_running_fit_push_block(fit, t + i, y + i, some) != SHOT_OK)
            exit(1);
        if (i + some == COUNT)
            shot_running_fit_finish(fit);
        if (shot_running_fit_take(fit, COUNT - count, out + count, gain, &more) != SHOT_OK)
            exit(1);
        count += more;
    }
    shot_running_fit_free(fit);
}

static void afresh(size_t half, size_t order) {
    shot_local_fit *fit;
    if (shot_local_fit_new(order, &fit) != SHOT_OK)
        exit(1);
    for (size_t i = half; i + half < COUNT; i++) {
        shot_local_fit_set(fit, uneven_t + i - half, y + i - half, 2 * half + 1, uneven_t[i], 0);
        fresh[i] = shot_local_fit_at(fit, uneven_t[i], 0).value;
    }
    shot_local_fit_free(fit);
}

typedef void (*way)(const shot_running_fit_rule *rule, const double *t, double *out);

/* A NULL way is a fresh fit. */
static double best_of(way smooth, const double *t, size_t half, size_t order) {
    const shot_running_fit_rule rule = {.reach = {(double)half, (double)half, true},
                                        .order = order};
    double best = INFINITY;
    for (int r = 0; r < REPEATS; r++) {
        const double start = now();
        if (smooth != NULL)
            smooth(&rule, t, sliding);
        else
            afresh(half, order);
        best = fmin(best, now() - start);
    }
    return best / COUNT;
}

static double worst_difference(size_t half) {
    double worst = 0;
    for (size_t i = half; i + half < COUNT; i++)
        worst = fmax(worst, fabs(sliding[i] - fresh[i]) / 12);
    return worst;
}

int main(void) {
    static const size_t halves[] = {5, 10, 50};
    fill();
    printf("smoothing, ns a sample; difference relative to the largest value\n"
           "order window    even  at once  sliding  at once    fresh   difference\n");
    for (size_t order = 0; order <= 4; order++) {
        for (size_t h = 0; h < 3; h++) {
            const size_t half = halves[h];
            const double even = best_of(stream, even_t, half, order);
            const double evens = best_of(at_once, even_t, half, order);
            const double slide = best_of(stream, uneven_t, half, order);
            const double slides = best_of(at_once, uneven_t, half, order);
            const double anew = best_of(NULL, NULL, half, order);
            printf("%5zu %6zu %7.1f  %7.1f  %7.1f  %7.1f  %7.1f   %10.1e\n", order, 2 * half + 1,
                   even, evens, slide, slides, anew, worst_difference(half));
        }
    }
    return 0;
}
