/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What resampling keeps and what it rejects, in dB over a sweep of tones, for even and for jittered
 * samples; then its speed.
 *
 * kept    the largest error over tones in the band that is promised untouched (0.9 of the lower
 *         band for sinc, 0.5 for the filter behind linear and cubic; with a rising rate 0.1 and 0.5
 *         of the samples' band, which interpolation can follow), relative to the tone
 * folded  the largest remainder over tones beyond the end of the new band
 * Both are root mean squares over 200 outputs away from the ends, the sinc on even samples also as
 * the ripple in the pass band, 20 log10 of the largest amplitude over the smallest.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#include <shottrace/signal/bandlimited.h>
#include <shottrace/signal/random.h>

#include "signal/resample_run.h"
#include "signal/pi.h"

enum { TONES = 60, OUTPUTS = 200, DRAWS = 8 };

static double now(void) {
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

/* A tone of f cycles a sample (samples 1 s apart, jittered by `jitter` times a uniform -1 .. 1)
 * through one run; the values of the grid of `ratio` s.  Of jittered samples the run is told a
 * spacing that is off, as an estimate from the first few is: the even grid that they are brought
 * onto then has nodes everywhere between samples. */
static void run_tone(resample_method method, double ratio, double jitter, uint64_t draw, double f,
                     resample_column *column, resample_grid *grid) {
    const size_t n = (size_t)(ratio * (OUTPUTS + 200)) + 400;
    resample_run run;
    shot_random random = shot_random_at(draw, (uint64_t)(jitter * 1000));
    *grid = resample_grid_of(ratio);
    resample_run_init(&run, grid, method, false);
    resample_run_begin(&run, 1 - jitter / 10);
    resample_column_begin(column, resample_grid_first(grid, 1 - jitter, 1));
    for (size_t i = 0; i < n; i++) {
        const double t = 1 + (double)i + jitter * shot_random_between(&random, -1, 1);
        const double y = cos(2 * SHOT_PI * f * t + 0.4);
        resample_run_push(&run, &t, &y, 1);
        if (i % 512 == 511)
            resample_run_flush(&run, column);
    }
    resample_run_finish(&run, column);
    resample_run_clear(&run);
}

/* Root mean square of the output less `wanted` times the tone, over the tone's; *amplitude gets the
 * largest in-phase amplitude. */
static double error_of(resample_method method, double ratio, double jitter, uint64_t draw, double f,
                       int wanted, double *amplitude) {
    resample_column column = {0};
    resample_grid grid;
    run_tone(method, ratio, jitter, draw, f, &column, &grid);
    const int64_t first = column.next - (int64_t)column.count;
    const size_t skip = (column.count - OUTPUTS) / 2;
    double squares = 0, product = 0, tones = 0;
    for (size_t i = skip; i < skip + OUTPUTS; i++) {
        const double t = resample_grid_time(&grid, first + (int64_t)i, 1);
        const double tone = cos(2 * SHOT_PI * f * t + 0.4);
        const double e = column.value[i] - wanted * tone;
        squares += e * e;
        product += column.value[i] * tone;
        tones += tone * tone;
    }
    *amplitude = product / tones;
    resample_column_clear(&column);
    return sqrt(squares / (wanted ? tones : OUTPUTS / 2.0));
}

static double decibels(double x) {
    return 20 * log10(x);
}

/* Worst of TONES tones between two frequencies; of jittered samples in DRAWS logs, since the
 * spacing that is found in the first few samples is better in some than in others. */
static double worst(resample_method method, double ratio, double jitter, double low, double high,
                    int wanted, double *ripple) {
    double most = 0, largest = 0, smallest = 10;
    for (int k = 0; k < TONES * (jitter > 0 ? DRAWS : 1); k++) {
        double amplitude;
        const double f = low + (high - low) * (k % TONES) / (TONES - 1);
        const uint64_t draw = 1 + (uint64_t)(k / TONES);
        most = fmax(most, error_of(method, ratio, jitter, draw, f, wanted, &amplitude));
        largest = fmax(largest, amplitude);
        smallest = fmin(smallest, amplitude);
    }
    *ripple = decibels(largest / smallest);
    return decibels(most);
}

static void report(resample_method method, double ratio, double jitter) {
    static const char *const names[] = {"linear", "cubic", "sinc"};
    double ripple, none;
    const double nyquist = 0.5 / fmax(1, ratio), keep = method == RESAMPLE_SINC ? 0.9 : 0.5;
    printf("%-7s %8.4g %6.0f %%", names[method], ratio, 100 * jitter);
    printf(" %9.1f", worst(method, ratio, jitter, 0.02 * nyquist, 0.1 * nyquist, 1, &none));
    printf(" %9.1f", worst(method, ratio, jitter, 0.02 * nyquist, keep * nyquist, 1, &ripple));
    printf(" %10.2g", ripple);
    if (ratio > 1)
        printf(" %9.1f", worst(method, ratio, jitter, 1.001 * nyquist, 0.49, 0, &none));
    putchar('\n');
}

/* Nanoseconds an input sample of the band-limited resampler, in blocks of 4096. */
static void speed(double ratio) {
    enum { BLOCK = 4096 };
    static double x[BLOCK], y[16 * BLOCK];
    shot_bandlimited *b;
    for (size_t i = 0; i < BLOCK; i++)
        x[i] = sin(0.1 * (double)i);
    if (shot_bandlimited_new(ratio, 0, SHOT_BANDLIMITED_DEFAULT, &b) != SHOT_OK)
        return;
    size_t blocks = 0, made = shot_bandlimited_push(b, x, BLOCK, y);
    const double begin = now();
    while (now() - begin < 0.5) {
        made += shot_bandlimited_push(b, x, BLOCK, y);
        blocks++;
    }
    const double each = (now() - begin) / (double)(blocks * BLOCK);
    printf("sinc, step ratio %8.4g: %7.1f ns a sample in, %9.1f ns a sample out\n", ratio,
           1e9 * each, 1e9 * each * ratio);
    shot_bandlimited_free(b);
}

int main(void) {
    static const double jitters[] = {0, 0.01, 0.05, 0.1, 0.3};
    static const double ratios[] = {0.5, 0.8, 1.25, 2, 5, 7.3};
    printf("method  step ratio jitter  kept 0.1  kept band  ripple dB  folded   (dB)\n");
    for (int method = RESAMPLE_LINEAR; method <= RESAMPLE_SINC; method++)
        for (size_t j = 0; j < sizeof jitters / sizeof *jitters; j++)
            for (size_t r = 0; r < sizeof ratios / sizeof *ratios; r++)
                report((resample_method)method, ratios[r], jitters[j]);
    static const double rates[] = {0.5, 1.0 / SHOT_PI, 2, 5, 7.3, 50, 480, 4800};
    for (size_t r = 0; r < sizeof rates / sizeof *rates; r++)
        speed(rates[r]);
    return 0;
}
