/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Nanoseconds a sample for the best piecewise-linear description of a series: the optimum over 300
 * candidates, over every sample, and refined with intervals.  The series is half a minute of a
 * curve that bends everywhere, a rise, a plateau with a slow fall and a release, at 10 to 333 Hz,
 * with noise of 0.01 or 0.05 (about 30 to 70 and 15 to 40 joints). */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include <shottrace/signal/random.h>
#include <shottrace/signal/slope_partition.h>

enum { MOST = 10000, MOST_CANDIDATES = 3000 };

static double t[MOST], y[MOST];

/* The time of this process alone: others on the machine move it less than the clock on the wall. */
static double now(void) {
    struct timespec clock;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &clock);
    return (double)clock.tv_sec * 1e9 + (double)clock.tv_nsec;
}

static double curve(double x) {
    double rise = 9 / (1 + exp(-(x - 5))), release = x > 26 ? exp(-(x - 26) / 0.5) : 1;
    return rise * release * (1 - 0.01 * (x - 5)) + 0.2 * sin(x);
}

static void fill(size_t n, double noise) {
    shot_random random = shot_random_at(1, n);
    for (size_t i = 0; i < n; i++) {
        t[i] = 30 * (double)i / (double)n;
        y[i] = curve(t[i]) + noise * shot_random_normal(&random);
    }
}

static double find(size_t n, double penalty, size_t places, size_t *count) {
    shot_slope_partition_options options = {.penalty = penalty, .most_places = places};
    double *at, start = now();
    if (shot_slope_partition_find(t, y, n, &options, &at, count, NULL) != SHOT_OK)
        exit(1);
    free(at);
    return (now() - start) / (double)n;
}

static double fit(size_t n, double penalty, double sd, size_t *count) {
    shot_slope_partition_options options = {.penalty = penalty};
    shot_segmented_line_options intervals = {.sd = sd, .z = 1.96};
    shot_segmented_line *line;
    double start = now();
    if (shot_slope_partition_fit(t, y, n, &options, &intervals, &line) != SHOT_OK)
        exit(1);
    *count = line->count;
    shot_segmented_line_free(line);
    return (now() - start) / (double)n;
}

int main(void) {
    static const size_t lengths[] = {300, 1000, 3000, 10000};
    static const double noises[] = {0.01, 0.05};
    printf("piecewise-linear description, ns a sample (joints)\n"
           "samples  noise     300 candidates   with intervals    all samples\n");
    for (size_t k = 0; k < 8; k++) {
        size_t n = lengths[k / 2], some, all, last;
        double sd = noises[k % 2], penalty = shot_slope_partition_penalty(n, sd, 0.01);
        fill(n, sd);
        double few = find(n, penalty, 0, &some), whole = fit(n, penalty, sd, &last);
        printf("%7zu  %5.2f  %11.0f (%3zu)  %9.0f (%3zu)", n, sd, few, some, whole, last);
        if (n <= MOST_CANDIDATES) {
            double full = find(n, penalty, n, &all);
            printf("  %11.0f (%3zu)", full, all);
        }
        printf("\n");
    }
    return 0;
}
