/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: the local polynomial on uneven times gives exact values and derivatives, leaves missing
 * samples out, refuses to guess, and reports the noise that it lets through. */
#include <support/check.h>
#include <support/reference.h>

#include <shottrace/signal/local_fit.h>
#include <shottrace/signal/random.h>
#include <shottrace/signal/sample_quantile.h>
#include <shottrace/signal/savgol.h>

enum { ROWS = 10 };

static const double uneven_t[ROWS] = {0, 0.9, 2.1, 2.8, 4.2, 5, 6.3, 7.1, 7.9, 9.2};
static const double uneven_y[ROWS] = {1.2, 1.9, 3.1, 3.4, 4.8, 5.1, 5.9, 6.2, 6.1, 6};

/* Exact rational least squares on these decimals, rounded to 12 digits; numpy.polyfit agrees to
 * 1e-11. Value, slope, second derivative. */
static const double parabola_of_5[ROWS][3] = {
    {1.199230769231, 0.812271062271, 0.018315018315},
    {1.937692307692, 0.828754578755, 0.018315018315},
    {2.945384615385, 0.850732600733, 0.018315018315},
    {3.585120853108, 0.809347123999, -0.079807594411},
    {4.639267714716, 0.690839549394, -0.084384385980},
    {5.219993290476, 0.630959454902, -0.164481905758},
    {5.871243758736, 0.345184181561, -0.195921421961},
    {6.127228970559, 0.202970297030, -0.264583139168},
    {6.204938603649, -0.008696214304, -0.264583139168},
    {5.970060772457, -0.352654295222, -0.264583139168},
};
static const double cubic_of_7[ROWS][3] = {
    {1.188558646562, 0.816161881915, 0.058072174135},
    {1.941965520047, 0.852900002760, 0.023568094408},
    {2.971373245820, 0.853578452267, -0.022437345229},
    {3.561189364799, 0.828479533348, -0.049273851683},
    {4.652720943491, 0.709454827336, -0.098539956474},
    {5.207677854797, 0.690093829828, -0.149583140376},
    {5.883690216045, 0.355947581485, -0.210810489395},
    {6.100147734873, 0.184144728394, -0.218696643333},
    {6.176639401968, 0.006032952153, -0.226582797270},
    {5.989410217698, -0.296854434395, -0.239397797419},
};

/* The window of `points` rows about row i, pushed inside at the ends. */
static size_t first_of(size_t i, size_t points) {
    const size_t half = points / 2;
    const size_t first = i < half ? 0 : i - half;
    return first + points > ROWS ? ROWS - points : first;
}

static void check_exact(size_t points, size_t order, const double known[ROWS][3], double shift) {
    shot_local_fit *fit;
    double t[ROWS];
    assert_int_equal(shot_local_fit_new(order, &fit), SHOT_OK);
    for (size_t i = 0; i < ROWS; i++)
        t[i] = uneven_t[i] + shift;
    for (size_t i = 0; i < ROWS; i++) {
        const size_t first = first_of(i, points);
        assert_int_equal(shot_local_fit_set(fit, t + first, uneven_y + first, points, t[i], 0),
                         SHOT_OK);
        /* a shift by 4096 rounds the stamps to 5e-13, which slopes of order 1 carry on */
        const double tolerance[3] = {shift ? 1e-9 : 1e-11, shift ? 1e-9 : 1e-11,
                                     shift ? 1e-9 : 1e-10};
        for (size_t d = 0; d < 3; d++)
            assert_close(shot_local_fit_at(fit, t[i], d).value, known[i][d], tolerance[d]);
    }
    shot_local_fit_free(fit);
}

static void uneven_times_give_the_exact_fit(void **state) {
    check_exact(5, 2, parabola_of_5, 0);
    check_exact(7, 3, cubic_of_7, 0);
    check_exact(5, 2, parabola_of_5, 4096);
    check_exact(7, 3, cubic_of_7, 4096);
}

static void exact_fractions(void **state) {
    shot_local_fit *fit;
    assert_int_equal(shot_local_fit_new(2, &fit), SHOT_OK);
    assert_int_equal(shot_local_fit_set(fit, uneven_t, uneven_y, 5, 0, 0), SHOT_OK);
    assert_rel(shot_local_fit_at(fit, 0, 0).value, 1559.0 / 1300, 1e-14);
    assert_int_equal(shot_local_fit_set(fit, uneven_t + 2, uneven_y + 2, 5, 4.2, 0), SHOT_OK);
    assert_rel(shot_local_fit_at(fit, 4.2, 0).value, 76098697.0 / 16403170, 1e-14);
    assert_rel(shot_local_fit_at(fit, 4.2, 1).value, 7932371.0 / 11482219, 1e-13);
    shot_local_fit_free(fit);
}

/* An epoch clock in seconds with steps of 0.1 s: the stamps round to 2.4e-7, the fit adds nothing
 * to that. */
static void epoch_clocks_lose_only_what_their_stamps_lost(void **state) {
    enum { N = 21 };
    double t[N], y[N];
    shot_local_fit *fit;
    assert_int_equal(shot_local_fit_new(2, &fit), SHOT_OK);
    for (size_t i = 0; i < N; i++) {
        t[i] = 1.7e9 + 0.1 * (double)i;
        const double x = t[i] - 1.7e9; /* exact */
        y[i] = 1 + 2 * x + 3 * x * x;
    }
    assert_int_equal(shot_local_fit_set(fit, t, y, N, t[10], 0), SHOT_OK);
    const double x = t[10] - 1.7e9;
    assert_rel(shot_local_fit_at(fit, t[10], 0).value, y[10], 1e-14);
    assert_rel(shot_local_fit_at(fit, t[10], 1).value, 2 + 6 * x, 1e-13);
    assert_rel(shot_local_fit_at(fit, t[10], 2).value, 6.0, 1e-12);
    shot_local_fit_free(fit);
}

/* A polynomial of the fit's degree comes back unchanged, with all its derivatives, tapered or not,
 * at any place and with holes. */
static void polynomials_pass_unchanged(void **state) {
    enum { N = 31 };
    shot_random random = shot_random_at(3, 1);
    for (size_t order = 0; order <= 6; order++) {
        shot_local_fit *fit;
        assert_int_equal(shot_local_fit_new(order, &fit), SHOT_OK);
        for (int trial = 0; trial < 50; trial++) {
            double t[N], y[N], c[7], now = shot_random_between(&random, -50, 50);
            for (size_t k = 0; k <= order; k++)
                c[k] = shot_random_between(&random, -2, 2);
            const double start = now;
            for (size_t i = 0; i < N; i++) {
                t[i] = now += shot_random_between(&random, 0.02, 0.2);
                y[i] = 0;
                for (size_t k = order + 1; k-- > 0;)
                    y[i] = y[i] * (t[i] - start) + c[k];
                if (shot_random_chance(&random, 0.2))
                    y[i] = NAN;
            }
            const double at = t[N / 2], x = at - start;
            assert_int_equal(
                shot_local_fit_set(fit, t, y, N, at, trial % 2 ? 1.1 * (t[N - 1] - t[0]) : 0),
                SHOT_OK);
            double value = 0, slope = 0, size = 0;
            for (size_t k = order + 1; k-- > 0;) {
                slope = slope * x + value;
                value = value * x + c[k];
                size = size * x + fabs(c[k]);
            }
            assert_close(shot_local_fit_at(fit, at, 0).value, value, 1e-12 * size);
            assert_close(shot_local_fit_at(fit, at, 1).value, slope,
                         1e-11 * size * (double)(order + 1));
        }
        shot_local_fit_free(fit);
    }
}

/* On an even grid the fit is the Savitzky-Golay filter, gain included. */
static void even_times_give_savitzky_golay(void **state) {
    for (size_t order = 0; order <= 5; order++) {
        const shot_savgol shape = {6, 6, order, order / 2, 1.5};
        double t[13], y[13] = {0}, fit_w[13], w[13];
        shot_local_fit *fit;
        assert_int_equal(shot_local_fit_new(order, &fit), SHOT_OK);
        for (size_t i = 0; i < 13; i++)
            t[i] = 100 + 0.25 * (double)i;
        assert_int_equal(shot_local_fit_set(fit, t, y, 13, t[6], 0), SHOT_OK);
        shot_local_fit_weights(fit, t[6] + 1.5 * 0.25, order / 2, fit_w);
        assert_int_equal(shot_savgol_weights(&shape, w), SHOT_OK);
        const double unit = pow(0.25, (double)(order / 2));
        for (size_t i = 0; i < 13; i++)
            assert_close(fit_w[i] * unit, w[i], 1e-14);
        assert_rel(shot_local_fit_at(fit, t[6] + 1.5 * 0.25, order / 2).gain * unit * unit,
                   shot_savgol_gain(w, 13), 1e-13);
        shot_local_fit_free(fit);
    }
}

/* Value and gain are what the weights say, with a taper and holes too. */
static void weights_make_value_and_gain(void **state) {
    const double y[ROWS] = {1.2, NAN, 3.1, 3.4, 4.8, NAN, 5.9, 6.2, 6.1, 6};
    for (int tapered = 0; tapered < 2; tapered++) {
        double w[ROWS], value = 0, gain = 0;
        shot_local_fit *fit;
        assert_int_equal(shot_local_fit_new(2, &fit), SHOT_OK);
        assert_int_equal(shot_local_fit_set(fit, uneven_t, y, ROWS, 5, tapered ? 4.3 : 0), SHOT_OK);
        shot_local_fit_weights(fit, 5, 1, w);
        for (size_t i = 0; i < ROWS; i++) {
            value += isnan(y[i]) ? 0 : w[i] * y[i];
            gain += w[i] * w[i];
        }
        assert_true(w[1] == 0 && w[5] == 0);
        assert_true(!tapered || w[0] == 0); /* 5 s away, taper 4.3 s */
        assert_rel(shot_local_fit_at(fit, 5, 1).value, value, 1e-13);
        assert_rel(shot_local_fit_at(fit, 5, 1).gain, gain, 1e-13);
        shot_local_fit_free(fit);
    }
}

/* A line with tricube weights by hand: t = -1, 0, 1, taper 2, weights (1 - 1/8)^3 = 343/512 at the
 * sides.  y = 0, 3, 0: the value is the weighted mean 3 / (1 + 2 * 343/512), the slope 0. */
static void tricube_weights_count(void **state) {
    const double t[] = {-1, 0, 1}, y[] = {0, 3, 0};
    shot_local_fit *fit;
    assert_int_equal(shot_local_fit_new(1, &fit), SHOT_OK);
    assert_int_equal(shot_local_fit_set(fit, t, y, 3, 0, 2), SHOT_OK);
    assert_rel(shot_local_fit_at(fit, 0, 0).value, 3 / (1 + 2 * 343.0 / 512), 1e-15);
    assert_close(shot_local_fit_at(fit, 0, 1).value, 0, 1e-15);
    shot_local_fit_free(fit);
}

static void too_few_samples_give_no_value(void **state) {
    const double t[] = {0, 1, 1, 1, 2}, y[] = {1, 2, 3, 4, NAN};
    shot_local_fit *fit;
    assert_int_equal(shot_local_fit_new(2, &fit), SHOT_OK);
    assert_true(isnan(shot_local_fit_at(fit, 0, 0).value)); /* nothing set yet */
    assert_int_equal(shot_local_fit_set(fit, t, y, 5, 1, 0), SHOT_ERR_SINGULAR); /* 2 times */
    assert_true(isnan(shot_local_fit_at(fit, 1, 0).value));
    assert_true(isnan(shot_local_fit_at(fit, 1, 0).gain));
    double w[5];
    shot_local_fit_weights(fit, 1, 0, w);
    assert_true(isnan(w[0]));
    assert_int_equal(shot_local_fit_set(fit, t, y, 0, 1, 0), SHOT_ERR_SINGULAR);
    assert_int_equal(shot_local_fit_set(fit, t, y, 5, 1, -1), SHOT_ERR_RANGE);
    shot_local_fit_free(fit);
    shot_local_fit_free(NULL);
    assert_int_equal(shot_local_fit_new(SIZE_MAX, &fit), SHOT_ERR_MEMORY);
    assert_null(fit);
}

/* Locally weighted regression of Cleveland 1979, J. Am. Stat. Assoc. 74:829-836, without its robust
 * rounds, on speed and stopping distance (Ezekiel 1930): a line with tricube weights over the 33
 * nearest of 50 samples, many of them tied.  The values are those of R 4.2.2,
 * lowess(cars, f = 2/3, iter = 0, delta = 0), which follows Cleveland's own program; 15 digits. */
static void tapered_lines_are_clevelands(void **state) {
    static const struct {
        double speed, value;
    } known[] = {
        {4, 3.44386376770817},  {7, 12.784337355356},   {8, 15.9523925594301},
        {9, 19.096756203497},   {10, 22.1871050994961}, {11, 25.6057425711934},
        {12, 29.3631525336528}, {13, 32.9158438354901}, {14, 36.5587877608025},
        {15, 41.1030326468436}, {16, 45.021073168555},  {17, 47.3632037084674},
        {18, 49.5652621693894}, {19, 52.9046014359251}, {20, 59.4110964650322},
        {22, 71.2157095269454}, {23, 77.029829457655},  {24, 82.9754481641353},
        {25, 89.1275154056773},
    };
    enum { CARS = 50, NEAREST = 33 };
    double speed[CARS], distance[CARS], away[CARS];
    assert_int_equal(reference_group("cars.csv", 0, NULL, speed, CARS), CARS);
    assert_int_equal(reference_group("cars.csv", 1, NULL, distance, CARS), CARS);
    shot_local_fit *fit;
    assert_int_equal(shot_local_fit_new(1, &fit), SHOT_OK);
    for (size_t k = 0; k < sizeof known / sizeof *known; k++) {
        for (size_t i = 0; i < CARS; i++)
            away[i] = fabs(speed[i] - known[k].speed);
        shot_sample_quantile_sort(away, CARS);
        assert_int_equal(
            shot_local_fit_set(fit, speed, distance, CARS, known[k].speed, away[NEAREST - 1]),
            SHOT_OK);
        /* rounding of 15 digits, and of a dozen sums */
        assert_rel(shot_local_fit_at(fit, known[k].speed, 0).value, known[k].value, 1e-12);
    }
    shot_local_fit_free(fit);
}

/* A fit that is set again and again, on times that often are those before, with values missing or
 * not and tapers or not, gives to the bit what one gives that is made for each. */
static void a_fit_set_again_is_a_new_one(void **state) {
    shot_random random = shot_random_at(93, 1);
    shot_local_fit *kept;
    assert_int_equal(shot_local_fit_new(3, &kept), SHOT_OK);
    for (int i = 0; i < 2000; i++) {
        const size_t n = shot_random_chance(&random, 0.8) ? ROWS : 3 + (size_t)i % 7;
        const double taper = shot_random_chance(&random, 0.3) ? 6 : 0;
        const double centre = shot_random_chance(&random, 0.8) ? 4.2 : 5;
        double y[ROWS];
        for (size_t k = 0; k < ROWS; k++)
            y[k] = shot_random_chance(&random, 0.02) ? NAN : shot_random_normal(&random);
        shot_local_fit *new;
        assert_int_equal(shot_local_fit_new(3, &new), SHOT_OK);
        assert_int_equal(shot_local_fit_set(kept, uneven_t, y, n, centre, taper),
                         shot_local_fit_set(new, uneven_t, y, n, centre, taper));
        const shot_local_fit_value a = shot_local_fit_at(kept, 3.3, (size_t)i % 3);
        const shot_local_fit_value b = shot_local_fit_at(new, 3.3, (size_t)i % 3);
        double of_kept[ROWS], of_new[ROWS];
        shot_local_fit_weights(kept, 3.3, 1, of_kept);
        shot_local_fit_weights(new, 3.3, 1, of_new);
        assert_memory_equal(&a, &b, sizeof a);
        assert_memory_equal(of_kept, of_new, n * sizeof *of_new);
        shot_local_fit_free(new);
    }
    shot_local_fit_free(kept);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(uneven_times_give_the_exact_fit),
        cmocka_unit_test(exact_fractions),
        cmocka_unit_test(epoch_clocks_lose_only_what_their_stamps_lost),
        cmocka_unit_test(polynomials_pass_unchanged),
        cmocka_unit_test(even_times_give_savitzky_golay),
        cmocka_unit_test(weights_make_value_and_gain),
        cmocka_unit_test(tricube_weights_count),
        cmocka_unit_test(tapered_lines_are_clevelands),
        cmocka_unit_test(too_few_samples_give_no_value),
        cmocka_unit_test(a_fit_set_again_is_a_new_one),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
