/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Microseconds for one measure of a comparison (tests, effect size, numbers of shots,
 * permutations), for a whole sweep's peak, and nanoseconds an arrangement of the permutation test.
 */
#include <stdio.h>
#include <time.h>

#include <shottrace/judge/contrast.h>
#include <shottrace/signal/peak.h>
#include <shottrace/signal/permutation.h>
#include <shottrace/signal/random.h>

enum { MOST = 12, REPEATS = 200, SWEEP = 15 };

static double now(void) {
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec * 1e6 + (double)t.tv_nsec / 1e3;
}

static void draw(shot_random *random, double *x, size_t n) {
    for (size_t i = 0; i < n; i++)
        x[i] = shot_random_normal(random);
}

static void time_contrast(size_t n, uint64_t arrangements) {
    double a[MOST], b[MOST], sum = 0, start = now();
    shot_contrast_rules rules = shot_contrast_usual_rules;
    rules.margin = 1;
    rules.arrangements = arrangements;
    for (uint64_t run = 0; run < REPEATS; run++) {
        shot_random random = shot_random_at(1, run);
        shot_contrast contrast;
        draw(&random, a, n);
        draw(&random, b, n);
        shot_contrast_find(a, n, b, n, &rules, &contrast);
        sum += contrast.test.p;
    }
    printf("contrast, %2zu a side, %s permutations  %9.1f us   (mean p %.3f)\n", n,
           arrangements > 0 ? "with   " : "without", (now() - start) / REPEATS, sum / REPEATS);
}

static void time_permutation(void) {
    double a[MOST], b[MOST];
    shot_random random = shot_random_at(2, 0);
    shot_permutation test;
    draw(&random, a, MOST);
    draw(&random, b, MOST);
    shot_permutation_effort all = {10000000, 0, 0};
    double start = now();
    shot_permutation_two_sample(a, MOST, b, MOST, &all, &test);
    printf("permutation, %llu arrangements           %9.2f ns each\n",
           (unsigned long long)test.total, 1e3 * (now() - start) / (double)test.total);
}

static void time_peak(void) {
    double x[SWEEP], y[SWEEP], start = now();
    size_t shown = 0;
    for (uint64_t run = 0; run < REPEATS; run++) {
        shot_random random = shot_random_at(3, run);
        shot_peak peak;
        for (size_t i = 0; i < SWEEP; i++) {
            x[i] = 7 + (double)(i % 5);
            y[i] = -0.07 * (x[i] - 9) * (x[i] - 9) + 0.03 * shot_random_normal(&random);
        }
        if (shot_peak_find(x, y, NULL, SWEEP, 0.95, &peak) == SHOT_OK)
            shown += peak.shown;
    }
    printf("peak of a sweep of %d                   %9.1f us   (%zu of %d shown)\n", SWEEP,
           (now() - start) / REPEATS, shown, REPEATS);
}

int main(void) {
    time_contrast(4, 0);
    time_contrast(8, 0);
    time_contrast(8, 1000000);
    time_contrast(MOST, 0);
    time_permutation();
    time_peak();
    return 0;
}
