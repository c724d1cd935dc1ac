/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Protects: breaks of a broken line are where published analyses put them, also on corners of the
 * profile; intervals cover at their level for white and correlated noise; the four knees of a shot
 * are found as well as a careful fit can. */
#include <support/check.h>
#include <support/reference.h>

#include <shottrace/signal/random.h>
#include <shottrace/signal/segmented_line.h>

enum { MOST = 4000 };

static const shot_segmented_line_options plain = {.z = 1.959963985};

static void sort_by_first(double *x, double *y, size_t n) {
    for (size_t i = 1; i < n; i++)
        for (size_t k = i; k > 0 && x[k] < x[k - 1]; k--) {
            double sx = x[k], sy = y[k];
            x[k] = x[k - 1], y[k] = y[k - 1];
            x[k - 1] = sx, y[k - 1] = sy;
        }
}

/* Bacon & Watts 1971, 'Estimating the transition between two intersecting straight lines',
 * Biometrika 58:525-534.  Expected values: R package segmented 1.6-2.  Tolerances: the objective is
 * flat at its minimum, so 1e-5 for the place, and the digits printed for the rest.  The interval is
 * psi -+ t(0.975, 24) standard errors. */
static void stagnant_band_height_has_the_published_knee(void **state) {
    double x[MOST], y[MOST];
    size_t n = reference_group("stagnant.csv", 0, NULL, x, MOST);
    assert_int_equal(n, reference_group("stagnant.csv", 1, NULL, y, MOST));
    sort_by_first(x, y, n);
    shot_segmented_line_options options = {.z = 2.063898562, .interval = SHOT_INTERVAL_WALD};
    shot_segmented_line *line;
    assert_int_equal(shot_segmented_line_fit(x, y, n, NULL, 1, &options, &line), SHOT_OK);
    assert_int_equal(line->used, 28);
    assert_close(line->breaks[0].at, 0.04110578, 1e-5);
    assert_rel(line->breaks[0].se, 0.02283481, 1e-4);
    assert_close(line->breaks[0].low, -0.00602294, 1e-5);
    assert_close(line->breaks[0].high, 0.08823451, 1e-5);
    assert_close(line->pieces[0].slope, -0.42207681, 1e-6);
    assert_rel(line->pieces[0].slope_se, 0.01148731, 1e-4);
    assert_close(line->pieces[1].slope, -1.02056755, 1e-6);
    assert_rel(line->pieces[1].slope_se, 0.01506794, 1e-4);
    assert_close(shot_segmented_line_value(line, 0), 0.54466108, 1e-6);
    assert_close(line->rss, 0.009140197232, 1e-9);
    shot_segmented_line_free(line);
}

/* Data of Z. Yang, University of Queensland, in the R package segmented (Muggeo 2008, R News
 * 8(1):20-25); expected values from that package and an independent profile search.  In RWC the
 * optimum is a corner on a sample, where gradients stall. */
static void plant_organs_have_the_published_knees(void **state) {
    static const struct {
        const char *group;
        size_t n;
        double at, se, before, after, rss;
    } expected[] = {
        {"RKV", 32, 383.765137, 8.234756, 0.00223273368, -0.00036389783, 0.0279197890991},
        {"RKW", 37, 469.100619, 13.614343, 0.00226190157, 0.00038245964, 0.0434707551638},
        {"RWC", 34, 331.400000, 9.335512, 0.00216797823, -0.00125827811, 0.0525117058673},
    };
    for (size_t g = 0; g < 3; g++) {
        double x[MOST], y[MOST];
        size_t n = reference_group("plant.csv", 1, expected[g].group, x, MOST);
        assert_int_equal(n, expected[g].n);
        reference_group("plant.csv", 0, expected[g].group, y, MOST);
        sort_by_first(x, y, n);
        shot_segmented_line *line;
        assert_int_equal(shot_segmented_line_fit(x, y, n, NULL, 1, &plain, &line), SHOT_OK);
        assert_close(line->breaks[0].at, expected[g].at, 0.01);
        assert_close(line->pieces[0].slope, expected[g].before, 1e-8);
        assert_close(line->pieces[1].slope, expected[g].after, 1e-8);
        assert_close(line->rss, expected[g].rss, 1e-9);
        if (g < 2) /* on a corner a standard error is only nominal */
            assert_rel(line->breaks[0].se, expected[g].se, 1e-3);
        shot_segmented_line_free(line);
    }
}

/* Logistic regression by iterated weights around the weighted fit: Davison & Hinkley 1997,
 * 'Bootstrap Methods and their Application'; expected values: R package segmented 1.6-2. */
static void weights_allow_a_knee_in_a_logit(void **state) {
    double age[64], births[64], cases[64], eta[64], z[64], w[64];
    size_t n = reference_group("down.csv", 0, NULL, age, 64);
    reference_group("down.csv", 1, NULL, births, 64);
    reference_group("down.csv", 2, NULL, cases, 64);
    for (size_t i = 0; i < n; i++)
        eta[i] = log((cases[i] + 0.5) / (births[i] - cases[i] + 0.5));
    shot_segmented_line *line = NULL;
    shot_segmented_line_options options = {
        .z = 1.96, .weights = w, .sd = 1, .interval = SHOT_INTERVAL_WALD};
    for (int round = 0; round < 50; round++) {
        for (size_t i = 0; i < n; i++) {
            double p = 1 / (1 + exp(-eta[i]));
            w[i] = births[i] * p * (1 - p);
            z[i] = eta[i] + (cases[i] - births[i] * p) / w[i];
        }
        shot_segmented_line_free(line);
        assert_int_equal(shot_segmented_line_fit(age, z, n, NULL, 1, &options, &line), SHOT_OK);
        for (size_t i = 0; i < n; i++)
            eta[i] = shot_segmented_line_value(line, age[i]);
    }
    double deviance = 0;
    for (size_t i = 0; i < n; i++) {
        double m = births[i] / (1 + exp(-eta[i]));
        deviance += 2 * (cases[i] > 0 ? cases[i] * log(cases[i] / m) : 0) +
                    2 * (births[i] - cases[i]) * log((births[i] - cases[i]) / (births[i] - m));
    }
    assert_close(line->breaks[0].at, 31.0811494, 1e-3);
    assert_close(line->breaks[0].se, 0.7242074, 1e-3);
    assert_close(line->pieces[0].slope, -0.0134104, 1e-4);
    assert_close(line->pieces[1].slope, 0.2608108, 1e-4);
    assert_close(deviance, 43.93867523, 1e-6);
    shot_segmented_line_free(line);
}

/* A rise to 8.7 bar in 6.5 s, a final rise to 9 bar at 7 s, a plateau, a release from 27 to 28 s.
 */
static double shot_pressure(double t) {
    if (t < 6.5)
        return 8.7 * t / 6.5;
    if (t < 7)
        return 8.7 + 0.6 * (t - 6.5);
    return t < 27 ? 9 : 9 * (28 - t);
}

static void exact_lines_are_found_exactly(void **state) {
    double t[281], y[281];
    for (int i = 0; i < 281; i++) {
        t[i] = 1.7e9 + i / 10.0; /* a clock of the day */
        y[i] = i % 7 == 3 ? NAN : shot_pressure(i / 10.0);
    }
    shot_segmented_line *line;
    assert_int_equal(shot_segmented_line_fit(t, y, 281, NULL, 3, &plain, &line), SHOT_OK);
    const double at[] = {6.5, 7, 27}, slope[] = {8.7 / 6.5, 0.6, 0, -9};
    for (int j = 0; j < 3; j++) /* a clock near 2^31 s resolves 2.4e-7 s */
        assert_close(line->breaks[j].at - 1.7e9, at[j], 1e-6);
    for (int j = 0; j < 4; j++)
        assert_close(line->pieces[j].slope, slope[j], 1e-5);
    assert_close(line->rss, 0, 1e-9);
    shot_segmented_line_free(line);
}

/* 200 seeds, noise SD 0.05 bar, 10 Hz.  95 % of the errors of a continuous least-squares fit lie
 * within 0.12, 0.16 and 0.007 s (an independent fit, started at the truth); here the search starts
 * from afar: a quarter more, rounded up, is allowed, and at
 * least 91 % must, three binomial standard errors less.  (The mean square is ruled by the one or
 * two series in which another placing fits the noise better.)  Coverage of the nominal 95 % must
 * lie in 90..99 %: 3 binomial standard errors are 4.6 %. */
static void knees_of_a_noisy_shot_are_as_good_as_a_careful_fit(void **state) {
    const double at[] = {6.5, 7, 27}, usual[] = {0.16, 0.2, 0.009};
    int covered[3] = {0}, near[3] = {0};
    shot_random random = shot_random_at(20, 0);
    shot_segmented_line_options options = {.z = 1.96, .sd = 0.05};
    for (int trial = 0; trial < 200; trial++) {
        double t[281], y[281];
        for (int i = 0; i < 281; i++) {
            t[i] = i / 10.0;
            y[i] = shot_pressure(t[i]) + 0.05 * shot_random_normal(&random);
        }
        shot_segmented_line *line;
        const double starts[] = {6, 8, 26};
        assert_int_equal(shot_segmented_line_fit(t, y, 281, starts, 3, &options, &line), SHOT_OK);
        for (int j = 0; j < 3; j++) {
            double e = line->breaks[j].at - at[j];
            near[j] += fabs(e) <= usual[j];
            covered[j] += line->breaks[j].low <= at[j] && at[j] <= line->breaks[j].high;
        }
        shot_segmented_line_free(line);
    }
    for (int j = 0; j < 3; j++) {
        print_message("knee %g s: within %g s in %d, covered %d of 200\n", at[j], usual[j], near[j],
                      covered[j]);
        assert_in_range(near[j], 182, 200);
        assert_in_range(covered[j], 181, 198);
    }
}

/* AR(1) noise of correlation time 0.5 s: intervals that know it cover, those that take it for
 * white do not. */
static void correlated_noise_widens_the_interval(void **state) {
    int covered = 0, naive = 0;
    shot_random random = shot_random_at(4, 0);
    for (int trial = 0; trial < 200; trial++) {
        double t[300], y[300], e = shot_random_normal(&random), r = exp(-0.1 / 0.5);
        for (int i = 0; i < 300; i++) {
            t[i] = i / 10.0;
            y[i] = (t[i] > 15 ? t[i] - 15 : 0) + 0.2 * e;
            e = r * e + sqrt(1 - r * r) * shot_random_normal(&random);
        }
        for (int known = 0; known < 2; known++) {
            shot_segmented_line_options options = {.z = 1.96, .sd = 0.2, .corr = known ? 0.5 : 0};
            shot_segmented_line *line;
            assert_int_equal(shot_segmented_line_fit(t, y, 300, NULL, 1, &options, &line), SHOT_OK);
            int hit = line->breaks[0].low <= 15 && 15 <= line->breaks[0].high;
            *(known ? &covered : &naive) += hit;
            shot_segmented_line_free(line);
        }
    }
    assert_in_range(covered, 181, 199);
    assert_true(naive < 150);
}

static void a_break_that_is_not_there_has_an_interval_as_long_as_the_data(void **state) {
    double t[100], y[100];
    shot_random random = shot_random_at(8, 0);
    for (int i = 0; i < 100; i++) {
        t[i] = i;
        y[i] = 0.5 * i + shot_random_normal(&random);
    }
    shot_segmented_line_options options = {.z = 1.96, .sd = 1};
    shot_segmented_line *line;
    assert_int_equal(shot_segmented_line_fit(t, y, 100, NULL, 1, &options, &line), SHOT_OK);
    assert_true(line->breaks[0].high - line->breaks[0].low > 50);
    shot_segmented_line_free(line);
}

static void what_cannot_be_fitted_is_refused(void **state) {
    double t[8] = {0, 1, 2, 3, 4, 5, 6, 7}, y[8] = {0, 1, 2, 3, 2, 1, 0, -1}, w[8] = {0};
    shot_segmented_line *line = (shot_segmented_line *)y;
    shot_segmented_line_options bad = {.z = 1.96, .weights = w};
    assert_int_equal(shot_segmented_line_fit(t, y, 8, NULL, 1, &bad, &line), SHOT_ERR_RANGE);
    assert_null(line);
    assert_int_equal(shot_segmented_line_fit(t, y, 4, NULL, 1, &plain, &line), SHOT_ERR_SINGULAR);
    const double outside[] = {9};
    assert_int_equal(shot_segmented_line_fit(t, y, 8, outside, 1, &plain, &line), SHOT_ERR_RANGE);
    y[2] = INFINITY;
    assert_int_equal(shot_segmented_line_fit(t, y, 8, NULL, 1, &plain, &line), SHOT_ERR_RANGE);
    t[3] = 1;
    assert_int_equal(shot_segmented_line_fit(t, y, 8, NULL, 1, &plain, &line), SHOT_ERR_RANGE);
    const double same[8] = {1, 1, 1, 1, 1, 1, 1, 1};
    assert_int_equal(shot_segmented_line_fit(same, w, 8, NULL, 1, &plain, &line),
                     SHOT_ERR_SINGULAR);
    bad = (shot_segmented_line_options){0};
    assert_int_equal(shot_segmented_line_fit(same, w, 8, NULL, 1, &bad, &line), SHOT_ERR_RANGE);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(stagnant_band_height_has_the_published_knee),
        cmocka_unit_test(plant_organs_have_the_published_knees),
        cmocka_unit_test(weights_allow_a_knee_in_a_logit),
        cmocka_unit_test(exact_lines_are_found_exactly),
        cmocka_unit_test(knees_of_a_noisy_shot_are_as_good_as_a_careful_fit),
        cmocka_unit_test(correlated_noise_widens_the_interval),
        cmocka_unit_test(a_break_that_is_not_there_has_an_interval_as_long_as_the_data),
        cmocka_unit_test(what_cannot_be_fitted_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
