/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Do the intervals of the models `linear` and `level` hold what they say?
 *
 *     eval_breaks MODEL [LOGS [SEED [RATE]]]
 *
 * LOGS logs (400) of 30 s at RATE (10 Hz), each with a change at a place drawn from 8 to 12 s and
 * one back from 18 to 22 s: of the slope (linear) or of the level (level).  Noise is white or a
 * first-order autoregression, whose sd and correlation the detector estimates from the log.  A
 * change is as large as so many standard errors that its size has where its place is known.  A line
 * a setting: changes that were found, marks beyond them, and of the found ones the share whose 95 %
 * interval of the time, and of the size, holds the truth, with that share's own interval (Wilson
 * 1927), and the medians of error and width.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <shottrace/chain.h>
#include <shottrace/signal/proportion.h>
#include <shottrace/signal/random.h>
#include <shottrace/trace/stage.h>
#include <shottrace/trace/text.h>

#include "support/numbers.h"
#include "support/run_chain.h"

static const double LENGTH = 30, SD = 0.05,
                    NEAR = 4; /* s; ml/s; s beyond which a mark is another */

typedef struct setting {
    double correlation; /* s, in which that of the noise falls to 1/e */
    double size;        /* of a change, in standard errors of white noise of the same variance */
} setting;

typedef struct change {
    double at, size;
} change;

typedef struct tally {
    size_t true_ones, found, beyond, time_held, size_held;
    numbers error, width;
} tally;

/* ---- a log ---- */

/* The standard error of a change of slope, or of level, in the middle of `n` samples of SD 1 over
 * 2 h, its place being known. */
static double standard_error(bool linear, double n, double h) {
    return linear ? sqrt(24 / (n * h * h / 2)) : sqrt(4 / n);
}

static double value_at(bool linear, const change *changes, double t) {
    double y = 2;
    for (int k = 0; k < 2; k++)
        if (t > changes[k].at)
            y += changes[k].size * (linear ? t - changes[k].at : 1);
    return y;
}

static void write_log(bool linear, const setting *set, double rate, uint64_t seed, uint64_t index,
                      change *changes, shot_text *out) {
    shot_random random = shot_random_at(seed, index);
    const double r = set->correlation > 0 ? exp(-1 / rate / set->correlation) : 0;
    const double size = set->size * SD * standard_error(linear, 10 * rate, 5);
    double noise = shot_random_normal(&random);
    changes[0] = (change){8 + 4 * shot_random_uniform(&random), size};
    changes[1] = (change){18 + 4 * shot_random_uniform(&random), -size};
    shot_text_clear(out);
    shot_text_add(out, "time [s],flow [ml/s]\n");
    for (int i = 0; i < LENGTH * rate; i++) {
        noise = r * noise + sqrt(1 - r * r) * shot_random_normal(&random);
        shot_text_add_format(out, "%.4f,%.6f\n", i / rate,
                             value_at(linear, changes, i / rate) + SD * noise);
    }
}

/* ---- what is found in it ---- */

typedef struct catcher {
    shot_sink sink;
    shot_mark_list marks;
} catcher;

static shot_status catch_mark(shot_sink *sink, const shot_mark *mark, shot_error *error) {
    return shot_mark_list_add(&((catcher *)sink)->marks, mark);
}

static const shot_sink_calls catching = {.mark = catch_mark};

static void run(const char *model, const shot_text *log, catcher *out) {
    char text[80];
    *out = (catcher){.sink = {&catching}};
    snprintf(text, sizeof text, "knees --model %s --channel flow", model);
    run_chain(text, &(shot_chain_ends){.sink = &out->sink}, log);
}

static bool is_final(const shot_mark *mark) {
    return (strcmp(mark->kind, "knee") == 0 || strcmp(mark->kind, "step") == 0) &&
           !isnan(mark->from_low);
}

/* The nearest mark of its sign. */
static const shot_mark *mark_of(const shot_mark_list *marks, const change *one) {
    const shot_mark *best = NULL;
    for (size_t i = 0; i < marks->count; i++) {
        const shot_mark *mark = &marks->marks[i];
        const double off = fabs(mark->from - one->at);
        if (is_final(mark) && mark->value * one->size > 0 && off < NEAR &&
            (best == NULL || off < fabs(best->from - one->at)))
            best = mark;
    }
    return best;
}

static void judge(const shot_mark_list *marks, const change *changes, tally *sums) {
    for (size_t i = 0; i < marks->count; i++)
        sums->beyond += is_final(&marks->marks[i]);
    for (int k = 0; k < 2; k++) {
        const change *one = &changes[k];
        const shot_mark *mark = mark_of(marks, one);
        sums->true_ones++;
        if (mark == NULL)
            continue;
        sums->found++;
        sums->beyond--;
        sums->time_held += mark->from_low <= one->at && one->at <= mark->from_high;
        sums->size_held += mark->value_low <= one->size && one->size <= mark->value_high;
        numbers_add(&sums->error, fabs(mark->from - one->at));
        numbers_add(&sums->width, mark->from_high - mark->from_low);
    }
}

/* ---- the table ---- */

static void print_share(size_t hits, size_t n) {
    double low, high;
    shot_proportion_wilson(hits, n, 0.95, &low, &high);
    printf("  %5.3f [%.3f, %.3f]", n > 0 ? (double)hits / (double)n : NAN, low, high);
}

static void evaluate(const char *model, const setting *set, double rate, uint64_t logs,
                     uint64_t seed) {
    const bool linear = strcmp(model, "linear") == 0;
    tally sums = {0};
    change changes[2];
    shot_text log = {0};
    for (uint64_t i = 0; i < logs; i++) {
        catcher got;
        write_log(linear, set, rate, seed, i, changes, &log);
        run(model, &log, &got);
        judge(&got.marks, changes, &sums);
        shot_mark_list_free(&got.marks);
    }
    shot_text_free(&log);
    printf("%6g %6g %6zu/%zu %6zu", set->correlation, set->size, sums.found, sums.true_ones,
           sums.beyond);
    print_share(sums.time_held, sums.found);
    print_share(sums.size_held, sums.found);
    printf("  %7.3f %7.3f\n", numbers_median(&sums.error), numbers_median(&sums.width));
    numbers_free(&sums.error);
    numbers_free(&sums.width);
}

int main(int argc, char **argv) {
    static const double correlations[] = {0, 0.1, 0.3}, sizes[] = {6, 10, 20, 60};
    const char *model = argc > 1 ? argv[1] : "linear";
    const uint64_t logs = argc > 2 ? strtoull(argv[2], NULL, 10) : 400;
    const uint64_t seed = argc > 3 ? strtoull(argv[3], NULL, 10) : 2000;
    const double rate = argc > 4 ? atof(argv[4]) : 10;
    printf("%6s %6s %10s %6s  %-20s  %-20s  %7s %7s\n", "corr", "size", "found", "beyond",
           "time held", "size held", "error", "width");
    for (size_t c = 0; c < sizeof correlations / sizeof *correlations; c++)
        for (size_t s = 0; s < sizeof sizes / sizeof *sizes; s++)
            evaluate(model, &(setting){correlations[c], sizes[s]}, rate, logs, seed);
    return 0;
}
