/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the dynamic programme finds the optimum of exhaustive enumeration; noise alone gives
 * breaks at the stated rate; the knees of a shot are found, refined, and covered by their
 * intervals. */
#include <support/check.h>
#include <support/turns.h>

#include <stdlib.h>

#include <shottrace/signal/least_squares.h>
#include <shottrace/signal/random.h>
#include <shottrace/signal/slope_partition.h>

#include "signal/line_sums.h"

enum { FEW = 11, MOST = 3000 };

/* Residual sum of squares with hinges at the samples of the bit set. */
static double rss_of(const double *t, const double *y, size_t n, unsigned set) {
    double a[FEW * FEW], x[FEW], work[1024];
    size_t columns = 2;
    shot_least_squares fit;
    for (size_t i = 0; i < n; i++) {
        a[i] = 1;
        a[n + i] = t[i];
    }
    for (size_t k = 0; k < n; k++) {
        if (!(set >> k & 1))
            continue;
        for (size_t i = 0; i < n; i++)
            a[columns * n + i] = fmax(0, t[i] - t[k]);
        columns++;
    }
    assert_true(shot_least_squares_workspace(n, columns) <= 1024);
    assert_int_equal(shot_least_squares_fit(a, y, n, columns, work, x, NULL, &fit), SHOT_OK);
    return fit.sum_of_squares;
}

static bool leaves_enough(unsigned set, size_t n, size_t least) {
    size_t samples = 0;
    for (size_t k = 0; k < n; k++) {
        samples++;
        if (set >> k & 1) {
            if (samples < least || k == 0 || k + 1 == n)
                return false;
            samples = 0;
        }
    }
    return samples >= least;
}

/* Fearnhead, Maidstone & Letchford 2019: functional pruning never loses the optimum.  The path by
 * orthogonal transformations here is independent of the recursion there; 1e-9 is what the sums of
 * squares of order 10 keep. */
static void the_optimum_is_that_of_exhaustive_enumeration(void **state) {
    shot_random random = shot_random_at(77, 0);
    for (unsigned trial = 0; trial < turns(40); trial++) {
        size_t n = FEW, count, least = 2 + (size_t)trial % 2;
        double t[FEW], y[FEW], best = INFINITY, cost, *at;
        double penalty = shot_random_between(&random, 0.3, 4);
        for (size_t i = 0; i < n; i++) {
            t[i] = (double)i + shot_random_between(&random, 0, 0.7);
            y[i] = shot_random_normal(&random) + (i > 4 ? 2 * ((double)i - 4) : 0);
        }
        for (unsigned set = 0; set < 1u << n; set++) {
            if (!leaves_enough(set, n, least))
                continue;
            double price = rss_of(t, y, n, set);
            for (size_t k = 0; k < n; k++)
                price += set >> k & 1 ? penalty : 0;
            best = fmin(best, price);
        }
        shot_slope_partition_options options = {.penalty = penalty, .min_samples = least};
        assert_int_equal(shot_slope_partition_find(t, y, n, &options, &at, &count, &cost), SHOT_OK);
        assert_close(cost, best, 1e-9);
        free(at);
    }
}

/* Up to three hinges at samples, by one formula for a whole broken line. */
static double least_of_three(const line_sums *sums, double penalty, size_t least) {
    double value[5], work[10], knot[5] = {sums->x[0]}, end = sums->x[sums->n - 1];
    double best = INFINITY;
    size_t n = sums->n;
    for (size_t i = 0; i < n; i++)
        for (size_t j = i; j < n; j++)
            for (size_t k = j; k < n; k++) { /* 0 stands for none: 0,0,0; 0,0,k; 0,j,k; i,j,k */
                size_t places[3] = {i, j, k}, cut[5] = {0}, m = 1;
                bool enough = true;
                for (size_t p = 0; p < 3; p++)
                    if (places[p] > 0) {
                        knot[m] = sums->x[places[p]];
                        cut[m] = places[p] + 1;
                        enough = enough && cut[m] >= cut[m - 1] + least;
                        m++;
                    }
                knot[m] = end;
                cut[m] = n;
                if (!enough || n < cut[m - 1] + least)
                    continue;
                double rss = line_sums_broken_at(sums, cut, knot, m + 1, value, work);
                best = fmin(best, rss + penalty * (double)(m - 1));
            }
    return best;
}

/* Long pieces between clear knees are what ends a history before its time: the optimum is still
 * that of all placings.  Three hinges are enough where no more are found; 1e-9 as above. */
static void histories_that_end_early_lose_nothing(void **state) {
    enum { SOME = 40 };
    shot_random random = shot_random_at(80, 0);
    unsigned trials = 0;
    for (unsigned trial = 0; trial < turns(200); trial++) {
        double t[SOME], y[SOME], cost, *at;
        double first = shot_random_between(&random, 8, 20),
               turn = shot_random_between(&random, 0.3, 3);
        double second = first + shot_random_between(&random, 4, 20);
        size_t count, least = 1 + (size_t)trial % 4;
        for (size_t i = 0; i < SOME; i++) {
            t[i] = i ? t[i - 1] + shot_random_between(&random, 0.3, 1.7) : 0;
            y[i] = turn * (fmax(0, t[i] - first) - 2 * fmax(0, t[i] - second)) +
                   shot_random_normal(&random);
        }
        shot_slope_partition_options options = {.penalty = 6, .min_samples = least};
        assert_int_equal(shot_slope_partition_find(t, y, SOME, &options, &at, &count, &cost),
                         SHOT_OK);
        free(at);
        if (count > 3)
            continue;
        line_sums *sums;
        trials++;
        assert_int_equal(line_sums_new(t, y, NULL, SOME, &sums), SHOT_OK);
        assert_rel(cost, least_of_three(sums, options.penalty, least), 1e-9);
        line_sums_free(sums);
    }
    assert_true(4 * trials > 3 * turns(200));
}

/* At 1 % a series: the bound is one for a single break, and Davies' bound is not exact; not more
 * than 1 in 1000 repetitions of a test at 1 % would pass these numbers (binomial). */
static void noise_alone_gets_a_break_at_the_stated_rate(void **state) {
    const struct {
        size_t n;
        int series, most;
    } runs[] = {{30, 1000, 20}, {100, 500, 13}, {300, 200, 7}, {2000, 60, 4}};
    static double t[MOST], y[MOST];
    for (size_t r = 0; r < 4; r++) {
        shot_random random = shot_random_at(78, r);
        int alarms = 0;
        for (int s = 0; s < runs[r].series; s++) {
            for (size_t i = 0; i < runs[r].n; i++) {
                t[i] = (double)i / 10;
                y[i] = 0.3 * t[i] + 0.05 * shot_random_normal(&random);
            }
            shot_slope_partition_options options = {
                .penalty = shot_slope_partition_penalty(runs[r].n, 0.05, 0.01), .most_places = 100};
            double *at;
            size_t count;
            assert_int_equal(
                shot_slope_partition_find(t, y, runs[r].n, &options, &at, &count, NULL), SHOT_OK);
            alarms += count > 0;
            free(at);
        }
        print_message("%zu samples: %d alarms in %d series\n", runs[r].n, alarms, runs[r].series);
        assert_in_range(alarms, 0, runs[r].most);
    }
}

static double textbook(double t) {
    return t < 6.5  ? 8.7 * t / 6.5
           : t < 7  ? 8.7 + 0.6 * (t - 6.5)
           : t < 27 ? 9
                    : fmax(0, 9 * (28 - t));
}

static const shot_line_break *nearest(const shot_segmented_line *line, double t) {
    size_t best = 0;
    for (size_t j = 1; j < line->count; j++)
        if (fabs(line->breaks[j].at - t) < fabs(line->breaks[best].at - t))
            best = j;
    return &line->breaks[best];
}

/* Knees at 6.5, 7, 27 and 28 s, noise 0.01 bar, at rates from 10 to 100 Hz.  Least squares told the
 * number of knees reaches RMS errors of 0.013, 0.015 and 0.0007 s at 10 Hz; three times that, and
 * at least 80 % coverage of nominal 95 %: 20 series have a binomial SD of 4.9 %.  A fifth break
 * comes at about the alarm rate. */
static void the_knees_of_a_shot_are_found_with_their_intervals(void **state) {
    const double truth[] = {6.5, 7, 27, 28}, rms[] = {0.013, 0.015, 0.0007, 0.0007};
    const double rates[] = {10, 25, 100};
    static double t[MOST], y[MOST];
    for (int r = 0; r < 3; r++) {
        double square[4] = {0};
        int covered[4] = {0}, series = r < 2 ? 20 : 5, extra = 0;
        for (int s = 0; s < series; s++) {
            shot_random random = shot_random_at(79, (uint64_t)s);
            size_t n = (size_t)(30 * rates[r]);
            for (size_t i = 0; i < n; i++) {
                t[i] = (double)i / rates[r];
                y[i] = textbook(t[i]) + 0.01 * shot_random_normal(&random);
            }
            shot_slope_partition_options options = {
                .penalty = shot_slope_partition_penalty(n, 0.01, 0.01)};
            shot_segmented_line_options intervals = {.sd = 0.01, .z = 1.96};
            shot_segmented_line *line;
            assert_int_equal(shot_slope_partition_fit(t, y, n, &options, &intervals, &line),
                             SHOT_OK);
            assert_true(line->count >= 4);
            extra += (int)line->count - 4;
            for (int j = 0; j < 4; j++) {
                const shot_line_break *b = nearest(line, truth[j]);
                square[j] += (b->at - truth[j]) * (b->at - truth[j]);
                covered[j] += b->low <= truth[j] && truth[j] <= b->high;
            }
            shot_segmented_line_free(line);
        }
        assert_true(extra <= 2);
        for (int j = 0; j < 4; j++) {
            print_message("%g Hz, knee %g s: RMS error %.5f s, covered %d of %d\n", rates[r],
                          truth[j], sqrt(square[j] / series), covered[j], series);
            assert_true(sqrt(square[j] / series) < 3 * rms[j]);
            assert_true(covered[j] >= 0.8 * series);
        }
    }
}

/* u solves the equation stated: checked by inserting it. */
/* A zigzag of 0.5 a second, forty times up or down: each change of slope of 1 a second in noise of
 * 0.05 is placed with a standard error of some 0.01 s (ten samples a second), and of the two breaks
 * that candidates beside it give one is left. */
static void of_many_joints_each_is_found_once(void **state) {
    enum { JOINTS = 39, A_PIECE = 100 };
    const size_t n = (JOINTS + 1) * A_PIECE;
    double *t = calloc(2 * n, sizeof *t), *y = t + n;
    shot_random random = shot_random_at(79, 0);
    for (size_t i = 0; i < n; i++) {
        const double part = fmod((double)i / 10, 20);
        t[i] = (double)i / 10;
        y[i] = 3 + 0.5 * fmin(part, 20 - part) + 0.05 * shot_random_normal(&random);
    }
    shot_slope_partition_options options = {.penalty = shot_slope_partition_penalty(n, 0.05, 0.01)};
    shot_segmented_line_options intervals = {.sd = 0.05, .z = 1.96};
    shot_segmented_line *line;
    assert_int_equal(shot_slope_partition_fit(t, y, n, &options, &intervals, &line), SHOT_OK);
    assert_int_equal(line->count, JOINTS);
    for (size_t j = 0; j < JOINTS; j++)
        assert_close(line->breaks[j].at, 10 * ((double)j + 1), 0.1);
    shot_segmented_line_free(line);
    free(t);
}

static void the_price_follows_the_stated_equation(void **state) {
    for (size_t n = 7; n < 100000; n *= 3) {
        double u = sqrt(shot_slope_partition_penalty(n, 1, 0.01));
        double path = sqrt(3.0) * log((double)n / 2 - 1);
        assert_close(erfc(u / sqrt(2)) + path / 3.141592653589793 * exp(-u * u / 2), 0.01, 1e-9);
    }
    assert_true(isnan(shot_slope_partition_penalty(6, 1, 0.01)));
    assert_true(isnan(shot_slope_partition_penalty(60, 1, 1)));
}

static void what_cannot_be_partitioned_is_refused(void **state) {
    double t[] = {0, 0, 0}, y[] = {1, NAN, 2}, *at;
    size_t count;
    shot_slope_partition_options options = {.penalty = 1};
    assert_int_equal(shot_slope_partition_find(t, y, 3, &options, &at, &count, NULL),
                     SHOT_ERR_SINGULAR);
    assert_null(at);
    options.penalty = 0;
    assert_int_equal(shot_slope_partition_find(t, y, 3, &options, &at, &count, NULL),
                     SHOT_ERR_RANGE);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_optimum_is_that_of_exhaustive_enumeration),
        cmocka_unit_test(histories_that_end_early_lose_nothing),
        cmocka_unit_test(noise_alone_gets_a_break_at_the_stated_rate),
        cmocka_unit_test(the_knees_of_a_shot_are_found_with_their_intervals),
        cmocka_unit_test(of_many_joints_each_is_found_once),
        cmocka_unit_test(the_price_follows_the_stated_equation),
        cmocka_unit_test(what_cannot_be_partitioned_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
